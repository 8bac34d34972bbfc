//go:build browser

package report

import (
	"io"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/reporttest"
)

// cabPages are the pages that are read in the cab.
func cabPages() map[string]func(io.Writer) error {
	return map[string]func(io.Writer) error{
		"mend": smallErrand().Page,
		"last": smallLast().Page,
	}
}

func TestBrowserCabPagesFit(t *testing.T) {
	for name, write := range cabPages() {
		for device, size := range map[string][2]int64{"phone": {390, 844}, "smallphone": {320, 640}, "desk": {1440, 900}} {
			t.Run(name+" "+device, func(t *testing.T) {
				p := reporttest.Open(t, reporttest.Written(t, write), size[0], size[1])
				require.LessOrEqual(t, reporttest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
				require.Empty(t, reporttest.Eval[[]string](p, reporttest.SmallTargets), "targets under 24 pixels")
				p.Keep(name + "-" + device + ".png")
				p.Quiet()
			})
		}
	}
}

// On a phone held upright the verdict, the chart of the open side and the
// place to go back to are seen without scrolling, in letters for the sun:
// black on white, larger than elsewhere.
func TestBrowserLastIsReadAtAGlance(t *testing.T) {
	p := reporttest.Open(t, reporttest.Written(t, smallLast().Page), 390, 844)
	p.Media("screen", "light")
	bottoms := reporttest.Eval[[]float64](p, `[".verdict", ".chart", ".cab li"].map(s => document.querySelector(s).getBoundingClientRect().bottom)`)
	for _, b := range bottoms {
		require.Less(t, b, 844.0)
	}
	require.Equal(t, "rgb(0, 0, 0)", reporttest.Eval[string](p, `getComputedStyle(document.querySelector(".verdict")).color`))
	require.Equal(t, "rgb(255, 255, 255)", reporttest.Eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	require.GreaterOrEqual(t, reporttest.Eval[float64](p, `parseFloat(getComputedStyle(document.querySelector(".verdict")).fontSize)`), 20.0)
	require.GreaterOrEqual(t, reporttest.Eval[float64](p, `document.querySelector(".cab .chart text").getBoundingClientRect().height`), 14.0)

	// At night it is dark, and the units change over.
	p.Media("screen", "dark")
	require.NotEqual(t, "rgb(255, 255, 255)", reporttest.Eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, reporttest.Eval[string](p, `document.querySelector(".verdict").textContent`), "m,")
	p.Quiet()
}

// The stops lead to the plat by mouse and by keyboard alone.
func TestBrowserMendStops(t *testing.T) {
	p := reporttest.Open(t, reporttest.Written(t, smallErrand().Page), 1280, 900)
	p.Do(chromedp.Click(chromedp.CSS(`[data-go=r2]`)))
	require.Contains(t, reporttest.Eval[string](p, reporttest.Status), "Stop 2:")
	require.True(t, reporttest.Eval[bool](p, `document.getElementById("r2").classList.contains("chosen")`))
	require.True(t, reporttest.Eval[bool](p, `document.getElementById("map").classList.contains("zoomed")`))

	p.Do(chromedp.Focus(chromedp.CSS(`[data-go=r1]`)), chromedp.KeyEvent("\u0301")) // ArrowDown
	require.Equal(t, "r2", reporttest.Eval[string](p, `document.activeElement.dataset.go`))
	require.NotEqual(t, "none", reporttest.Eval[string](p, `getComputedStyle(document.activeElement).outlineStyle`))
	p.Do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("n"))
	require.Contains(t, reporttest.Eval[string](p, reporttest.Status), "Stop 3:")

	// A layer taken away comes back for a stop that is chosen.
	p.Do(chromedp.Click(chromedp.CSS(`[data-layer=run]`)))
	require.Equal(t, "none", reporttest.Eval[string](p, `getComputedStyle(document.getElementById("r1")).display`))
	p.Do(chromedp.Click(chromedp.CSS(`[data-go=r1]`)))
	require.NotEqual(t, "none", reporttest.Eval[string](p, `getComputedStyle(document.getElementById("r1")).display`))
	p.Quiet()
}

func TestBrowserCabPagesPrint(t *testing.T) {
	for name, write := range cabPages() {
		p := reporttest.Open(t, reporttest.Written(t, write), 720, 1000)
		p.Media("print", "light")
		p.Keep(name + "-print.png")
		pdf, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF())
		require.NoError(t, err)
		require.Greater(t, len(pdf), 20_000)
		p.Quiet()
	}
}

func TestBrowserCabPagesAccessibility(t *testing.T) {
	for name, write := range cabPages() {
		for _, scheme := range []string{"light", "dark"} {
			t.Run(name+" "+scheme, func(t *testing.T) {
				p := reporttest.Open(t, reporttest.Written(t, write), 390, 844)
				p.Media("screen", scheme)
				p.Accessible()
			})
		}
	}
}
