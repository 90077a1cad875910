package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/charts"
	"clipledger/monitor"
	"clipledger/schema"
)

// The files of a practice folder.
const (
	practicePage    = "practice-sheet.html"
	practiceCSV     = "practice-sheet.csv"
	practiceAnswers = "practice-answers.csv"
)

// mostPractice bounds how many frames are drawn per site and component.
const mostPractice = 500

// runPractice writes a sheet of past frames to judge, and the answers apart.
func runPractice(cmd *cobra.Command, a *app, o *calibrateOptions) error {
	filter, err := o.filter.parse()
	if err != nil {
		return err
	}
	if o.frames < 1 || o.frames > mostPractice {
		return usagef("--frames %d: give a number from 1 to %d", o.frames, mostPractice)
	}
	if len(o.observers) > 0 {
		return usagef("a practice sheet is of clipped frames, whoever estimated them; leave --observer away")
	}
	sheet := &charts.PracticeSheet{Seed: o.seed, Answers: practiceAnswers}
	var frames []monitor.PracticeFrame
	err = a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		sheet.LedgerName = cmp.Or(values["name"], strings.TrimSuffix(filepath.Base(a.ledger), filepath.Ext(a.ledger)))
		frames, err = monitor.PracticeFrames(s, monitor.PracticeQuery{Filter: filter, Frames: o.frames, Seed: o.seed})
		return err
	})
	if err != nil {
		return err
	}
	if len(frames) == 0 {
		a.fault(errors.New("no practice sheet was made: no frame that fits was clipped and weighed; clipledger means lists what was"))
		return errData
	}
	files, err := practiceFiles(o.practice, sheet, frames)
	if err != nil {
		return err
	}
	if err := writeNew(files); err != nil {
		return err
	}
	fmt.Fprintf(a.Out, "%s to judge: print %s or fill %s; the answers are in %s\n", counted(len(frames), "frame"),
		plain(filepath.Join(o.practice, practicePage)), practiceCSV, practiceAnswers)
	return nil
}

// practiceFiles makes the contents of the three files.
func practiceFiles(dir string, sheet *charts.PracticeSheet, frames []monitor.PracticeFrame) ([]newFile, error) {
	blank := [][]string{{"number", "site", "year", "season", "date", "transect", "frame", "caged", "component", "ground_m2", "plants", "observer", "estimate_green_g", "estimate_dry_g"}}
	answers := [][]string{{"number", "site", "year", "season", "date", "transect", "frame", "caged", "component", "ground_m2", "state", "clipped_green_g", "clipped_dry_g"}}
	for i := range frames {
		f := &frames[i]
		number, caged := strconv.Itoa(i+1), map[bool]string{true: "yes", false: "no"}[f.Visit.Caged]
		plants := strings.Join(f.Plants, " ")
		key := []string{number, f.Site.Site, strconv.Itoa(f.Year), f.Season, f.Visit.Date, f.Visit.Transect, f.Visit.Frame, caged, f.Component, csvCell(schema.Some(f.GroundM2))}
		blank = append(blank, append(key[:len(key):len(key)], plants, "", forState(f, schema.StateGreen), forState(f, schema.StateDry)))
		answers = append(answers, append(key[:len(key):len(key)], f.State, csvCell(f.GreenG), csvCell(f.DryG)))
		sheet.Rows = append(sheet.Rows, charts.PracticeRow{Number: i + 1, Site: f.Site.Site, Year: strconv.Itoa(f.Year), Date: f.Visit.Date, Transect: f.Visit.Transect,
			Frame: f.Visit.Frame, Component: f.Component, Plants: plants, Ground: fmt.Sprintf("%.3g m² (%.3g ft²)", f.GroundM2, f.GroundM2/monitor.M2PerFt2), State: f.State})
	}
	var page bytes.Buffer
	if err := charts.WritePracticeSheet(&page, sheet); err != nil {
		return nil, err
	}
	toFill, err := plainCSV(blank)
	if err != nil {
		return nil, err
	}
	solved, err := plainCSV(answers)
	return []newFile{{filepath.Join(dir, practicePage), page.Bytes()}, {filepath.Join(dir, practiceCSV), toFill},
		{filepath.Join(dir, practiceAnswers), solved}}, err
}

// plainCSV writes rows of text that no spreadsheet runs as a formula.
func plainCSV(rows [][]string) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	for _, row := range rows {
		for i := range row {
			row[i] = neutral(row[i])
		}
		if err := w.Write(row); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// forState marks the column that is not to be filled with a dot, which an
// import reads as missing.
func forState(f *monitor.PracticeFrame, state string) string {
	if f.State == state {
		return ""
	}
	return "."
}
