package charts

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestLook makes pictures of every page of a report (in DIR-pictures, beside
// it), for a person to look at: of the report that is in the folder CHARTS_LOOK
// names, or of the sample report, which it writes into a new one.
func TestLook(t *testing.T) {
	dir := os.Getenv("CHARTS_LOOK")
	if dir == "" {
		t.Skip("set CHARTS_LOOK=DIR to make pictures of the report in DIR, or of the sample report")
	}
	if _, err := os.Stat(filepath.Join(dir, markerName)); err != nil {
		write(t, dir, sampleReport())
	}
	names, err := filepath.Glob(filepath.Join(dir, "sites", "*.html"))
	if err != nil {
		t.Fatal(err)
	}
	names = append(names, filepath.Join(dir, "index.html"), filepath.Join(dir, "methods.html"))
	pictures := dir + "-pictures"
	if err := os.MkdirAll(pictures, 0o755); err != nil {
		t.Fatal(err)
	}
	b := newBrowser(t)
	for _, path := range names {
		base := filepath.Join(pictures, strings.TrimSuffix(filepath.Base(path), ".html"))
		for _, view := range []struct {
			suffix, scheme string
			width          int64
		}{{"", "light", 1280}, {"-phone", "light", 390}, {"-dark", "dark", 1280}} {
			b.openURL(t, fileURL(t, path), view.width, view.scheme)
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
