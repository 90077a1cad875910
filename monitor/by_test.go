package monitor_test

import (
	"testing"

	"clipledger/monitor"
	"clipledger/schema/ledgertest"
)

// Means split by species, treatment, transect or observer.

func groupsOf(t *testing.T, path, by, component string) map[string]*monitor.Mean {
	t.Helper()
	q := monitor.Query{By: by}
	q.Components = []string{component}
	out := map[string]*monitor.Mean{}
	for _, m := range meansOf(t, path, q) {
		out[m.Group] = m
	}
	return out
}

// A species that was not found in a frame is zero there where its component
// was looked for; a frame weighed as one total says nothing of its species.
func TestMeansBySpecies(t *testing.T) {
	text := `2020 1 herbaceous dry=10 sp=ONE
		2020 1 herbaceous dry=6 sp=TWO
		2020 2 herbaceous dry=20 sp=ONE
		2020 3 - empty
		2020 4 herbaceous lost sp=TWO
		2020 5 herbaceous dry=40`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, text)})
	groups := groupsOf(t, path, "species", "herbaceous")
	near(t, "species ONE", groups["ONE"].Mean, (10+20+0)/3.0, 1e-12)
	near(t, "species TWO", groups["TWO"].Mean, (6+0+0)/3.0, 1e-12)
	if n := groups["TWO"].Missing; n != 2 { // the lost bag and the total
		t.Errorf("%d frames left out, want two", n)
	}
}

func TestMeansByTreatmentAndTransect(t *testing.T) {
	text := `2020 1 herbaceous dry=10 treatment=burnt t=A observer=Wren
		2020 2 herbaceous dry=20 treatment=burnt t=B observer=Tolly
		2020 3 herbaceous dry=40 t=B observer=Tolly
		2020 4 herbaceous lost t=C`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, text)})
	for by, want := range map[string]map[string]float64{
		"treatment": {"burnt": 15, "": 40},
		"transect":  {"A": 10, "B": 30},
		"observer":  {"Wren": 10, "Tolly": 30},
	} {
		groups := groupsOf(t, path, by, "production")
		for name, mean := range want {
			if groups[name] == nil {
				t.Errorf("by %s: no group %q", by, name)
				continue
			}
			near(t, by+" "+name, groups[name].Mean, mean, 1e-12)
		}
	}
	if m := groupsOf(t, path, "transect", "herbaceous")["C"]; m == nil || m.Mean.Valid || m.Missing != 1 {
		t.Errorf("transect C, all lost: %+v, want no mean and one frame left out", m)
	}
}
