package fieldsheet

import (
	"context"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"clipledger/monitor/needtool"
)

// watcher writes down what a page must not do.
type watcher struct {
	mu       sync.Mutex
	problems []string
	requests int
}

func (w *watcher) listen(event any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		w.problems = append(w.problems, "console "+string(e.Type))
	case *runtime.EventExceptionThrown:
		w.problems = append(w.problems, "exception: "+e.ExceptionDetails.Text)
	case *cdplog.EventEntryAdded:
		w.problems = append(w.problems, "log: "+e.Entry.Text)
	case *network.EventRequestWillBeSent:
		w.requests++
		if !strings.HasPrefix(e.Request.URL, "file://") && !strings.HasPrefix(e.Request.URL, "data:") {
			w.problems = append(w.problems, "asked for "+e.Request.URL)
		}
	}
}

// open starts a headless Chromium that is watched.
func open(t *testing.T) (context.Context, *watcher) {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(needtool.Chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	w := &watcher{}
	if err := chromedp.Listen(ctx, w.listen); err != nil {
		t.Fatal(err)
	}
	enable := func(ctx context.Context, _ *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
		if err == nil {
			_, err = chromedp.Call(ctx, cdplog.Enable, cdp.Empty{})
		}
		if err == nil {
			_, err = chromedp.Call(ctx, runtime.Enable, cdp.Empty{})
		}
		return chromedp.Void{}, err
	}
	if err := chromedp.Do(ctx, enable); err != nil {
		t.Fatal(err)
	}
	return ctx, w
}

// written puts a page on disk and returns its address.
func written(t *testing.T, b *Book) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sheet.html")
	content, err := b.HTML()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(path)}).String()
}

// TestSheetInBrowser looks at a sheet on a phone, a tablet and a desk: it says
// nothing on the console, asks for nothing, and only the table scrolls
// sideways.
func TestSheetInBrowser(t *testing.T) {
	ctx, w := open(t)
	address := written(t, sampleBook(9))
	for _, width := range []int64{360, 768, 1280} {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(address)); err != nil {
			t.Fatal(err)
		}
		over, err := chromedp.Run(ctx, chromedp.Evaluate[string](`[...document.querySelectorAll('body, body *')]
			.filter(e => !e.closest('.scroll') || e.matches('.scroll'))
			.filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
			.map(e => e.tagName + ' ' + e.textContent.slice(0, 40)).join('\n') || (document.documentElement.scrollWidth > document.documentElement.clientWidth ? 'the page' : '')`))
		if err != nil {
			t.Fatal(err)
		}
		if over != "" {
			t.Errorf("at %d pixels this hangs over the side: %s", width, over)
		}
		if rows, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.querySelectorAll('tbody tr').length`)); err != nil || rows != 54+1+6 {
			t.Errorf("%d lines, want 54, one, and two spare ones for each of three tables: %v", rows, err)
		}
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, p := range w.problems {
		t.Errorf("page: %s", p)
	}
	if w.requests == 0 {
		t.Error("no request was seen at all: the test looks at nothing")
	}
}

// TestSheetOnPaper prints a sheet on Letter and on A4: every page has its
// headings, the cautions and whose sheet it is, no frame is torn in two, and
// each transect and site begins a page.
func TestSheetOnPaper(t *testing.T) {
	toText, err := exec.LookPath("pdftotext")
	if err != nil {
		needtool.Missing(t, "pdftotext")
	}
	ctx, _ := open(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(written(t, sampleBook(9)))); err != nil {
		t.Fatal(err)
	}
	for name, paper := range map[string]chromedp.PaperSize{"Letter": chromedp.PaperLetter, "A4": chromedp.PaperA4} {
		pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFLandscape(), chromedp.PDFPrintBackground()))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), name+".pdf")
		if err := os.WriteFile(path, pdf, 0o600); err != nil {
			t.Fatal(err)
		}
		text, err := exec.Command(toText, "-layout", path, "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		pages := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
		if len(pages) < 5 {
			t.Errorf("%s: %d pages; nine frames on two transects and another site need more", name, len(pages))
		}
		var transects []string
		for i, page := range pages {
			flat := strings.Join(strings.Fields(page), " ")
			for _, want := range []string{"component", "observer", "oven unattended", "Small <ledger>"} {
				if !strings.Contains(flat, want) {
					t.Errorf("%s: page %d lacks %q:\n%s", name, i+1, want, page)
				}
			}
			here := ""
			for _, one := range []string{"transect T1", "transect T2", "transect 1"} {
				if strings.Contains(flat, one) {
					here += one
				}
			}
			if n := len(transects); n == 0 || transects[n-1] != here {
				transects = append(transects, here)
			}
			if n := strings.Count(flat, "AAAA1"); strings.Contains(here, "T") && n != strings.Count(flat, "browse")+strings.Count(flat, "kept apart: AAAA1") {
				t.Errorf("%s: page %d tears a frame in two: %s first lines, %d last ones:\n%s", name, i+1, strconv.Itoa(n), strings.Count(flat, "browse"), page)
			}
		}
		if got := strings.Join(transects, ", "); got != "transect T1, transect T2, transect 1" {
			t.Errorf("%s: pages hold %s; each transect begins a page of its own", name, got)
		}
	}
}
