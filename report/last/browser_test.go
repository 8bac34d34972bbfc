//go:build browser

package last

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

func TestBrowserLastInTheCab(t *testing.T) { browsertest.InTheCab(t, "last", small().Page) }

// On a phone held upright the verdict and the map are seen without scrolling, in
// letters for the sun: black on white, larger than elsewhere; held level, the map stands
// beside the verdict.
func TestBrowserLastIsReadAtAGlance(t *testing.T) {
	p := browsertest.Open(t, browsertest.Written(t, small().Page), 390, 844)
	p.Media("screen", "light")
	bottoms := browsertest.Eval[[]float64](p, `[".verdict", ".also", "#map"].map(s => document.querySelector(s).getBoundingClientRect().bottom)`)
	for _, b := range bottoms {
		require.Less(t, b, 844.0)
	}
	require.Equal(t, "rgb(0, 0, 0)", browsertest.Eval[string](p, `getComputedStyle(document.querySelector(".verdict")).color`))
	require.Equal(t, "rgb(255, 255, 255)", browsertest.Eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	require.GreaterOrEqual(t, browsertest.Eval[float64](p, `parseFloat(getComputedStyle(document.querySelector(".verdict")).fontSize)`), 20.0)
	require.GreaterOrEqual(t, browsertest.Eval[float64](p, `document.querySelector(".cab .chart text").getBoundingClientRect().height`), 14.0)

	// Every place has one label, on the map and in the list, and each leads to the other.
	labels := `[...document.querySelectorAll(".places [data-go]")].map(b => b.textContent).join()`
	require.Equal(t, "E1,2,3", browsertest.Eval[string](p, labels))
	require.Equal(t, "E1,2,3", browsertest.Eval[string](p, `[...document.querySelectorAll("#map .marks text")].map(b => b.textContent).join()`))
	p.Do(chromedp.Click(chromedp.CSS(`[data-go=s2]`)))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Skip 2:")
	browsertest.Eval[bool](p, `document.querySelector("[data-mark=e1]").dispatchEvent(new MouseEvent("click", { bubbles: true }))`)
	require.Equal(t, "E1", browsertest.Eval[string](p, `document.querySelector(".places li.chosen button").textContent`))

	// Each place opens the phone's own map, or is copied, latitude first.
	require.Regexp(t, `^geo:54\.\d{6},11\.\d{6}$`, browsertest.Eval[string](p, `document.querySelector(".places a").getAttribute("href")`))
	p.Do(chromedp.Click(chromedp.CSS(`.places [data-copy]`)))
	require.Eventually(t, func() bool {
		return browsertest.Eval[bool](p, `["copied", document.querySelector("[data-copy]").dataset.copy].includes(document.querySelector("[data-copy]").textContent)`)
	}, 10*time.Second, 50*time.Millisecond)
	p.Do(chromedp.EmulateViewport(844, 390))
	require.Less(t, browsertest.Eval[float64](p, `document.querySelector("#map").getBoundingClientRect().bottom + scrollY`), 390.0)
	p.Keep("last-level.png")
	p.Do(chromedp.EmulateViewport(390, 844))

	// At night it is dark, and the units change over.
	p.Media("screen", "dark")
	require.NotEqual(t, "rgb(255, 255, 255)", browsertest.Eval[string](p, `getComputedStyle(document.body).backgroundColor`))
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".verdict").textContent`), "m,")
	p.Quiet()
}
