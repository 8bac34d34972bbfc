//go:build browser

package last

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

func TestBrowserLastInTheCab(t *testing.T) { browsertest.InTheCab(t, "last", small().Page) }

// On a phone held upright the verdict, the chart of the open side and the
// place to go back to are seen without scrolling, in letters for the sun:
// black on white, larger than elsewhere.
func TestBrowserLastIsReadAtAGlance(t *testing.T) {
	p := browsertest.Open(t, browsertest.Written(t, small().Page), 390, 844)
	p.Media("screen", "light")
	bottoms := browsertest.Eval[[]float64](p, `[".verdict", ".chart", ".cab li"].map(s => document.querySelector(s).getBoundingClientRect().bottom)`)
	for _, b := range bottoms {
		require.Less(t, b, 844.0)
	}
	require.Equal(t, "rgb(0, 0, 0)", browsertest.Eval[string](p, `getComputedStyle(document.querySelector(".verdict")).color`))
	require.Equal(t, "rgb(255, 255, 255)", browsertest.Eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	require.GreaterOrEqual(t, browsertest.Eval[float64](p, `parseFloat(getComputedStyle(document.querySelector(".verdict")).fontSize)`), 20.0)
	require.GreaterOrEqual(t, browsertest.Eval[float64](p, `document.querySelector(".cab .chart text").getBoundingClientRect().height`), 14.0)

	// At night it is dark, and the units change over.
	p.Media("screen", "dark")
	require.NotEqual(t, "rgb(255, 255, 255)", browsertest.Eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".verdict").textContent`), "m,")
	p.Quiet()
}
