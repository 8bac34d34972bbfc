//go:build browser

package years

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

// On a phone held upright and on a desk nothing lies off the screen, no target is under 44
// pixels, and both systems of units and sorting work.
func TestBrowserYears(t *testing.T) {
	for name, size := range map[string][2]int64{"phone": {390, 844}, "small phone": {320, 640}, "desk": {1280, 900}} {
		t.Run(name, func(t *testing.T) {
			p := browsertest.Open(t, browsertest.Written(t, document().Page), size[0], size[1])
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			require.Empty(t, browsertest.Eval[[]string](p, `[...document.querySelectorAll("button, a")].filter(e => { const r = e.getBoundingClientRect(); return e.checkVisibility() && (r.height < 43.5 || r.width < 43.5) }).map(e => e.outerHTML)`), "targets under 44 pixels")
			require.Less(t, browsertest.Eval[float64](p, `document.querySelector(".answer").getBoundingClientRect().top`), 300.0)
			p.Keep("years-" + strings.ReplaceAll(name, " ", "") + ".png")
			p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
			require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".answer").textContent`), "kg/ha")
			p.Do(chromedp.Click(chromedp.CSS(`#hours thead th:nth-child(6) button`)))
			require.Equal(t, "10:00", browsertest.CellsOf(p, "hours", "5")[0])
			p.Quiet()
		})
	}
}

func TestBrowserYearsAccessibility(t *testing.T) {
	for _, scheme := range []string{"light", "dark"} {
		p := browsertest.Open(t, browsertest.Written(t, document().Page), 1280, 900)
		p.Media("screen", scheme)
		p.Keep("years-" + scheme + ".png")
		p.Accessible()
	}
}

func TestBrowserYearsPrints(t *testing.T) {
	p := browsertest.Open(t, browsertest.Written(t, document().Page), 1280, 900)
	for paper := range browsertest.Papers {
		pages, size := p.Printed(paper, "years")
		require.LessOrEqual(t, pages, 5)
		require.Less(t, size, 500_000)
	}
}
