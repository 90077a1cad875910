package charts

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestSingleInABrowser opens a site in one file, moved away from everything:
// its charts are drawn, its policy lets nothing else run, and every link leads
// to something in the page.
func TestSingleInABrowser(t *testing.T) {
	b := newBrowser(t)
	file := filepath.Join(t.TempDir(), "one site.html")
	r := withSummaries(sampleReport())
	if err := WriteSingle(file, r, "DF-02"); err != nil {
		t.Fatal(err)
	}
	b.openURL(t, fileURL(t, file), 390, "light")
	if n := eval[int](t, b, `document.querySelectorAll('.chart svg').length`); n < 3 {
		t.Errorf("%d charts are drawn", n)
	}
	if over := eval[int64](t, b, tooWide); over > 0 {
		t.Errorf("%d pixels too wide", over)
	}
	for what, script := range map[string]string{
		"a link to nothing": `(() => { for (const a of document.querySelectorAll('a')) { const h = a.getAttribute('href');
			if (!h.startsWith('#') || !document.getElementById(h.slice(1))) return a.outerHTML; } return ''; })()`,
		"an id twice": `(() => { const ids = Array.from(document.querySelectorAll('[id]'), e => e.id); return ids.filter((x, i) => ids.indexOf(x) !== i).join(' '); })()`,
		"a label of nothing": `(() => { for (const e of document.querySelectorAll('[aria-labelledby]'))
			if (!document.getElementById(e.getAttribute('aria-labelledby'))) return e.getAttribute('aria-labelledby'); return ''; })()`,
	} {
		if bad := eval[string](t, b, script); bad != "" {
			t.Errorf("%s: %s", what, bad)
		}
	}
	rows := 0
	for i := range r.Sites[1].Series {
		rows += len(r.Sites[1].Series[i].Years)
	}
	if got := eval[int](t, b, `document.querySelectorAll('#data-`+pageName("DF-02")+` tbody tr').length`); got != rows {
		t.Errorf("%d rows stand behind the page, want %d", got, rows)
	}
	b.quiet(t)
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, u := range b.requests {
		if !strings.HasSuffix(u, ".html") && !strings.HasPrefix(u, "data:") {
			t.Errorf("the page asked for %s", u)
		}
	}
}

// TestSinglePolicy tampers with the file: a script that is not one of ours
// must not run.
func TestSinglePolicy(t *testing.T) {
	b := newBrowser(t)
	file := filepath.Join(t.TempDir(), "s.html")
	if err := WriteSingle(file, hostileReport(), hostileReport().Sites[0].Code); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	b.openURL(t, fileURL(t, file), 1280, "light")
	b.quiet(t)
	bad := `<script>document.title = 'pwned'</script><img src="x" onerror="document.title='pwned'"></main>`
	if err := os.WriteFile(file, []byte(strings.Replace(string(content), "</main>", bad, 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	b.openURL(t, fileURL(t, file), 1280, "light")
	if title := eval[string](t, b, `document.title`); title == "pwned" {
		t.Error("the policy let a foreign script run")
	}
	if n := eval[int](t, b, `document.querySelectorAll('.chart svg').length`); n == 0 {
		t.Error("our own scripts do not run")
	}
}

// TestSingleReplacesOnlyItsOwn keeps files of others.
func TestSingleReplacesOnlyItsOwn(t *testing.T) {
	file := filepath.Join(t.TempDir(), "s.html")
	r := smallReport()
	for range 2 {
		if err := WriteSingle(file, r, "K1"); err != nil {
			t.Fatal(err)
		}
	}
	one, _ := os.ReadFile(file)
	if err := os.WriteFile(file, []byte("<h1>mine</h1>"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := WriteSingle(file, r, "K1"); err == nil || !strings.Contains(err.Error(), "another name") {
		t.Errorf("got %v", err)
	}
	if got, _ := os.ReadFile(file); string(got) != "<h1>mine</h1>" {
		t.Error("somebody's file was replaced")
	}
	again := filepath.Join(t.TempDir(), "t.html")
	if err := WriteSingle(again, r, "K1"); err != nil {
		t.Fatal(err)
	}
	if two, _ := os.ReadFile(again); string(two) != string(one) {
		t.Error("the same site gave other bytes")
	}
	if err := WriteSingle(again, r, "nowhere"); err == nil {
		t.Error("a site that is not there was written")
	}
}
