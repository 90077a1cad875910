package charts

import (
	"context"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"clipledger/monitor/needtool"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser is a headless Chromium that writes down everything a page should
// not do.
type browser struct {
	ctx context.Context

	mu       sync.Mutex
	problems []string
	requests []string
}

func newBrowser(t *testing.T) *browser {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(needtool.Chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	b := &browser{ctx: ctx}
	if err := chromedp.Listen(ctx, b.listen); err != nil {
		t.Fatal(err)
	}
	b.run(t, func(ctx context.Context, _ *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
		if err == nil {
			_, err = chromedp.Call(ctx, cdplog.Enable, cdp.Empty{})
		}
		if err == nil {
			_, err = chromedp.Call(ctx, runtime.Enable, cdp.Empty{})
		}
		return chromedp.Void{}, err
	})
	return b
}

func (b *browser) listen(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		b.problems = append(b.problems, "console "+string(e.Type))
	case *runtime.EventExceptionThrown:
		b.problems = append(b.problems, "exception: "+e.ExceptionDetails.Text)
	case *cdplog.EventEntryAdded:
		b.problems = append(b.problems, "log: "+e.Entry.Text)
	case *page.EventJavascriptDialogOpening:
		b.problems = append(b.problems, "dialog: "+e.Message)
		go chromedp.Call(b.ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true})
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	}
}

func (b *browser) run(t *testing.T, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// open shows a page of the folder from disk, at a width, in a scheme, and
// waits until its charts are drawn.
func (b *browser) open(t *testing.T, dir, name string, width int64, scheme string) {
	t.Helper()
	b.openURL(t, fileURL(t, filepath.Join(dir, name)), width, scheme)
}

func (b *browser) openURL(t *testing.T, address string, width int64, scheme string) {
	t.Helper()
	b.media(t, "", scheme)
	b.run(t,
		chromedp.EmulateViewport(width, 900),
		chromedp.Navigate(address),
		chromedp.Poll[chromedp.Void](`document.readyState === 'complete' &&
			document.querySelectorAll('.chart').length === document.querySelectorAll('.chart[data-drawn]').length`,
			chromedp.WithPollingTimeout(20*time.Second)))
}

// media lets the style sheet believe in a medium ("" is the screen) and a
// scheme.
func (b *browser) media(t *testing.T, media, scheme string) {
	t.Helper()
	params := emulation.SetEmulatedMediaParams{Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
	b.run(t, func(ctx context.Context, _ *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, params)
		return chromedp.Void{}, err
	})
}

// get returns what an action returns.
func get[T any](t *testing.T, b *browser, action chromedp.Action[T]) T {
	t.Helper()
	out, err := chromedp.Run(b.ctx, action)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// eval returns what a piece of script says in the page.
func eval[T any](t *testing.T, b *browser, script string, options ...chromedp.EvaluateOption) T {
	t.Helper()
	return get(t, b, chromedp.Evaluate[T](script, options...))
}

// quiet fails the test over anything the pages did that they must not: errors,
// refusals of the content policy, dialogs, and requests other than to files.
func (b *browser) quiet(t *testing.T) {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, p := range b.problems {
		t.Errorf("page: %s", p)
	}
	for _, u := range b.requests {
		if !strings.HasPrefix(u, "file://") && !strings.HasPrefix(u, "data:") {
			t.Errorf("page asked for %s", u)
		}
	}
	if len(b.requests) == 0 {
		t.Error("no request was seen at all: the test looks at nothing")
	}
}

func fileURL(t *testing.T, path string) string {
	t.Helper()
	abs, err := filepath.Abs(path)
	if err != nil {
		t.Fatal(err)
	}
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}).String()
}
