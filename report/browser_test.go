//go:build browser

package report

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// A browserPage is report.html open in a browser, with what went wrong on it.
type browserPage struct {
	t   *testing.T
	ctx context.Context

	mu       sync.Mutex
	errors   []string
	requests []string
}

// open shows a report in a browser, or skips the test where there is none.
func open(t *testing.T, r *Report, width, height int64) *browserPage {
	t.Helper()
	return openHTML(t, pageOf(t, r), width, height)
}

// openHTML shows a page in a browser.
func openHTML(t *testing.T, page string, width, height int64) *browserPage {
	t.Helper()
	path := os.Getenv("LAPWING_CHROMIUM")
	if path == "" {
		path = "/usr/bin/chromium"
	}
	if _, err := os.Stat(path); err != nil {
		t.Skipf("no browser at %s: set LAPWING_CHROMIUM to one", path)
	}
	file := filepath.Join(t.TempDir(), "report.html")
	require.NoError(t, os.WriteFile(file, []byte(page), 0o644))

	alloc, stop := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(path), chromedp.Headless, chromedp.NoFirstRun, chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true))
	t.Cleanup(stop)
	p := &browserPage{t: t}
	ctx, cancel := chromedp.NewContext(alloc, chromedp.WithListener(p.listen))
	t.Cleanup(cancel)
	p.ctx = ctx
	require.NoError(t, chromedp.Do(ctx)) // without a deadline: the first call starts the browser
	var done context.CancelFunc
	p.ctx, done = context.WithTimeout(ctx, 5*time.Minute) // only ends what hangs
	t.Cleanup(done)
	_, err := chromedp.Run(p.ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, tab, network.Enable, network.EnableParams{})
	})
	require.NoError(t, err)
	p.media("", "light")
	p.do(chromedp.EmulateViewport(width, height), chromedp.Navigate("file://"+file))
	return p
}

func (p *browserPage) listen(ev any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		p.errors = append(p.errors, ev.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		p.errors = append(p.errors, fmt.Sprint("console: ", ev.Type))
	case *network.EventRequestWillBeSent:
		p.requests = append(p.requests, ev.Request.URL)
	}
}

func (p *browserPage) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.ctx, steps...))
}

// eval returns the value of a JavaScript expression.
func eval[T any](p *browserPage, expression string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression))
	require.NoError(p.t, err, expression)
	return v
}

// media sets the medium and the colour scheme. Nothing scrolls by and by: a
// click would land where its target was.
func (p *browserPage) media(medium, scheme string) {
	p.t.Helper()
	_, err := chromedp.Run(p.ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Media: medium, Features: []*emulation.MediaFeature{
				{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
			},
		})
	})
	require.NoError(p.t, err)
}

// keep saves a picture to look at where LAPWING_PAGES names a directory.
func (p *browserPage) keep(name string) {
	if dir := os.Getenv("LAPWING_PAGES"); dir != "" {
		picture, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
		require.NoError(p.t, err)
		require.NoError(p.t, os.WriteFile(filepath.Join(dir, name), picture, 0o644))
	}
}

// quiet checks that the page said nothing wrong and asked for nothing.
func (p *browserPage) quiet() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	require.Empty(p.t, p.errors)
	for _, url := range p.requests {
		require.True(p.t, strings.HasPrefix(url, "file://") || strings.HasPrefix(url, "data:"), url)
	}
}

const status = `document.getElementById("status").textContent`

func TestBrowserLayersAndLinks(t *testing.T) {
	p := open(t, small(), 1280, 900)
	shown := func(selector string) bool {
		return eval[bool](p, `getComputedStyle(document.querySelector("`+selector+`")).display !== "none"`)
	}
	require.True(t, shown("#s2"))
	p.do(chromedp.Click(chromedp.CSS(`[data-layer=skip]`)))
	require.False(t, shown("#s2"))
	require.True(t, shown("#o1"))
	p.do(chromedp.Click(chromedp.CSS(`[data-layer=overlap]`)))
	require.False(t, shown("#o1"))

	// The list leads to the map, switches the layer on again, and says the figures.
	p.do(chromedp.Click(chromedp.CSS(`[data-go=s2]`)))
	require.True(t, shown("#s2"))
	require.True(t, eval[bool](p, `document.getElementById("s2").classList.contains("chosen")`))
	require.Contains(t, eval[string](p, status), "Skip 2: 0.21\u00a0ac, plugged")
	require.True(t, eval[bool](p, `document.getElementById("map").classList.contains("zoomed")`))

	// The map leads to the list.
	p.do(chromedp.Click(chromedp.CSS(`[data-zoom=whole]`)))
	p.do(chromedp.Click(chromedp.CSS(`[data-layer=overlap]`)))
	at := eval[[]float64](p, `(() => { document.getElementById("map").scrollIntoView({behavior: "instant"}); const r = document.getElementById("s3").getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2] })()`)
	p.do(chromedp.MouseClickXY(at[0], at[1]))
	require.Contains(t, eval[string](p, status), "Skip 3:")
	require.Equal(t, "true", eval[string](p, `document.querySelector("[data-go=s3]").getAttribute("aria-current")`))

	// Units change over without a server.
	p.do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, eval[string](p, status), "Skip 3: 720\u00a0m²")
	require.Contains(t, eval[string](p, `document.querySelector(".answer").textContent`), "40\u00a0m")
	require.Contains(t, eval[string](p, `document.querySelector(".scale text").textContent`), " m")
	p.quiet()
}

func TestBrowserKeyboard(t *testing.T) {
	p := open(t, small(), 1280, 900)
	view := `document.getElementById("map").getAttribute("viewBox")`
	whole := eval[string](p, view)
	p.do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("+"))
	closer := eval[string](p, view)
	require.NotEqual(t, whole, closer)
	p.do(chromedp.KeyEvent("\u0303")) // ArrowRight
	require.NotEqual(t, closer, eval[string](p, view))
	p.do(chromedp.KeyEvent("0"))
	require.Equal(t, whole, eval[string](p, view))
	p.do(chromedp.KeyEvent("n"))
	require.Contains(t, eval[string](p, status), "Not worked yet")
	p.do(chromedp.KeyEvent("n"))
	require.Contains(t, eval[string](p, status), "Skip 2:")
	p.do(chromedp.KeyEvent("p"), chromedp.KeyEvent("p"))
	require.Contains(t, eval[string](p, status), "Fill 3", "the last of the lists")

	p.do(chromedp.Focus(chromedp.CSS("[data-go=s2]")), chromedp.KeyEvent("\u0301")) // ArrowDown
	require.Equal(t, "s3", eval[string](p, `document.activeElement.dataset.go`))
	require.Contains(t, eval[string](p, status), "Skip 3:")
	require.NotEqual(t, "none", eval[string](p, `getComputedStyle(document.activeElement).outlineStyle`))
	p.quiet()
}

func TestBrowserFitsPhoneAndDesk(t *testing.T) {
	for name, size := range map[string][2]int64{"phone": {390, 844}, "small phone": {320, 640}, "desk": {1440, 900}} {
		t.Run(name, func(t *testing.T) {
			r := small()
			r.Map.Field.Name = strings.Repeat("unbroken", 12)
			p := open(t, r, size[0], size[1])
			require.LessOrEqual(t, eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			// The map comes first and is seen without scrolling; then the answer.
			top := eval[[]float64](p, `[...document.querySelectorAll("#map, .answer, #skips")].map(e => e.getBoundingClientRect().top)`)
			require.Less(t, top[0], 300.0) // under a name that fills four lines
			require.Less(t, top[0], top[2])
			require.Less(t, top[1], top[2])
			small := eval[[]string](p, `[...document.querySelectorAll("button, input, label")].filter(e => { const r = (e.closest("label") || e).getBoundingClientRect(); return r.width < 24 || r.height < 24 }).map(e => e.outerHTML)`)
			require.Empty(t, small, "targets under 24 pixels")
			p.keep(strings.ReplaceAll(name, " ", "") + ".png")
			p.quiet()
		})
	}
}

// The bar is as long as it says beside a field 400 m wide, zoomed or not, on a
// screen or on paper.
func TestBrowserBarScaleIsTrue(t *testing.T) {
	p := open(t, metric(small()), 1280, 900)
	check := func() {
		t.Helper()
		bar := eval[float64](p, `document.querySelector(".scale .under").getBBox().width / 100`) // m
		label := eval[string](p, `document.querySelector(".scale text").textContent`)
		field := eval[float64](p, `document.querySelector(".boundary").getBoundingClientRect().width`)
		drawn := eval[float64](p, `document.querySelector(".scale .under").getBoundingClientRect().width`)
		require.Equal(t, fmt.Sprintf("%g m", bar), label)
		require.InDelta(t, bar/400, drawn/field, 0.01)
	}
	check()
	p.do(chromedp.Click(chromedp.CSS(`[data-zoom=in]`)), chromedp.Click(chromedp.CSS(`[data-zoom=in]`)))
	check()
	p.media("print", "light")
	check()
	p.quiet()
}

func TestBrowserDark(t *testing.T) {
	p := open(t, small(), 1280, 900)
	const paper = `getComputedStyle(document.body).backgroundColor`
	p.media("screen", "light")
	light := eval[string](p, paper)
	p.media("screen", "dark")
	require.NotEqual(t, light, eval[string](p, paper))
	p.keep("dark.png")
	p.quiet()
}

func TestBrowserPrint(t *testing.T) {
	for name, paper := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
		t.Run(name, func(t *testing.T) {
			p := open(t, quarter(), 1280, 900)
			p.media("print", "light")
			require.Equal(t, "none", eval[string](p, `getComputedStyle(document.querySelector(".zoom")).display`))
			pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
			require.NoError(t, err)
			require.True(t, strings.HasPrefix(string(pdf), "%PDF-"))
			require.Greater(t, len(pdf), 20_000)
			if dir := os.Getenv("LAPWING_PAGES"); dir != "" {
				require.NoError(t, os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o644))
			}
			p.quiet()
		})
	}
}

// accessible checks the rules of axe-core for WCAG 2.2 AA.
func (p *browserPage) accessible() {
	p.t.Helper()
	path := os.Getenv("LAPWING_AXE")
	if path == "" {
		p.t.Skip("set LAPWING_AXE to the path of axe.min.js (npm package axe-core 4.14.1)")
	}
	axe, err := os.ReadFile(path)
	require.NoError(p.t, err)
	eval[bool](p, string(axe)+"; window.found = null; true")
	eval[bool](p, `axe.run({runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r => { window.found = r.violations.map(v => v.id + ": " + v.help + " " + v.nodes.map(n => n.html.slice(0, 160)).slice(0, 3).join(" | ")); window.passed = r.passes.length }); true`)
	require.Eventually(p.t, func() bool { return eval[bool](p, `window.found !== null`) }, 2*time.Minute, 200*time.Millisecond)
	require.Empty(p.t, eval[[]string](p, `window.found`))
	require.Greater(p.t, eval[int](p, `window.passed`), 20)
}

func TestBrowserAccessibility(t *testing.T) {
	for _, scheme := range []string{"light", "dark"} {
		for name, r := range map[string]*Report{"small": small(), "empty": empty()} {
			t.Run(scheme+" "+name, func(t *testing.T) {
				p := open(t, r, 1280, 900)
				p.media("screen", scheme)
				p.accessible()
			})
		}
	}
}
