package charts

import (
	"strings"
	"testing"
)

// TestAlso shows a report in two units: both stand on the index, the summary
// and the pages of sites, and the second is the first times the factor.
func TestAlso(t *testing.T) {
	r := withSummaries(sampleReport())
	if r.also(ptr(5.0)) != "" {
		t.Error("a second unit that nobody asked for")
	}
	r.Also = &OtherUnit{"kg/ha", 1.120851156}
	if got := r.also(ptr(1000.0)); got != "1,121"+nbsp+"kg/ha" {
		t.Errorf("1,000 lb/ac are %q", got)
	}
	dir := t.TempDir() + "/r"
	write(t, dir, r)
	all := files(t, dir)
	latest := r.Sites[0].headline().latest()
	want := r.also(latest.Mean)
	for _, name := range []string{"index.html", "summary/2024.html"} {
		if !strings.Contains(all[name], want) {
			t.Errorf("%s lacks %q", name, want)
		}
	}
	page := all["sites/"+pageName(r.Sites[0].Code)+".html"]
	if !strings.Contains(page, "The same in kg/ha") || !strings.Contains(page, "In 2024 production was "+want+" (90") {
		t.Error("the page of a site lacks the second unit")
	}
	if strings.Contains(all["sites/"+pageName("DF-05")+".html"], "The same in") {
		t.Error("a table of nothing")
	}
	r.Also.Factor = 0
	if err := Write(dir, r, nil); err == nil {
		t.Error("a factor of 0 was taken")
	}
}
