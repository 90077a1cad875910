package charts

import (
	"regexp"
	"strings"
	"testing"

	"clipledger/monitor/folder"
)

func TestPageName(t *testing.T) {
	form := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*-[0-9a-f]{10}$`)
	taken := map[string]string{}
	for _, code := range []string{
		"DF-01", "df-01", "DF 01", "DF_01", "", " ", "con", "CON", "nul", "aux.html", "com1", "index", "..", "../../x",
		`..\..\x`, "/etc/passwd", "a\x00b", "Ünïcode", "草原", "ab́", "áb", strings.Repeat("x", 300), strings.Repeat("x", 301),
		"-", "a-1a2b3c4d5e-frames", "<script>", "site",
	} {
		name := pageName(code)
		if !form.MatchString(name) {
			t.Errorf("%q gives %q", code, name)
		}
		if len(name) > folder.SlugMax+11 {
			t.Errorf("%q gives a name of %d letters", code, len(name))
		}
		// Names are lower case, so equal means equal on any file system.
		if other, ok := taken[name]; ok {
			t.Errorf("%q and %q share %q", code, other, name)
		}
		taken[name] = code
		for _, path := range []string{"sites/" + name + ".html", "data/" + name + ".csv", "data/" + name + "-frames.csv"} {
			if !ourFile.MatchString(path) {
				t.Errorf("%q would not be recognised as ours", path)
			}
		}
	}
	if got, want := pageName("Upper bench, N."), "upper-bench-n-"; !strings.HasPrefix(got, want) {
		t.Errorf("got %q, want it to begin with %q", got, want)
	}
	if got, want := pageName("x"), "x-2d711642b7"; got != want { // sha256sum of x
		t.Errorf("got %q, want %q: links to pages would break", got, want)
	}
}
