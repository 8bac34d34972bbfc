//go:build browser

package mend

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

func TestBrowserMendInTheCab(t *testing.T) { browsertest.InTheCab(t, "mend", small().Page) }

// The stops lead to the map by mouse and by keyboard alone.
func TestBrowserMendStops(t *testing.T) {
	p := browsertest.Open(t, browsertest.Written(t, small().Page), 1280, 900)
	p.Do(chromedp.Click(chromedp.CSS(`[data-go=r2]`)))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Stop B:")
	require.True(t, browsertest.Eval[bool](p, `document.getElementById("r2").classList.contains("chosen")`))
	require.True(t, browsertest.Eval[bool](p, `document.getElementById("map").classList.contains("zoomed")`))

	p.Do(chromedp.Focus(chromedp.CSS(`[data-go=r1]`)), chromedp.KeyEvent("\u0301")) // ArrowDown
	require.Equal(t, "r2", browsertest.Eval[string](p, `document.activeElement.dataset.go`))
	require.NotEqual(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.activeElement).outlineStyle`))
	p.Do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("n"))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Stop C:")

	// A layer taken away comes back for a stop that is chosen.
	p.Do(chromedp.Click(chromedp.CSS(`[data-layer=run]`)))
	require.Equal(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.getElementById("r1")).display`))
	p.Do(chromedp.Click(chromedp.CSS(`[data-go=r1]`)))
	require.NotEqual(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.getElementById("r1")).display`))
	p.Quiet()
}
