package monitor_test

import (
	"math"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// TestSiteCalibrations holds the judgement of every site to that of all: the
// frames add up, their pairs give the ratio, and a site that is the only one of
// an observer says the same as Calibrate.
func TestSiteCalibrations(t *testing.T) {
	t.Parallel()
	path := districtWithEstimates(t)
	var sites []*monitor.SiteCalibration
	ledgertest.Read(t, path, func(s *schema.Snapshot) (err error) {
		sites, err = monitor.SiteCalibrations(s, monitor.CalibrateQuery{Unit: monitor.Units[2]})
		return err
	})
	type key struct{ observer, component, state string }
	frames, places, one := map[key]int{}, map[key]int{}, map[key]*monitor.SiteCalibration{}
	for _, k := range sites {
		id := key{k.Observer, k.Component, k.State}
		frames[id] += k.N
		places[id]++
		one[id] = k
		estimated, clipped := 0.0, 0.0
		for _, p := range k.Pairs {
			estimated += p.Estimated
			clipped += p.Clipped
		}
		if len(k.Pairs) != k.N || k.Ratio.Valid && math.Abs(estimated/clipped-k.Ratio.Float64) > 1e-9 {
			t.Errorf("%v at %s: %d pairs of %d frames give the ratio %v, not %v", id, k.Site.Site, len(k.Pairs), k.N, estimated/clipped, k.Ratio)
		}
	}
	compared := 0
	for _, all := range calibrationsOf(t, path, monitor.CalibrateQuery{}) {
		id := key{all.Observer, all.Component, all.State}
		if frames[id] != all.N {
			t.Errorf("%v: %d frames at all sites, %d in all", id, frames[id], all.N)
		}
		if places[id] == 1 {
			compared++
			if k := one[id]; k.Concordance != all.Concordance || k.Bias != all.Bias || k.RMSE != all.RMSE {
				t.Errorf("%v: at its only site %+v, in all %+v", id, k.Calibration, all)
			}
		}
	}
	if len(sites) == 0 || compared == 0 {
		t.Errorf("%d sites, %d compared: the test looks at nothing", len(sites), compared)
	}
}
