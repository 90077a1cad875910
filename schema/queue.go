package schema

import (
	"database/sql"
	"fmt"
	"strings"
)

// insertQueue writes rows and runs statements of a transaction, in order, on a
// goroutine of its own, so that rows are compared on one core while others are
// written on another. Reading what is on its way needs drain first.
type insertQueue struct {
	t       *Tx
	jobs    chan queued
	done    chan struct{}
	err     error // of the first job that failed; read after done or a drain
	closed  bool
	sources []*rowSource
}

// queued is a job, or a call to report back.
type queued struct {
	run  func() error
	back chan error
}

// queuedJobs bounds how many jobs wait: a batch is three or four, and more
// where frames change. Too few, and the two cores wait for one another.
const queuedJobs = 12

func newInsertQueue(t *Tx) *insertQueue {
	q := &insertQueue{t: t, jobs: make(chan queued, queuedJobs), done: make(chan struct{})}
	go q.run()
	return q
}

func (q *insertQueue) run() {
	defer close(q.done)
	for job := range q.jobs {
		switch {
		case job.back != nil:
			job.back <- q.err
		case q.err == nil:
			q.err = job.run()
		}
	}
}

// exec puts a statement in the queue.
func (q *insertQueue) exec(query string, args ...any) error {
	stmt, err := q.t.stmt(query)
	if err != nil {
		return err
	}
	q.jobs <- queued{run: func() error { return q.runStmt(stmt, args...) }}
	return nil
}

func (q *insertQueue) runStmt(stmt *sql.Stmt, args ...any) error {
	if _, err := stmt.ExecContext(q.t.ctx, args...); err != nil {
		return fmt.Errorf("write the ledger: %w", err)
	}
	return nil
}

// drain waits until everything put in so far is done.
func (q *insertQueue) drain() error {
	back := make(chan error)
	q.jobs <- queued{back: back}
	return <-back
}

// close ends the queue and returns the first error of any job. It may be
// called again.
func (q *insertQueue) close() error {
	if !q.closed {
		q.closed = true
		close(q.jobs)
		<-q.done
		for _, s := range q.sources {
			s.close()
		}
	}
	return q.err
}

// insertColumn is one column of rows to be inserted.
type insertColumn[T any] struct {
	name  string
	value func(*T) any // nil where the column keeps its default
	plain string       // SQL for the default beside rows that fill the column; "" is NULL
}

// inserter inserts rows of one kind through a rowSource.
type inserter[T any] struct {
	queue   *insertQueue
	source  *rowSource
	table   string
	columns []insertColumn[T]
	rows    []T
}

func newInserter[T any](q *insertQueue, table string, columns []insertColumn[T]) (*inserter[T], error) {
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.name
	}
	in := &inserter[T]{queue: q, table: table, columns: columns}
	var err error
	if in.source, err = newRowSource(q.t, table+"_rows", names); err != nil {
		return nil, err
	}
	q.sources = append(q.sources, in.source)
	in.source.value = func(row, column int) any { return columns[column].value(&in.rows[row]) }
	return in, nil
}

// insert puts rows, which are the inserter's from then on, in the queue.
func (in *inserter[T]) insert(rows []T, importID int64) error {
	if len(rows) == 0 {
		return nil
	}
	stmt, err := in.queue.t.stmt(in.statement(rows, importID))
	if err != nil {
		return err
	}
	in.queue.jobs <- queued{run: func() error {
		in.rows, in.source.count = rows, len(rows)
		return in.queue.runStmt(stmt)
	}}
	return nil
}

// statement leaves out the columns that no row fills: asking for a value costs
// more than storing it.
func (in *inserter[T]) statement(rows []T, importID int64) string {
	var names, values []string
	for _, c := range in.columns {
		if !fills(rows, c.value) {
			continue
		}
		names = append(names, c.name)
		if c.plain == "" {
			values = append(values, c.name)
		} else {
			values = append(values, "coalesce("+c.name+","+c.plain+")")
		}
	}
	return fmt.Sprintf("INSERT INTO %s(%s,import_id) SELECT %s,%d FROM temp.%s_rows", in.table, strings.Join(names, ","), strings.Join(values, ","), importID, in.table)
}

func fills[T any](rows []T, value func(*T) any) bool {
	for i := range rows {
		if value(&rows[i]) != nil {
			return true
		}
	}
	return false
}
