package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"clipledger/monitor"
	"clipledger/schema"
)

// maxMinutes bounds a cost: more is a slip.
const maxMinutes = 10_000

// costColumns are the columns of a file of minutes by site.
var costColumns = []string{"site", "minutes_per_frame", "travel_minutes", "transect_minutes"}

// readCosts reads minutes by site. An empty cell takes the flag's minutes. All
// that is wrong is printed, and nothing is planned then.
func readCosts(a *app, s *schema.Snapshot, path string, general monitor.PlanCosts) (map[string]monitor.PlanCosts, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	sites, err := s.Sites()
	if err != nil {
		return nil, err
	}
	c := &costFile{app: a, path: path, sites: sites, out: map[string]monitor.PlanCosts{}}
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			c.problem(parse.Line, "", "", fmt.Sprintf("is not CSV (%v); look at the quotes", parse.Err))
			break
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", path, err)
		}
		line, _ := r.FieldPos(0)
		c.row(line, cells, general)
	}
	if c.at == nil && !c.bad {
		c.problem(1, "", "", "is empty; its columns are "+strings.Join(costColumns, ", "))
	}
	if c.bad {
		return nil, errData
	}
	return c.out, nil
}

// costFile is a file of minutes that is being read.
type costFile struct {
	app   *app
	path  string
	sites []schema.SiteRecord
	at    map[string]int // place of each column
	out   map[string]monitor.PlanCosts
	bad   bool
}

func (c *costFile) problem(line int, column, value, what string) {
	c.bad = true
	where := fmt.Sprintf("%s:%d: ", c.path, line)
	if column != "" {
		where += fmt.Sprintf("column %s: %q: ", column, value)
	}
	fmt.Fprintln(c.app.Err, plain(where+what))
}

func (c *costFile) row(line int, cells []string, general monitor.PlanCosts) {
	if c.at == nil {
		c.header(line, cells)
		return
	}
	site := c.cell(cells, "site")
	switch {
	case site == "":
		c.problem(line, "site", site, "no site; write its code")
		return
	case !slices.ContainsFunc(c.sites, func(s schema.SiteRecord) bool { return s.Site == site }):
		c.problem(line, "site", site, "is not a site of this ledger; write its code as `clipledger means` shows it")
		return
	}
	if _, twice := c.out[site]; twice {
		c.problem(line, "site", site, "stands twice; keep one line for each site")
		return
	}
	costs := general
	c.minutes(line, cells, "minutes_per_frame", &costs.Frame)
	c.minutes(line, cells, "travel_minutes", &costs.Travel)
	c.minutes(line, cells, "transect_minutes", &costs.Transect)
	c.out[site] = costs
}

func (c *costFile) header(line int, cells []string) {
	c.at = map[string]int{}
	for i, cell := range cells {
		name := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(strings.TrimPrefix(cell, "\ufeff"))), " ", "_")
		if !slices.Contains(costColumns, name) {
			c.app.say("%s: column %q is not known and ignored", c.path, cell)
			continue
		}
		c.at[name] = i
	}
	if _, ok := c.at["site"]; !ok {
		c.problem(line, "", "", "has no column site; its columns are "+strings.Join(costColumns, ", "))
	}
}

func (c *costFile) cell(cells []string, column string) string {
	i, ok := c.at[column]
	if !ok || i >= len(cells) {
		return ""
	}
	return strings.TrimSpace(cells[i])
}

func (c *costFile) minutes(line int, cells []string, column string, into *float64) {
	text := c.cell(cells, column)
	if text == "" {
		return
	}
	m, err := strconv.ParseFloat(text, 64)
	if err != nil || !(m >= 0 && m <= maxMinutes) {
		c.problem(line, column, text, fmt.Sprintf("is not a number of minutes from 0 to %d; leave it empty for the flag's", maxMinutes))
		return
	}
	*into = m
}
