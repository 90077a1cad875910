package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"clipledger/monitor"
	"clipledger/schema"
)

// reportMade is all that a report is made from: the program, what was asked of
// it, and the ledger. Two reports with the same have the same bytes.
type reportMade struct {
	Program    string
	Filter     monitor.Filter
	Unit       string
	Confidence float64
	Title      string
	Also       string
	LedgerName string
	Header     []byte // of the ledger file: it holds a counter of changes
	Size       int64
	Settings   schema.Values
	Imports    []schema.ImportRecord
}

// reportStamp is a digest of them. It is asked for inside a snapshot, which
// keeps the ledger from changing meanwhile.
func reportStamp(a *app, s *schema.Snapshot, o *reportOptions) (string, error) {
	m := reportMade{Filter: o.filter, Unit: a.units, Confidence: a.confidence, Title: o.title, Also: o.also, LedgerName: ledgerName(a)}
	program, err := os.Executable()
	if err != nil {
		return "", fmt.Errorf("find this program: %w", err)
	}
	if m.Program, err = fileDigest(program); err != nil {
		return "", fmt.Errorf("read this program: %w", err)
	}
	if m.Header, m.Size, err = fileHeader(a.ledger); err != nil {
		return "", fmt.Errorf("read %s: %w", a.ledger, err)
	}
	if m.Settings, err = s.Settings(); err != nil {
		return "", err
	}
	if m.Imports, err = s.Imports(); err != nil {
		return "", err
	}
	raw, err := json.Marshal(m)
	if err != nil {
		return "", fmt.Errorf("stamp of the report: %w", err)
	}
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:]), nil
}

func fileDigest(path string) (string, error) {
	in, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer in.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, in); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// fileHeader reads the first 100 bytes, which SQLite changes with every
// change of the file (its file format, section 1.3), and the size.
func fileHeader(path string) ([]byte, int64, error) {
	in, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return nil, 0, err
	}
	header := make([]byte, 100)
	_, err = io.ReadFull(in, header)
	return header, info.Size(), err
}
