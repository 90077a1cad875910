package monitor_test

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"clipledger/monitor/intake"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
	"clipledger/testdata"
)

// The invented district, read as a user would read it, against the
// recomputation from the records that its files give.
func TestInventedDistrictAgreesWithTheRules(t *testing.T) {
	t.Parallel()
	w := &world{Settings: map[string]string{}}
	path := filepath.Join(t.TempDir(), "district.db")
	l, err := schema.OpenWrite(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	refuse := func(p schema.Problem) { t.Fatal(p) }
	readDistrict(t, l, "frame-types", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.FrameTypes(f, intake.Options{}, v, im.FrameType, refuse)
		return err
	})
	readDistrict(t, l, "species", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.Species(f, intake.Options{}, v, func(s schema.Species) error {
			w.Species = append(w.Species, s)
			return im.Species(s)
		}, refuse)
		return err
	})
	readDistrict(t, l, "sites", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.Sites(f, intake.Options{}, v, func(s schema.Site) error {
			w.Sites = append(w.Sites, s)
			return im.Site(s)
		}, refuse)
		return err
	})
	readDistrict(t, l, "drying", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.Dryings(f, intake.Options{}, v, func(d schema.Drying) error {
			w.Drying = append(w.Drying, d)
			return im.Drying(d)
		}, refuse)
		return err
	})
	readDistrict(t, l, "clippings-", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		out, err := im.Clippings()
		if err != nil {
			return err
		}
		first := len(w.Clippings)
		_, err = intake.Clippings(f, intake.Options{}, v, func(c schema.Clipping) error {
			w.Clippings = append(w.Clippings, c)
			return nil
		}, refuse)
		if err != nil {
			return err
		}
		if err := out.Add(append([]schema.Clipping{}, w.Clippings[first:]...)); err != nil {
			return err
		}
		return out.Close()
	})
	estimates := 0
	readDistrict(t, l, "estimates", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error { // none of them enters a mean
		_, err := intake.Estimates(f, intake.Options{}, v, func(e schema.Estimate) error {
			estimates++
			return im.Estimate(e)
		}, refuse)
		return err
	})
	if estimates < 400 {
		t.Fatalf("%d estimates read, want the district's", estimates)
	}
	if len(w.Clippings) < 2500 {
		t.Fatalf("%d bags read, want the district's", len(w.Clippings))
	}
	agree(t, w, path)
	soundLedger(t, path)
}

// readDistrict imports the district's files whose names begin with a word,
// all in one transaction.
func readDistrict(t *testing.T, l *schema.Ledger, prefix string, read func(*schema.Import, *intake.File, *schema.Vocabulary) error) {
	t.Helper()
	const root = "ansel-basin"
	entries, err := fs.ReadDir(testdata.AnselBasin, root)
	if err != nil {
		t.Fatal(err)
	}
	err = l.Write(context.Background(), ledgertest.At, func(tx *schema.Tx) error {
		for _, e := range entries {
			if !strings.HasPrefix(e.Name(), prefix) {
				continue
			}
			content, err := fs.ReadFile(testdata.AnselBasin, root+"/"+e.Name())
			if err != nil {
				return err
			}
			name := filepath.Join(t.TempDir(), e.Name())
			if err := os.WriteFile(name, content, 0o666); err != nil {
				return err
			}
			f, err := intake.Open(name)
			if err != nil {
				return err
			}
			defer f.Close()
			v, err := tx.Vocabulary()
			if err != nil {
				return err
			}
			im, err := tx.Import(schema.Source{Kind: prefix, File: e.Name(), Name: e.Name(), Problem: func(p schema.Problem) { t.Fatal(p) }})
			if err != nil {
				return err
			}
			if err := read(im, f, v); err != nil {
				return err
			}
			if err := im.Finish("test"); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
