//go:build browser

package browsertest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// A Page is a page open in a browser, with what went wrong on it.
type Page struct {
	T   *testing.T
	Ctx context.Context

	home     string // where it may load from beside itself; "" for a page that is a file
	dark     bool   // the colour scheme, see [Page.Media]
	mu       sync.Mutex
	errors   []string
	requests []string

	trace      []traced
	traceEnded bool
}

// Open shows a page in a browser.
func Open(t *testing.T, text string, width, height int64) *Page {
	t.Helper()
	return visit(t, usualPatience, fileOf(t, text), "", width, height, shared)
}

// OpenKeeping is [Open] in a browser that keeps what the page stores on disk, as a person's
// does.
func OpenKeeping(t *testing.T, text string, width, height int64) *Page {
	t.Helper()
	return visit(t, usualPatience, fileOf(t, text), "", width, height, alone(compiledOnce))
}

// OpenAlone is [Open] in a browser that shows nothing else, so that what its processes
// take is the page's.
func OpenAlone(t *testing.T, text string, width, height int64) *Page {
	t.Helper()
	return visit(t, usualPatience, fileOf(t, text), "", width, height, alone())
}

// fileOf is the address of a file that holds a page.
func fileOf(t *testing.T, text string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "report.html")
	require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	return "file://" + file
}

// Visit shows the page at an address in a browser. It may load from there.
func Visit(t *testing.T, address string, width, height int64) *Page {
	t.Helper()
	home, _, _ := strings.Cut(address, "#")
	return visit(t, usualPatience, address, home, width, height, shared)
}

// VisitFor is [Visit] of a page that is looked at for so long at most, in a browser that
// shows nothing else.
func VisitFor(t *testing.T, patience time.Duration, address string, width, height int64) *Page {
	t.Helper()
	home, _, _ := strings.Cut(address, "#")
	return visit(t, patience, address, home, width, height, alone())
}

// usualPatience only ends what hangs.
const usualPatience = 5 * time.Minute

func visit(t *testing.T, patience time.Duration, address, home string, width, height int64, in func(*testing.T) (context.Context, []chromedp.ContextOption)) *Page {
	t.Helper()
	p := &Page{T: t, home: home}
	browser, options := in(t)
	ctx, cancel := chromedp.NewContext(browser, append(options, chromedp.WithListener(p.listen))...)
	t.Cleanup(cancel)
	var done context.CancelFunc
	p.Ctx, done = context.WithTimeout(ctx, patience)
	t.Cleanup(done)
	_, err := chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		if _, err := cdp.Call(ctx, tab, log.Enable, cdp.Empty{}); err != nil {
			return cdp.Empty{}, err
		}
		return cdp.Call(ctx, tab, network.Enable, network.EnableParams{})
	})
	require.NoError(t, err)
	p.Media("", "light")
	p.Do(chromedp.EmulateViewport(width, height), chromedp.Navigate(address))
	return p
}

func (p *Page) listen(ev any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		p.errors = append(p.errors, ev.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		p.errors = append(p.errors, fmt.Sprint("console: ", ev.Type))
	case *log.EventEntryAdded: // what the page's policy forbids, among others
		p.errors = append(p.errors, fmt.Sprintf("%s: %s", ev.Entry.Source, ev.Entry.Text))
	case *tracing.EventDataCollected:
		p.traceData(ev)
	case *tracing.EventTracingComplete:
		p.traceEnded = true
	case *network.EventRequestWillBeSent:
		p.requests = append(p.requests, ev.Request.URL)
	}
}

// Do carries out steps, one after the other.
func (p *Page) Do(steps ...chromedp.Action[chromedp.Void]) {
	p.T.Helper()
	require.NoError(p.T, chromedp.Do(p.Ctx, steps...))
}

// Tab is another tab of the browser, at the address of the page, where a script runs
// before those of the page; "" for none.
func (p *Page) Tab(before string) *Page {
	p.T.Helper()
	q := &Page{T: p.T, home: p.home}
	ctx, cancel := chromedp.NewContext(p.Ctx, chromedp.WithListener(q.listen))
	p.T.Cleanup(cancel)
	q.Ctx = ctx
	q.Before(before)
	q.Do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(Eval[string](p, `location.href`)))
	return q
}

// Before runs a script in every document of the page before its own.
func (p *Page) Before(script string) {
	p.T.Helper()
	_, err := chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (page.AddScriptToEvaluateOnNewDocumentResult, error) {
		return cdp.Call(ctx, tab, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
	})
	require.NoError(p.T, err)
}

// Eval returns the value of a JavaScript expression.
func Eval[T any](p *Page, expression string) T {
	p.T.Helper()
	v, err := chromedp.Run(p.Ctx, chromedp.Evaluate[T](expression))
	require.NoError(p.T, err, expression)
	return v
}

// Until waits for an expression to be true, and reports whether it came to be in time. Who
// asks while the page is exchanged for another, as by a reload, asks that one.
func (p *Page) Until(within time.Duration, expression string) bool {
	p.T.Helper()
	for deadline := time.Now().Add(within); ; time.Sleep(20 * time.Millisecond) {
		is, err := chromedp.Run(p.Ctx, chromedp.Evaluate[bool]("Boolean("+expression+")"))
		var from *cdproto.Error
		if exchanged := errors.As(err, &from) && from.Code == serverError; !exchanged {
			require.NoError(p.T, err, expression)
		}
		if is || time.Now().After(deadline) {
			return is
		}
	}
}

// serverError is what the browser answers, in the codes of JSON-RPC 2.0, where a page went
// while it was asked; a script that is wrong is no error of it.
const serverError = -32000

// Media sets the medium and the colour scheme, and turns smooth scrolling off: with it
// a click could land where its target was before.
func (p *Page) Media(medium, scheme string) {
	p.T.Helper()
	p.dark = scheme == "dark"
	_, err := chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Media: medium, Features: []*emulation.MediaFeature{
				{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
			},
		})
	})
	require.NoError(p.T, err)
}

// Keep saves a picture to look at where LAPWING_PAGES names a directory.
func (p *Page) Keep(name string) {
	if dir := os.Getenv("LAPWING_PAGES"); dir != "" {
		picture, err := chromedp.Run(p.Ctx, chromedp.FullScreenshot(100))
		require.NoError(p.T, err)
		require.NoError(p.T, os.WriteFile(filepath.Join(dir, name), picture, 0o644))
	}
}

// Faults are what went wrong so far.
func (p *Page) Faults() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.errors)
}

// Quiet checks that the page reported no error and loaded nothing from elsewhere.
func (p *Page) Quiet() {
	p.T.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	require.Empty(p.T, p.errors)
	for _, url := range p.requests {
		own := strings.HasPrefix(url, "file://") || p.home != "" && strings.HasPrefix(url, p.home)
		require.True(p.T, own || strings.HasPrefix(url, "data:") || strings.HasPrefix(url, "blob:"), url)
	}
}

// Accessible checks the rules of axe-core for WCAG 2.2 AA.
func (p *Page) Accessible() {
	p.T.Helper()
	p.accessible(manyRules)
}

// DialogAccessible is [Page.Accessible] of a page behind a dialog, which hides the rest:
// fewer rules find something to look at.
func (p *Page) DialogAccessible() {
	p.T.Helper()
	p.accessible(10)
}

// manyRules is how many rules find something to look at on any page of ours, at least.
const manyRules = 20

// accessible checks the rules, of which more than so many must have looked at something. A
// dark scheme differs in its colours only, so there only contrast is looked at, of which
// there is none that can be told behind a dialog.
func (p *Page) accessible(passes int) {
	p.T.Helper()
	path := os.Getenv("LAPWING_AXE")
	if path == "" {
		p.T.Skip("set LAPWING_AXE to the path of axe.min.js (npm package axe-core 4.14.1)")
	}
	rules := `["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]`
	if p.dark {
		rules, passes = `["color-contrast"]`, passes-manyRules
	}
	axe, err := os.ReadFile(path)
	require.NoError(p.T, err)
	Eval[bool](p, string(axe)+"; window.found = null; true")
	Eval[bool](p, `axe.run({runOnly: `+rules+`, resultTypes: ["violations"]}).then(r => { window.found = r.violations.map(v => v.id + ": " + v.help + " " + v.nodes.map(n => n.html.slice(0, 160)).slice(0, 3).join(" | ")); window.passed = r.passes.length }); true`)
	require.Eventually(p.T, func() bool { return Eval[bool](p, `window.found !== null`) }, 2*time.Minute, 200*time.Millisecond)
	require.Empty(p.T, Eval[[]string](p, `window.found`))
	require.Greater(p.T, Eval[int](p, `window.passed`), passes)
}

const Status = `document.getElementById("status").textContent`

// SmallTargets are the controls under 44 pixels: too small for a glove.
const SmallTargets = `[...document.querySelectorAll("button, input, label, a[href]")].filter(e => { const r = (e.closest("label") || e).getBoundingClientRect(); return r.width > 0 && (r.width < 44 || r.height < 44) }).map(e => e.outerHTML)`

// Written is what write makes.
func Written(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, write(&b))
	return b.String()
}

// CellsOf returns the texts of a column of a table.
func CellsOf(p *Page, table string, i string) []string {
	return Eval[[]string](p, `[...document.querySelectorAll("#`+table+` tbody tr")].map(r => r.cells[`+i+`].textContent)`)
}
