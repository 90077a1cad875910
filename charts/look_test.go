package charts

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestLook writes the sample report where CHARTS_LOOK says, with pictures of
// its pages beside it (in DIR-pictures), for a person to look at.
func TestLook(t *testing.T) {
	dir := os.Getenv("CHARTS_LOOK")
	if dir == "" {
		t.Skip("set CHARTS_LOOK=DIR to write the sample report and pictures of it")
	}
	r := sampleReport()
	if err := Write(dir, r, nil); err != nil {
		t.Fatal(err)
	}
	b := newBrowser(t)
	pictures := dir + "-pictures"
	if err := os.MkdirAll(pictures, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range pagesOf(r) {
		base := filepath.Join(pictures, strings.TrimSuffix(filepath.Base(name), ".html"))
		for _, view := range []struct {
			suffix, scheme string
			width          int64
		}{{"", "light", 1280}, {"-phone", "light", 390}, {"-dark", "dark", 1280}} {
			b.open(t, dir, name, view.width, view.scheme)
			save(t, base+view.suffix+".png", get(t, b, chromedp.FullScreenshot(100)))
		}
		// The scheme stays dark: print must not.
		save(t, base+".pdf", get(t, b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFMargin(0.5))))
		save(t, base+"-letter.pdf", get(t, b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperLetter), chromedp.PDFMargin(0.5))))
	}
	b.quiet(t)
}

func save(t *testing.T, path string, content []byte) {
	t.Helper()
	if err := os.WriteFile(path, content, 0o644); err != nil {
		t.Fatal(err)
	}
}
