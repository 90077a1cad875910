package monitor_test

import (
	"database/sql"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Production is from caged frames where an occasion has them.
func TestCagedFramesSpeakForProduction(t *testing.T) {
	text := `2019 1 herbaceous dry=6
		2019 2 herbaceous dry=8
		2020 1 herbaceous dry=20 caged
		2020 1 herbaceous dry=6
		2020 2 herbaceous dry=30 caged
		2020 2 herbaceous dry=8
		2021 1 herbaceous lost caged
		2021 1 herbaceous dry=6
		2021 2 herbaceous dry=8
		2022 1 - empty caged
		2022 2 herbaceous dry=8`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, text)})
	near(t, "no cage that year: the open frames", meanOf(t, path, 2019, "herbaceous").Mean, 7, 1e-12)
	m := meanOf(t, path, 2020, "herbaceous")
	near(t, "caged", m.Mean, 25, 1e-12) // all four frames would give 16
	if m.N != 2 {
		t.Errorf("n %d, want the two caged frames", m.N)
	}
	// An open frame must not step in for a caged one whose bag was lost.
	absent(t, "the only caged frame was lost", meanOf(t, path, 2021, "herbaceous").Mean)
	near(t, "the only caged frame was empty", meanOf(t, path, 2022, "herbaceous").Mean, 0, 0)
	soundLedger(t, path)
}

// A caged frame without any value is no caged frame yet: a blank cell of a
// component that nobody looked for.
func TestBlankCagedFrameIsNone(t *testing.T) {
	text := `2020 1 litter blank caged type=4_m2
		2020 2 herbaceous dry=8`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous@1 m2"), Clippings: rows(t, text)})
	near(t, "mean", meanOf(t, path, 2020, "herbaceous").Mean, 8, 1e-12)
	soundLedger(t, path)
}

// An eye estimate alone does not make a frame clipped: it is neither a value
// nor a zero, and its caged frame does not push the open ones aside.
func TestEstimateAloneIsNoClipping(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, "2020 1 herbaceous dry=10\n2020 2 herbaceous dry=20")})
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = db.Exec(`INSERT INTO observer(observer_id, observer) VALUES(1, 'Wren');
		INSERT INTO visit(visit_id, transect, frame, caged, frame_type_id, import_id, line)
			SELECT max(visit_id) + 1, '1', '3', 0, max(frame_type_id), 1, 2 FROM visit;
		INSERT INTO visit(visit_id, transect, frame, caged, frame_type_id, import_id, line)
			SELECT max(visit_id) + 1, '1', '4', 1, max(frame_type_id), 1, 3 FROM visit;
		INSERT INTO estimate(visit_id, component, species_id, observer_id, state, g, per_m2, import_id, line)
			SELECT visit_id, 1, 0, 1, 'green', 50, 0, 1, 2 FROM visit`)
	if err != nil {
		t.Fatal(err)
	}
	db.Close()
	m := meanOf(t, path, 2020, "herbaceous")
	if m.N != 2 || m.Missing != 0 {
		t.Errorf("n %d, missing %d; want 2 and none", m.N, m.Missing)
	}
	near(t, "mean", m.Mean, 15, 1e-12)
}

// How a site was clipped is flagged where it changed.
func TestMixedWaysOfClippingAreFlagged(t *testing.T) {
	text := `2019 1 herbaceous dry=10 rule=rooted height=1 observer=Wren
		2020 1 herbaceous dry=40 type=4_m2 rule=vertical height=3 observer=Tolly
		2019 1 herbaceous dry=10 site=B rule=rooted observer=Wren
		2020 1 herbaceous dry=40 site=B rule=rooted observer=Wren`
	path := ledgertest.Path(t, ledgertest.Records{
		Sites:     []schema.Site{{Site: "A", SamplingUnit: "frame", Placement: "same"}, {Site: "B", SamplingUnit: "frame"}},
		Clippings: rows(t, text)})
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		sites, err := s.Sites()
		if err != nil {
			return err
		}
		remarks, err := monitor.SiteRemarks(s, sites)
		if err != nil {
			return err
		}
		codes := map[string]bool{}
		for _, r := range remarks[sites[0].ID] {
			codes[r.Code] = true
		}
		for _, want := range []string{"same-spot", "frame-changed", "edge-rule-changed", "height-changed", "observer-changed"} {
			if !codes[want] {
				t.Errorf("site A: no remark %q", want)
			}
		}
		if len(remarks[sites[1].ID]) > 0 {
			t.Errorf("site B, clipped alike: remarks %v", remarks[sites[1].ID])
		}
		return nil
	})
}
