package charts

import (
	"fmt"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

// payloads are texts that do harm where they are not escaped.
var payloads = []string{
	`</script><script>alert(1)</script>`,
	`"><img src=x onerror=alert(2)>`,
	`' onmouseover='alert(3)`,
	`<!--<script>alert(4)`,
	`../../x`,
	`=cmd()`,
	`{{.LedgerName}}`,
	`@interval`,
	"a\u2028b\x00c",
	`</title></caption></table><svg onload=alert(5)>`,
}

// hostileReport has a payload in every text there is; the numbers are those of
// the sample. It finds the texts by reflection, so that a field added to the
// model later is covered the day it is added.
func hostileReport() *Report {
	r := withSummaries(sampleReport())
	r.Sources = []Source{{}}
	n := 0
	infect(reflect.ValueOf(r).Elem(), &n)
	return r
}

func infect(v reflect.Value, n *int) {
	switch v.Kind() {
	case reflect.String:
		// A number after the payload keeps codes and components distinct.
		v.SetString(fmt.Sprintf("%s %d", payloads[*n%len(payloads)], *n))
		*n++
	case reflect.Struct:
		for i := range v.NumField() {
			infect(v.Field(i), n)
		}
	case reflect.Slice:
		for i := range v.Len() {
			infect(v.Index(i), n)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			infect(v.Elem(), n)
		}
	}
}

// TestHostileText looks at the pages as text: no payload may stand in them as
// it came. The browser test looks at what the pages then do.
func TestHostileText(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "a", "b", "r")
	write(t, dir, hostileReport())
	tag := regexp.MustCompile(`(?i)<(script>|img|svg onload|!--)`)
	handler := regexp.MustCompile(`(?i)<[^>]*\son[a-z]+\s*=`)
	quoted := regexp.MustCompile(`"[^"]*"`) // a payload may stand inside quotes it cannot end
	pages, cells := 0, 0
	for name, content := range files(t, top) {
		rel, ours := strings.CutPrefix(name, "a/b/r/")
		if !ours || rel != markerName && !ourFile.MatchString(rel) {
			t.Errorf("a text chose a path: %s", name)
		}
		switch filepath.Ext(name) {
		case ".html":
			pages++
			if m := tag.FindString(content); m != "" {
				t.Errorf("%s: holds %q unescaped", name, m)
			}
			if m := handler.FindString(quoted.ReplaceAllString(content, `""`)); m != "" {
				t.Errorf("%s: holds a handler: %q", name, m)
			}
			if !strings.Contains(content, "alert(1)") {
				t.Errorf("%s: shows no payload: the test looks at nothing", name)
			}
		case ".csv":
			_, rows := readCSV(t, []byte(content))
			for _, row := range rows {
				for column, cell := range row {
					if cell != "" && strings.ContainsRune("=@", rune(cell[0])) {
						t.Errorf("%s: column %s holds the formula %q", name, column, cell)
					}
					cells += strings.Count(cell, "'=cmd()")
				}
			}
		}
	}
	if want := len(hostileReport().Sites) + 3 + len(hostileReport().Summaries); pages != want || cells == 0 {
		t.Errorf("%d pages (want %d), %d neutralised cells", pages, want, cells)
	}
}
