// Command duckdb runs the SQL of a Parquet export on DuckDB and prints what it
// comes to, for the tests of the program to compare:
//
//	go run . DIR frame_production|occasion_mean
//
// It prints the view as CSV, numbers in as few digits as give them back.
package main

import (
	"database/sql"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	_ "github.com/duckdb/duckdb-go/v2"
)

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: duckdb DIR VIEW")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// run opens the export's tables as the comment of its SQL says, and runs that.
func run(dir, view string) error {
	db, err := sql.Open("duckdb", "")
	if err != nil {
		return err
	}
	defer db.Close()
	db.SetMaxOpenConns(1) // a database in memory belongs to its connection
	text, err := os.ReadFile(filepath.Join(dir, "means.sql"))
	if err != nil {
		return err
	}
	for _, statement := range append(tables(string(text), dir), string(text)) {
		if _, err := db.Exec(statement); err != nil {
			return fmt.Errorf("%s: %w", statement, err)
		}
	}
	return show(db, view)
}

// tables are the statements that the SQL's own comment gives for DuckDB, with
// the folder before the names of files.
func tables(text, dir string) []string {
	var out []string
	for line := range strings.Lines(text) {
		if s, ok := strings.CutPrefix(strings.TrimSpace(line), "--   CREATE VIEW "); ok {
			out = append(out, strings.Replace("CREATE VIEW "+s, "read_parquet('", "read_parquet('"+dir+"/", 1))
		}
	}
	return out
}

func show(db *sql.DB, view string) error {
	rows, err := db.Query("SELECT * FROM " + view)
	if err != nil {
		return err
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		return err
	}
	w := csv.NewWriter(os.Stdout)
	w.Write(names)
	values, dest := make([]any, len(names)), make([]any, len(names))
	for i := range values {
		dest[i] = &values[i]
	}
	for rows.Next() {
		if err := rows.Scan(dest...); err != nil {
			return err
		}
		w.Write(cells(values))
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return err
	}
	return rows.Err()
}

func cells(values []any) []string {
	out := make([]string, len(values))
	for i, v := range values {
		switch v := v.(type) {
		case nil:
		case float64:
			out[i] = strconv.FormatFloat(v, 'g', -1, 64)
		default:
			out[i] = fmt.Sprint(v)
		}
	}
	return out
}
