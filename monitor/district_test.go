package monitor_test

import (
	"path/filepath"
	"testing"

	"clipledger/monitor/intake"
	"clipledger/schema"
)

// districtWithEstimates is the invented district with all that calibration
// reads, in a ledger of its own.
func districtWithEstimates(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "district.db")
	l, err := schema.OpenWrite(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	refuse := func(p schema.Problem) { t.Fatal(p) }
	var o intake.Options
	readDistrict(t, l, "frame-types", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.FrameTypes(f, o, v, im.FrameType, refuse)
		return err
	})
	readDistrict(t, l, "sites", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.Sites(f, o, v, im.Site, refuse)
		return err
	})
	readDistrict(t, l, "clippings-thimble", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		out, err := im.Clippings()
		if err != nil {
			return err
		}
		_, err = intake.Clippings(f, o, v, func(c schema.Clipping) error { return out.Add([]schema.Clipping{c}) }, refuse)
		if err != nil {
			return err
		}
		return out.Close()
	})
	readDistrict(t, l, "drying", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.Dryings(f, o, v, im.Drying, refuse)
		return err
	})
	readDistrict(t, l, "classes", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.Classes(f, o, v, im.ClassBound, refuse)
		return err
	})
	readDistrict(t, l, "estimates", func(im *schema.Import, f *intake.File, v *schema.Vocabulary) error {
		_, err := intake.Estimates(f, o, v, im.Estimate, refuse)
		return err
	})
	return path
}
