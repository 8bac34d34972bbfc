//go:build browser

package field

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

// Open shows a report in a browser, or skips the test where there is none.
func open(t *testing.T, r *Document, width, height int64) *browsertest.Page {
	t.Helper()
	return browsertest.Open(t, pageOf(t, r), width, height)
}

func TestBrowserLayersAndLinks(t *testing.T) {
	p := open(t, small(), 1280, 900)
	shown := func(selector string) bool {
		return browsertest.Eval[bool](p, `getComputedStyle(document.querySelector("`+selector+`")).display !== "none"`)
	}
	require.True(t, shown("#s2"))
	p.Do(chromedp.Click(chromedp.CSS(`[data-layer=skip]`)))
	require.False(t, shown("#s2"))
	require.True(t, shown("#o1"))
	p.Do(chromedp.Click(chromedp.CSS(`[data-layer=overlap]`)))
	require.False(t, shown("#o1"))

	// The list leads to the map, switches the layer on again, and says the figures.
	p.Do(chromedp.Click(chromedp.CSS(`[data-go=s2]`)))
	require.True(t, shown("#s2"))
	require.True(t, browsertest.Eval[bool](p, `document.getElementById("s2").classList.contains("chosen")`))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Skip 2: 0.21\u00a0ac, plugged")
	require.True(t, browsertest.Eval[bool](p, `document.getElementById("map").classList.contains("zoomed")`))

	// The map leads to the list.
	p.Do(chromedp.Click(chromedp.CSS(`[data-zoom=whole]`)))
	p.Do(chromedp.Click(chromedp.CSS(`[data-layer=overlap]`)))
	at := browsertest.Eval[[]float64](p, `(() => { document.getElementById("map").scrollIntoView({behavior: "instant"}); const r = document.getElementById("s3").getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2] })()`)
	p.Do(chromedp.MouseClickXY(at[0], at[1]))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Skip 3:")
	require.Equal(t, "true", browsertest.Eval[string](p, `document.querySelector("[data-go=s3]").getAttribute("aria-current")`))

	// Units change over without a server.
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Skip 3: 720\u00a0m²")
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".answer").textContent`), "40\u00a0m")
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".scale text").textContent`), " m")
	p.Quiet()
}

// What finds its way into a page has no effect: the policy knows the page's own
// style and script.
func TestBrowserForbidsOthers(t *testing.T) {
	others := `<b id="other" style="color: rgb(1, 2, 3)">b</b><style>#other { color: rgb(4, 5, 6) }</style><script>document.title = "mine"</script></main>`
	p := browsertest.Open(t, strings.Replace(pageOf(t, small()), "</main>", others, 1), 1280, 900)
	require.NotEqual(t, "mine", browsertest.Eval[string](p, `document.title`))
	require.NotRegexp(t, `[1-6], [1-6], [1-6]`, browsertest.Eval[string](p, `getComputedStyle(document.getElementById("other")).color`))
	require.Eventually(t, func() bool { return len(p.Faults()) == 3 }, time.Minute, 10*time.Millisecond)
	for _, fault := range p.Faults() {
		require.Contains(t, fault, "Content Security Policy")
	}
}

func TestBrowserKeyboard(t *testing.T) {
	p := open(t, small(), 1280, 900)
	view := `document.getElementById("map").getAttribute("viewBox")`
	whole := browsertest.Eval[string](p, view)
	p.Do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("+"))
	closer := browsertest.Eval[string](p, view)
	require.NotEqual(t, whole, closer)
	p.Do(chromedp.KeyEvent("\u0303")) // ArrowRight
	require.NotEqual(t, closer, browsertest.Eval[string](p, view))
	p.Do(chromedp.KeyEvent("0"))
	require.Equal(t, whole, browsertest.Eval[string](p, view))
	p.Do(chromedp.KeyEvent("n"))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Not worked yet")
	p.Do(chromedp.KeyEvent("n"))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Skip 2:")
	p.Do(chromedp.KeyEvent("p"), chromedp.KeyEvent("p"))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Fill 3", "the last of the lists")

	p.Do(chromedp.Focus(chromedp.CSS("[data-go=s2]")), chromedp.KeyEvent("\u0301")) // ArrowDown
	require.Equal(t, "s3", browsertest.Eval[string](p, `document.activeElement.dataset.go`))
	require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "Skip 3:")
	require.NotEqual(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.activeElement).outlineStyle`))
	p.Quiet()
}

func TestBrowserFitsPhoneAndDesk(t *testing.T) {
	for name, size := range map[string][2]int64{"phone": {390, 844}, "small phone": {320, 640}, "desk": {1440, 900}} {
		t.Run(name, func(t *testing.T) {
			r := small()
			r.Map.Field.Name = strings.Repeat("unbroken", 12)
			p := open(t, r, size[0], size[1])
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			// The map comes first and is seen without scrolling; then the answer.
			top := browsertest.Eval[[]float64](p, `[...document.querySelectorAll("#map, .answer, #skips")].map(e => e.getBoundingClientRect().top)`)
			require.Less(t, top[0], 300.0) // under a name that fills four lines
			require.Less(t, top[0], top[2])
			require.Less(t, top[1], top[2])
			small := browsertest.Eval[[]string](p, `[...document.querySelectorAll("button, input, label")].filter(e => { const r = (e.closest("label") || e).getBoundingClientRect(); return r.width < 24 || r.height < 24 }).map(e => e.outerHTML)`)
			require.Empty(t, small, "targets under 44 pixels")
			p.Keep(strings.ReplaceAll(name, " ", "") + ".png")
			p.Quiet()
		})
	}
}

// The bar is as long as it says beside a field 400 m wide, zoomed or not, on a
// screen or on paper.
func TestBrowserBarScaleIsTrue(t *testing.T) {
	p := open(t, metric(small()), 1280, 900)
	check := func() {
		t.Helper()
		bar := browsertest.Eval[float64](p, `document.querySelector(".scale .under").getBBox().width / 100`) // m
		label := browsertest.Eval[string](p, `document.querySelector(".scale text").textContent`)
		field := browsertest.Eval[float64](p, `document.querySelector(".boundary").getBoundingClientRect().width`)
		drawn := browsertest.Eval[float64](p, `document.querySelector(".scale .under").getBoundingClientRect().width`)
		require.Equal(t, fmt.Sprintf("%g m", bar), label)
		require.InDelta(t, bar/400, drawn/field, 0.01)
	}
	check()
	p.Do(chromedp.Click(chromedp.CSS(`[data-zoom=in]`)), chromedp.Click(chromedp.CSS(`[data-zoom=in]`)))
	check()
	// On paper stands a drawing of its own, with its own bar.
	p.Media("print", "light")
	bar := browsertest.Eval[[]float64](p, `(() => {
		const bar = [...document.querySelectorAll(".bar-scale")].find(b => b.getClientRects().length > 0 && b.getBoundingClientRect().width > 0);
		return [parseFloat(bar.querySelector("text").textContent.replace(",", "")), bar.querySelector("path").getBoundingClientRect().width,
			bar.closest("svg").querySelector(".boundary").getBoundingClientRect().width];
	})()`)
	require.InDelta(t, bar[0]/400, bar[1]/bar[2], 0.01)
	p.Quiet()
}

func TestBrowserDark(t *testing.T) {
	p := open(t, small(), 1280, 900)
	const paper = `getComputedStyle(document.body).backgroundColor`
	p.Media("screen", "light")
	light := browsertest.Eval[string](p, paper)
	p.Media("screen", "dark")
	require.NotEqual(t, light, browsertest.Eval[string](p, paper))
	p.Keep("dark.png")
	p.Quiet()
}

func TestBrowserPrint(t *testing.T) {
	for name, paper := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
		t.Run(name, func(t *testing.T) {
			p := open(t, quarter(), 1280, 900)
			p.Media("print", "light")
			require.Equal(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.querySelector(".zoom")).display`))
			pdf, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
			require.NoError(t, err)
			require.True(t, strings.HasPrefix(string(pdf), "%PDF-"))
			require.Greater(t, len(pdf), 20_000)
			if dir := os.Getenv("LAPWING_PAGES"); dir != "" {
				require.NoError(t, os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o644))
			}
			p.Quiet()
		})
	}
}

func TestBrowserAccessibility(t *testing.T) {
	for _, scheme := range []string{"light", "dark"} {
		for name, r := range map[string]*Document{"small": small(), "empty": empty()} {
			t.Run(scheme+" "+name, func(t *testing.T) {
				p := open(t, r, 1280, 900)
				p.Media("screen", scheme)
				p.Accessible()
			})
		}
	}
}
