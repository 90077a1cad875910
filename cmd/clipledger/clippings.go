package main

import (
	"context"
	"sync"

	"clipledger/monitor/intake"
	"clipledger/schema"
)

// batchRows is how many records go from the reader to the writer at a time.
const batchRows = 4000

// clippings reads a file of clippings: one goroutine reads and checks rows,
// the other writes them, so that both cores work.
func (f *fileImport) clippings() error {
	w, err := f.im.Clippings()
	if err != nil {
		return err
	}
	defer w.Stop()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	batches := make(chan []schema.Clipping, 2)
	free := make(chan []schema.Clipping, 4)
	var mu sync.Mutex // the reader and the writer both report problems
	var fromReader []schema.Problem
	done := make(chan error, 1)
	go func() {
		defer close(batches)
		var err error
		f.summary, err = readBatches(ctx, f, batches, free, func(p schema.Problem) {
			mu.Lock()
			defer mu.Unlock()
			fromReader = append(fromReader, p)
		})
		done <- err
	}()
	var writeErr error
	for rows := range batches {
		if writeErr = w.Add(rows); writeErr != nil {
			cancel()
			break
		}
		f.rows.Add(int64(len(rows)))
		select {
		case free <- rows[:0]:
		default:
		}
	}
	for range batches { // let the reader end
	}
	readErr := <-done
	f.problems = append(f.problems, fromReader...)
	if writeErr != nil {
		return writeErr
	}
	if readErr != nil {
		return readErr
	}
	return w.Close()
}

// readBatches reads the file and sends its records in batches.
func readBatches(ctx context.Context, f *fileImport, batches chan<- []schema.Clipping, free <-chan []schema.Clipping, problem func(schema.Problem)) (intake.Summary, error) {
	rows := make([]schema.Clipping, 0, batchRows)
	send := func() error {
		select {
		case batches <- rows:
		case <-ctx.Done():
			return ctx.Err()
		}
		select {
		case rows = <-free:
		default:
			rows = make([]schema.Clipping, 0, batchRows)
		}
		return nil
	}
	summary, err := intake.Clippings(f.file, f.o.read, f.vocab, func(c schema.Clipping) error {
		rows = append(rows, c)
		if len(rows) == cap(rows) {
			return send()
		}
		return nil
	}, problem)
	if len(rows) > 0 && err == nil {
		err = send()
	}
	return summary, err
}

// frames reads a file of frames without their bags.
func (f *fileImport) frames() error {
	w, err := f.im.Clippings()
	if err != nil {
		return err
	}
	defer w.Stop()
	rows := make([]schema.Clipping, 0, batchRows)
	flush := func() error {
		err := w.Add(rows)
		f.rows.Add(int64(len(rows)))
		rows = rows[:0]
		return err
	}
	f.summary, err = intake.Frames(f.file, f.o.read, f.vocab, func(c schema.Clipping) error {
		rows = append(rows, c)
		if len(rows) < cap(rows) {
			return nil
		}
		return flush()
	}, f.problem)
	if err == nil {
		err = flush()
	}
	if err != nil {
		return err
	}
	return w.Close()
}
