package charts

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// schemes reads the colours of the style sheet, light and dark.
func schemes(t *testing.T) map[string]map[string]string {
	t.Helper()
	css, err := assetFiles.ReadFile("assets/report.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile(`(?s):root \{(.*?)\}`).FindAllStringSubmatch(string(css), -1)
	if len(blocks) != 2 {
		t.Fatalf("%d blocks of colours, want light and dark", len(blocks))
	}
	out := map[string]map[string]string{"light": {}, "dark": {}}
	for i, name := range []string{"light", "dark"} {
		for _, m := range regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6});`).FindAllStringSubmatch(blocks[i][1], -1) {
			out[name][m[1]] = m[2]
		}
	}
	return out
}

// luminance is the relative luminance of a colour after WCAG 2.
func luminance(hex string) float64 {
	var sum float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, _ := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

func contrast(a, b string) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// TestContrast holds both schemes to the contrasts of WCAG 2: 4.5 for text, 3
// for marks, and a mark on its interval bar.
func TestContrast(t *testing.T) {
	for name, c := range schemes(t) {
		for _, text := range []string{"ink", "muted", "link", "alert"} {
			for _, ground := range []string{"paper", "tint"} {
				if got := contrast(c[text], c[ground]); got < 4.5 {
					t.Errorf("%s: %s on %s has contrast %.2f", name, text, ground, got)
				}
			}
		}
		for _, mark := range []string{"series", "production", "herbaceous", "browse", "point"} {
			if got := contrast(c[mark], c["paper"]); got < 3 {
				t.Errorf("%s: %s on paper has contrast %.2f", name, mark, got)
			}
		}
		for mark, bar := range map[string]string{"series": "range", "production": "production-range",
			"herbaceous": "herbaceous-range", "browse": "browse-range"} {
			if got := contrast(c[mark], c[bar]); got < 3 {
				t.Errorf("%s: %s on its bar has contrast %.2f", name, mark, got)
			}
		}
	}
}

// TestAssetsStayLocal checks that our own style and script name no address.
func TestAssetsStayLocal(t *testing.T) {
	for _, name := range []string{"assets/report.css", "assets/report.js"} {
		content, err := assetFiles.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, bad := range []string{"http:", "https:", "//cdn", "url(", "@import", "innerHTML", "eval(", "Function("} {
			if strings.Contains(string(content), bad) {
				t.Errorf("%s holds %q", name, bad)
			}
		}
	}
}
