package schema

import (
	"context"
	"database/sql"
	_ "embed" // the tables, the views and the built-in book table
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
)

const (
	// applicationID marks a SQLite file as a ledger of this program ("ClpL").
	applicationID = 0x436C704C
	// Version is the layout that this program writes.
	Version = 1
)

//go:embed tables.sql
var tablesSQL string

//go:embed views.sql
var viewsSQL string

// handbookCSV is the built-in table of book values. It is transcribed from
// memory and not checked against print, and says so in its source column.
//
//go:embed handbook.csv
var handbookCSV string

// HandbookTable is the name of the built-in table of book values.
const HandbookTable = "handbook"

// definition is the whole layout as SQL text: tables, views, history triggers.
func definition() string {
	var b strings.Builder
	b.WriteString(tablesSQL)
	b.WriteString(viewsSQL)
	for _, t := range recordTables {
		b.WriteString(t.historyTriggers())
	}
	return b.String()
}

// create lays out an empty database inside a transaction: tables, views,
// triggers, the built-in book table and the numbers that the rules start from.
func create(ctx context.Context, tx *sql.Tx, at string) error {
	pragmas := fmt.Sprintf("PRAGMA application_id=%d; PRAGMA user_version=%d;", applicationID, Version)
	if _, err := tx.ExecContext(ctx, pragmas+definition()); err != nil {
		return fmt.Errorf("lay out the ledger: %w", err)
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO import(import_id,kind,file,sha256,at) VALUES(1,'built-in','handbook.csv','',?);
		INSERT INTO species(species_id,species,import_id,line) VALUES(0,'',1,0)`, at)
	if err != nil {
		return fmt.Errorf("lay out the ledger: %w", err)
	}
	if err := insertHandbook(ctx, tx); err != nil {
		return err
	}
	return settleRules(ctx, tx)
}

// insertHandbook fills the built-in table of book values.
func insertHandbook(ctx context.Context, tx *sql.Tx) error {
	rows, err := csv.NewReader(strings.NewReader(handbookCSV)).ReadAll()
	if err != nil {
		return fmt.Errorf("read the built-in book table: %w", err)
	}
	for i, r := range rows[1:] {
		pct, err := strconv.ParseFloat(r[3], 64)
		if err != nil {
			return fmt.Errorf("read the built-in book table, line %d: %w", i+2, err)
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO book_value(book,species_id,growth_form,stage,dm_pct,basis,source,import_id,line)
			VALUES(?,0,?,?,?,?,?,1,?)`, r[0], r[1], r[2], pct, r[4], r[8], i+2)
		if err != nil {
			return fmt.Errorf("fill the built-in book table: %w", err)
		}
	}
	return nil
}
