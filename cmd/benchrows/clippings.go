package main

import (
	"bufio"
	"math"
	"strconv"
	"time"
)

const header = "site,date,frame,component,species,green_g,dry_g,dm_pct,stage,observer,note\n"

// The shares of rows, in percent: without a dry weight of their own, half of
// these with a percentage on the row and half left to the book values; and
// with a note.
const (
	blankPct = 10
	notePct  = 2
)

// notes are what the note column holds, quoted where CSV asks for it. The
// first stands in the first row of every file.
var notes = []string{
	"invented data for a benchmark",
	"ants in the frame",
	"bag torn and mended",
	`"cut low, stubble left"`,
	`"label read ""seven"", bag dry"`,
}

// framesADay is how many frames of a site are clipped before the next day.
const framesADay = 12

// writeClippings writes clippings.csv, the years in order and in each the
// sites.
func (w *world) writeClippings(out *bufio.Writer) error {
	out.WriteString(header)
	note := notes[0]
	for year := range w.years {
		for site := range w.site {
			if err := w.writeOccasion(out, year, site, w.frames*w.bags, note); err != nil {
				return err
			}
			note = ""
		}
	}
	return nil
}

// The limits of new500.csv.
const (
	newRows  = 500
	newSites = 5
)

// writeNew writes new500.csv: the year after, at sites spread over the list.
func (w *world) writeNew(out *bufio.Writer) error {
	out.WriteString(header)
	sites := min(newSites, w.sites)
	left, note := newRows, notes[0]
	for i := range sites {
		rows := min(left, w.frames*w.bags)
		if err := w.writeOccasion(out, w.years, i*w.sites/sites, rows, note); err != nil {
			return err
		}
		left, note = left-rows, ""
	}
	return nil
}

// writeOccasion writes the first rows of one site and year. Each occasion
// draws from a stream of its own, so that it is the same in every file.
func (w *world) writeOccasion(out *bufio.Writer, year, site, rows int, note string) error {
	w.pcg.Seed(w.seed, uint64(year+1)<<32|uint64(site))
	p := &w.site[site]
	ripe := w.rand.IntN(2)
	growth := p.level * w.year[year] * w.factor(0.2)
	day := time.Date(firstYear+year, time.June, 8+site%35+w.rand.IntN(6), 0, 0, 0, 0, time.UTC)
	date := ""
	for k := range rows {
		frame := k / w.bags
		if k%(w.bags*framesADay) == 0 {
			date = day.AddDate(0, 0, frame/framesADay).Format(time.DateOnly)
		}
		b := &p.bags[k%w.bags]
		w.row = append(append(append(append(w.row[:0], p.code...), ','), date...), ',')
		w.row = append(strconv.AppendInt(w.row, int64(frame+1), 10), ',')
		w.row = append(append(append(append(w.row, b.component...), ','), b.plant.code...), ',')
		w.appendWeights(b, ripe, growth)
		w.row = append(append(append(append(w.row, b.plant.form.stages[ripe].name...), ','), p.observer...), ',')
		w.appendNote(note)
		note = ""
		if _, err := out.Write(w.row); err != nil {
			return err
		}
	}
	return nil
}

// appendWeights draws one bag: green and dry weight, or green weight alone
// with a percentage or without. Weights are tenths of a gram.
func (w *world) appendWeights(b *bag, ripe int, growth float64) {
	green := max(1, int64(math.Round(float64(10*b.greenG*growth)*w.factor(0.45))))
	pct := min(95, max(10, int64(math.Round(float64(100*b.plant.form.stages[ripe].dry)*w.factor(0.08)))))
	w.row = append(appendTenths(w.row, green), ',')
	switch draw := w.rand.IntN(200); {
	case draw < blankPct:
		w.row = append(w.row, ',')
		w.row = strconv.AppendInt(w.row, pct, 10)
	case draw < 2*blankPct:
		w.row = append(w.row, ',')
	default:
		w.row = append(appendTenths(w.row, (green*pct+50)/100), ',')
	}
	w.row = append(w.row, ',')
}

func appendTenths(to []byte, tenths int64) []byte {
	to = append(strconv.AppendInt(to, tenths/10, 10), '.')
	return append(to, byte('0'+tenths%10))
}

// appendNote ends a row with the given note, else now and then with another.
func (w *world) appendNote(note string) {
	drawn := w.rand.IntN(100) < notePct
	if which := notes[1+w.rand.IntN(len(notes)-1)]; drawn && note == "" {
		note = which
	}
	w.row = append(append(w.row, note...), '\n')
}
