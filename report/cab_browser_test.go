//go:build browser

package report

import (
	"io"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// smallTargets are the controls under 24 pixels.
const smallTargets = `[...document.querySelectorAll("button, input, label")].filter(e => { const r = (e.closest("label") || e).getBoundingClientRect(); return r.width < 24 || r.height < 24 }).map(e => e.outerHTML)`

// cabPages are the pages that are read in the cab.
func cabPages() map[string]func(io.Writer) error {
	return map[string]func(io.Writer) error{
		"mend": smallErrand().Page,
		"last": smallLast().Page,
	}
}

func written(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, write(&b))
	return b.String()
}

func TestBrowserCabPagesFit(t *testing.T) {
	for name, write := range cabPages() {
		for device, size := range map[string][2]int64{"phone": {390, 844}, "smallphone": {320, 640}, "desk": {1440, 900}} {
			t.Run(name+" "+device, func(t *testing.T) {
				p := openHTML(t, written(t, write), size[0], size[1])
				require.LessOrEqual(t, eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
				require.Empty(t, eval[[]string](p, smallTargets), "targets under 24 pixels")
				p.keep(name + "-" + device + ".png")
				p.quiet()
			})
		}
	}
}

// On a phone held upright the verdict, the chart of the open side and the
// place to go back to are seen without scrolling, in letters for the sun:
// black on white, larger than elsewhere.
func TestBrowserLastIsReadAtAGlance(t *testing.T) {
	p := openHTML(t, written(t, smallLast().Page), 390, 844)
	p.media("screen", "light")
	bottoms := eval[[]float64](p, `[".verdict", ".chart", ".cab li"].map(s => document.querySelector(s).getBoundingClientRect().bottom)`)
	for _, b := range bottoms {
		require.Less(t, b, 844.0)
	}
	require.Equal(t, "rgb(0, 0, 0)", eval[string](p, `getComputedStyle(document.querySelector(".verdict")).color`))
	require.Equal(t, "rgb(255, 255, 255)", eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	require.GreaterOrEqual(t, eval[float64](p, `parseFloat(getComputedStyle(document.querySelector(".verdict")).fontSize)`), 20.0)
	require.GreaterOrEqual(t, eval[float64](p, `document.querySelector(".cab .chart text").getBoundingClientRect().height`), 14.0)

	// At night it is dark, and the units change over.
	p.media("screen", "dark")
	require.NotEqual(t, "rgb(255, 255, 255)", eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	p.do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, eval[string](p, `document.querySelector(".verdict").textContent`), "m,")
	p.quiet()
}

// The stops lead to the plat by mouse and by keyboard alone.
func TestBrowserMendStops(t *testing.T) {
	p := openHTML(t, written(t, smallErrand().Page), 1280, 900)
	p.do(chromedp.Click(chromedp.CSS(`[data-go=r2]`)))
	require.Contains(t, eval[string](p, status), "Stop 2:")
	require.True(t, eval[bool](p, `document.getElementById("r2").classList.contains("chosen")`))
	require.True(t, eval[bool](p, `document.getElementById("map").classList.contains("zoomed")`))

	p.do(chromedp.Focus(chromedp.CSS(`[data-go=r1]`)), chromedp.KeyEvent("\u0301")) // ArrowDown
	require.Equal(t, "r2", eval[string](p, `document.activeElement.dataset.go`))
	require.NotEqual(t, "none", eval[string](p, `getComputedStyle(document.activeElement).outlineStyle`))
	p.do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("n"))
	require.Contains(t, eval[string](p, status), "Stop 3:")

	// A layer taken away comes back for a stop that is chosen.
	p.do(chromedp.Click(chromedp.CSS(`[data-layer=run]`)))
	require.Equal(t, "none", eval[string](p, `getComputedStyle(document.getElementById("r1")).display`))
	p.do(chromedp.Click(chromedp.CSS(`[data-go=r1]`)))
	require.NotEqual(t, "none", eval[string](p, `getComputedStyle(document.getElementById("r1")).display`))
	p.quiet()
}

func TestBrowserCabPagesPrint(t *testing.T) {
	for name, write := range cabPages() {
		p := openHTML(t, written(t, write), 720, 1000)
		p.media("print", "light")
		p.keep(name + "-print.png")
		pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF())
		require.NoError(t, err)
		require.Greater(t, len(pdf), 20_000)
		p.quiet()
	}
}

func TestBrowserCabPagesAccessibility(t *testing.T) {
	for name, write := range cabPages() {
		for _, scheme := range []string{"light", "dark"} {
			t.Run(name+" "+scheme, func(t *testing.T) {
				p := openHTML(t, written(t, write), 390, 844)
				p.media("screen", scheme)
				p.accessible()
			})
		}
	}
}
