package intake

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"clipledger/schema"
)

// fuzzRead reads content and checks what holds for every file: the counts
// add up, every problem has a reason and a remedy, and the error is one of the
// two that a file can cause.
func fuzzRead[T any](t *testing.T, read readAll[T], content string, o Options, check func(T)) {
	t.Helper()
	defer bounded(t)()
	path := filepath.Join(t.TempDir(), "f.csv")
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, problems, reasons := 0, 0, map[int][]string{}
	sum, err := read(f, o, testVocabulary(),
		func(rec T) error { records++; check(rec); return nil },
		func(p schema.Problem) {
			problems++
			reasons[p.Line] = append(reasons[p.Line], p.Message())
			if p.What == "" || p.Do == "" || p.File != "f.csv" || p.Line > strings.Count(content, "\n")+strings.Count(content, "\r")+1 {
				t.Fatalf("problem %+v", p)
			}
		})
	var usage *UsageError
	switch {
	case errors.As(err, &usage):
		return
	case err != nil && !errors.Is(err, ErrUnreadable):
		t.Fatalf("error %v", err)
	case f.SHA256() == "":
		t.Fatal("no hash")
	case err != nil && problems == 0:
		t.Fatal("unreadable without a problem")
	case records != sum.Records || sum.Refused+sum.LeftOut > sum.Rows || err == nil && (problems > 0) != (sum.Refused > 0):
		t.Fatalf("%d records, %d problems, summary %+v", records, problems, sum)
	}
	// Every row with a problem can be copied into the rejected file.
	if err == nil && problems > 0 {
		if _, err := f.WriteRejected(reasons); err != nil {
			t.Fatal(err)
		}
	}
	onlyThese(t, path, "f.csv.rejected.csv")
}

// goodText checks a text that a record keeps.
func goodText(t *testing.T, s string, longest int) {
	if !utf8.ValidString(s) || utf8.RuneCountInString(s) > longest || strings.ContainsRune(s, 0) {
		t.Fatalf("text %q", s)
	}
}

// Whatever a file holds, the records that come out keep the rules of records.
func FuzzClippings(f *testing.F) {
	for _, s := range []string{
		longHeader + "Upper Bench,2019-06-03,1,browse,10,4\n",
		longHeader + "Upper Bench,7/711,\"1\n2\",brows,T,lost\n,,,,\n\"x\"y\n",
		"site,year,frame,status,herbaceous_green_g,browse:SAGE1_dry_kg_ha,browse_green_g\nA,2019,1,empty,0,,\nB,2019,2,lost,1,2,3\n",
		"site,year,frame,browse_tare_g,browse_green_gross_g,litter_stage,herbaceous_frame_type,herbaceous_dry_g\nA,2019,1,2,3,heading,1 m2,NA\n",
		"site;year;frame;component;green_gross_lb;tare_oz;frame_type\rA;2019;1;litter;3;1;0.25 m2\r",
		"\ufeff\"site\",year,frame,component,dry_lb_ac,caged,caged_since,components_sampled\r\nA,2019,'=1,Standing Dead,T,y,2019-01-01,litter+browse\r\n",
	} {
		f.Add(s, "note", "x", "A")
	}
	f.Add(longHeader+"A,2019-06-03,1,browse,10,4\n", "frame_type", "9.6 ft2", "1")
	f.Fuzz(func(t *testing.T, content, setColumn, setValue, leave string) {
		o := Options{Set: map[string]string{setColumn: setValue}, LeaveOut: map[string][]string{"site": {leave}}}
		if setColumn == "" {
			o = Options{}
		}
		fuzzRead(t, Clippings, content, o, func(c schema.Clipping) {
			for _, s := range []string{c.Site, c.Transect, c.Frame, c.Season} {
				if s == "" {
					t.Fatalf("record %+v", c)
				}
				goodText(t, s, maxKeyLength)
			}
			goodText(t, c.Note, maxNoteLength)
			switch {
			case c.Date == "" && c.Year == 0, c.Line < 2,
				!c.HasWeight() && c.Status == "" && !c.MissingCell,
				c.HasWeight() && c.MissingCell,
				c.PerM2 && c.FrameTypeElse != "",
				c.PerM2 && !c.HasWeight(),
				c.Component == schema.NoComponent && (c.Status != schema.StatusEmpty || c.HasWeight()),
				c.Status == schema.StatusEmpty && (c.GreenG.Float64 > 0 || c.DryG.Float64 > 0 || c.Trace != 0),
				c.GreenG.Float64 < 0 || c.DryG.Float64 < 0 || c.GreenG.Float64 > mostBagG || c.DryG.Float64 > mostBagG,
				c.GreenG.Valid && c.DryG.Valid && c.DryG.Float64 > c.GreenG.Float64*(1+dryAboveGreenSlip),
				c.ComponentsSampled != 0 && c.Component != schema.NoComponent && c.ComponentsSampled&c.Component.Bit() == 0,
				c.DMPct.Valid && (c.DMPct.Float64 <= 0 || c.DMPct.Float64 > 100):
				t.Fatalf("record %+v", c)
			}
		})
	})
}

func FuzzSites(f *testing.F) {
	for _, s := range []string{
		"site,components\nA,herbaceous@9.6 ft2;browse@435.6 ft2/fall\n",
		"site;area_ac;latitude;longitude;rain_months\nA;5;1;2;10-6\nA;;;;7-Apr\n",
		"site,components,note\nA,;;@/;,\"x\ny\"\n\"\n",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, content string) {
		seen := map[string]bool{}
		fuzzRead(t, Sites, content, Options{}, func(s schema.Site) {
			if s.Site == "" || seen[s.Site] || s.AreaHa.Valid && s.AreaHa.Float64 <= 0 || s.Latitude.Valid != s.Longitude.Valid || s.YearStartMonth < 0 || s.YearStartMonth > 12 {
				t.Fatalf("record %+v", s)
			}
			seen[s.Site] = true
			for _, c := range s.Components {
				if c.Component == schema.NoComponent {
					t.Fatalf("record %+v", s)
				}
				goodText(t, c.Season, maxKeyLength)
			}
		})
	})
}
