package monitor

import (
	"cmp"
	"slices"

	"clipledger/schema"
)

// How good was the eye at each site? The same judgement as Calibrate's, for
// every site by itself, with the frames it rests on.

// SiteCalibration is one observer, component and state at one site.
type SiteCalibration struct {
	*Calibration
	Site  *schema.SiteRecord
	Pairs []EyePair
}

// EyePair is one frame that was both estimated and clipped, in g/m².
type EyePair struct {
	Year               int
	Estimated, Clipped float64
}

// SiteCalibrations judges every observer at every site, in the order of site,
// observer, component and state. Estimates without a clipped weight to stand
// beside are left out.
func SiteCalibrations(snap *schema.Snapshot, q CalibrateQuery) ([]*SiteCalibration, error) {
	c, err := newCalibrator(snap, q)
	if err != nil {
		return nil, err
	}
	var out []*SiteCalibration
	for _, key := range c.eye.keys() {
		if !q.component(key.component) {
			continue
		}
		bySite := map[int64][]*eyeFrame{}
		for _, f := range c.eye.frames[key] {
			bySite[f.site.ID] = append(bySite[f.site.ID], f)
		}
		for _, frames := range bySite {
			if k := c.atSite(key, frames); len(k.Pairs) > 0 {
				out = append(out, k)
			}
		}
	}
	slices.SortStableFunc(out, func(x, y *SiteCalibration) int {
		return cmp.Or(cmp.Compare(x.Site.Site, y.Site.Site), cmp.Compare(x.Observer, y.Observer), componentOrder(x.Component)-componentOrder(y.Component), cmp.Compare(x.State, y.State))
	})
	return out, nil
}

func (c *calibrator) atSite(key eyeKey, frames []*eyeFrame) *SiteCalibration {
	k := &SiteCalibration{Calibration: c.judge(key, frames), Site: frames[0].site}
	for _, p := range pairsOf(frames, key.state) {
		k.Pairs = append(k.Pairs, EyePair{Year: p.frame.occasion.Year, Estimated: p.estimated, Clipped: p.clipped})
	}
	return k
}
