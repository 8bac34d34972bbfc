//go:build browser

package season

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess/assesstest"
	"lapwing/report/browsertest"
	"lapwing/report/field"
)

func openBook(t *testing.T, width, height int64) *browsertest.Page {
	t.Helper()
	s, _ := book(t)
	return browsertest.Open(t, bookPage(t, s), width, height)
}

// Every head of every table sorts it, one way and the other.
func TestBrowserSeasonSorts(t *testing.T) {
	p := openBook(t, 1280, 900)
	require.Equal(t, []string{"1", "2"}, browsertest.CellsOf(p, "fields", "0"))
	area := `#fields thead th:nth-child(4)`
	p.Do(chromedp.Click(chromedp.CSS(area + " button")))
	require.Equal(t, "descending", browsertest.Eval[string](p, `document.querySelector("`+area+`").getAttribute("aria-sort")`))
	first := browsertest.CellsOf(p, "fields", "3")
	p.Do(chromedp.Click(chromedp.CSS(area + " button")))
	require.Equal(t, "ascending", browsertest.Eval[string](p, `document.querySelector("`+area+`").getAttribute("aria-sort")`))
	second := browsertest.CellsOf(p, "fields", "3")
	require.NotEqual(t, first, second)
	slices.Reverse(second)
	require.Equal(t, first, second)

	// Dates sort by the day, not by the letters; no work comes last.
	p.Do(chromedp.Click(chromedp.CSS(`#fields thead th:nth-child(3) button`)))
	require.Equal(t, []string{"3 Sep 2026", "not worked"}, browsertest.CellsOf(p, "fields", "2"))
	// Names sort from A on.
	p.Do(chromedp.Click(chromedp.CSS(`#operators thead th:nth-child(1) button`)))
	require.Equal(t, []string{"Ida Falk", "not named"}, browsertest.CellsOf(p, "operators", "0"))
	p.Do(chromedp.Click(chromedp.CSS(`#operators thead th:nth-child(1) button`)))
	require.Equal(t, []string{"not named", "Ida Falk"}, browsertest.CellsOf(p, "operators", "0"))

	for _, table := range []string{"fields", "machines", "operators"} {
		heads := browsertest.Eval[int](p, `document.querySelectorAll("#`+table+` thead th").length`)
		require.Equal(t, heads, browsertest.Eval[int](p, `document.querySelectorAll("#`+table+` thead th > button").length`), table)
		sorted := browsertest.Eval[bool](p, `[...document.querySelectorAll("#`+table+` thead th > button")].every(b => { b.click(); return b.closest("th").hasAttribute("aria-sort") })`)
		require.True(t, sorted, table)
		require.Equal(t, 1, browsertest.Eval[int](p, `document.querySelectorAll("#`+table+` [aria-sort]").length`), "one head says the order")
	}
	p.Quiet()
}

func TestBrowserSeasonUnits(t *testing.T) {
	p := openBook(t, 390, 844)
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".answer").textContent`), "\u00a0ac")
	head := `document.querySelector("#fields thead th:nth-child(4)").textContent`
	require.Equal(t, "Area, acres", browsertest.Eval[string](p, head))
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Equal(t, "Area, ha", browsertest.Eval[string](p, head))
	require.NotContains(t, browsertest.Eval[string](p, `document.querySelector("main").innerText`), "\u00a0ac")
	require.Equal(t, "true", browsertest.Eval[string](p, `document.querySelector("[data-set=metric]").getAttribute("aria-pressed")`))
	p.Quiet()
}

// By keyboard alone: Tab comes to every control in the order of the page, each
// is seen to have the focus, and Enter works it.
func TestBrowserSeasonKeyboard(t *testing.T) {
	p := openBook(t, 1280, 900)
	controls := browsertest.Eval[int](p, `[...document.querySelectorAll("a[href], button, [tabindex='0']")].filter(e => e.checkVisibility()).length`)
	seen := map[string]bool{}
	sorted := false
	for range controls {
		p.Do(chromedp.KeyEvent("\t"))
		what := browsertest.Eval[string](p, `(() => { const e = document.activeElement; e.dataset.seen = e.dataset.seen || Math.random(); return e.dataset.seen + "|" + e.tagName + "|" + getComputedStyle(e).outlineStyle + "|" + e.textContent })()`)
		parts := strings.SplitN(what, "|", 4)
		require.NotEqual(t, "BODY", parts[1], "the focus left the page after %d controls", len(seen))
		require.NotEqual(t, "none", parts[2], "no outline on %s", what)
		seen[parts[0]] = true
		if parts[3] == "Field" && !sorted {
			p.Do(chromedp.KeyEvent("\r"))
			require.Equal(t, "ascending", browsertest.Eval[string](p, `document.activeElement.closest("th").getAttribute("aria-sort")`))
			sorted = true
		}
	}
	require.Len(t, seen, controls)
	require.True(t, sorted)

	browsertest.Eval[bool](p, `document.addEventListener("click", e => { e.preventDefault(); window.asked = e.target.getAttribute("href") }) === undefined`)
	p.Do(chromedp.Focus(chromedp.CSS(`.stamps a`)), chromedp.KeyEvent("\r"))
	require.Equal(t, "fields/small/report.html", browsertest.Eval[string](p, `window.asked`))
}

// sizes are of a phone held upright and across, of a small one, and of a desk.
var sizes = map[string][2]int64{"phone": {360, 740}, "phone across": {844, 390}, "small phone": {320, 640}, "desk": {1280, 900}}

func TestBrowserSeasonFitsPhoneAndDesk(t *testing.T) {
	for name, size := range sizes {
		t.Run(name, func(t *testing.T) {
			s, _ := book(t)
			for _, entry := range s.Entries {
				entry.Field.Name = strings.Repeat("unbroken", 9)
			}
			p := browsertest.Open(t, bookPage(t, s), size[0], size[1])
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			require.Less(t, browsertest.Eval[float64](p, `document.querySelector(".season.last .answer").getBoundingClientRect().top`), 240.0)
			small := browsertest.Eval[[]string](p, `[...document.querySelectorAll("button, a")].filter(e => { const r = e.getBoundingClientRect(); return e.checkVisibility() && (r.height < 43.5 || r.width < 43.5) }).map(e => e.outerHTML)`)
			require.Empty(t, small, "targets under 44 pixels")
			off := browsertest.Eval[[]string](p, `[...document.querySelectorAll("tbody td, tbody th, .bars li > *, .stamps dd")].filter(e => e.checkVisibility() && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML)`)
			over := browsertest.Eval[[]string](p, `[...document.querySelectorAll("td.name a")].filter(e => e.checkVisibility() && e.getBoundingClientRect().right > e.closest("td").getBoundingClientRect().right + 1).map(e => e.outerHTML)`)
			require.Empty(t, over, "names over their neighbours")
			if size[0] <= 640 || size[0] >= 1280 {
				require.Empty(t, off, "answers off the screen")
			}
			p.Keep("season-" + strings.ReplaceAll(name, " ", "") + ".png")
			p.Quiet()
		})
	}
}

// One season is shown at a time; the switch changes over without a script, and the
// address says which it is.
func TestBrowserSeasonSwitch(t *testing.T) {
	p := openBook(t, 360, 740)
	shown := `[...document.querySelectorAll(".season")].filter(e => e.checkVisibility()).map(e => e.id).join()`
	require.Equal(t, "season-2026", browsertest.Eval[string](p, shown))
	p.Do(chromedp.Click(chromedp.CSS(`#season-2026 .years a[href="#season-2025"]`)))
	require.Equal(t, "season-2025", browsertest.Eval[string](p, shown))
	require.Equal(t, "2025", browsertest.Eval[string](p, `[...document.querySelectorAll(".years a[aria-current]")].filter(e => e.checkVisibility()).map(e => e.textContent).join()`))
	p.Keep("season-2025.png")
	p.Do(chromedp.Click(chromedp.CSS(`#season-2025 .years a[href="#season-2026"]`)))
	require.Equal(t, "season-2026", browsertest.Eval[string](p, shown))
	p.Quiet()
}

// On a phone a table is sorted by the line of heads over its blocks.
func TestBrowserSeasonSortsOnAPhone(t *testing.T) {
	p := openBook(t, 360, 740)
	p.Do(chromedp.Click(chromedp.CSS(`#fields thead th:nth-child(2) button`)))
	require.Equal(t, "ascending", browsertest.Eval[string](p, `document.querySelector("#fields thead th:nth-child(2)").getAttribute("aria-sort")`))
	require.Equal(t, []string{"2", "1"}, browsertest.CellsOf(p, "fields", "0"), "Dunlin before the other")
	p.Quiet()
}

// The bars are as long as the page lets them be, and no name is cut.
func TestBrowserSeasonBarsUseTheWidth(t *testing.T) {
	for _, wide := range []int64{360, 844, 1280} {
		p := openBook(t, wide, 900)
		bar := browsertest.Eval[float64](p, `document.querySelector(".bars rect").getBoundingClientRect().width`)
		require.Greater(t, bar, 0.5*float64(min(wide, 1248)), "at %d", wide)
		require.Equal(t, "visible", browsertest.Eval[string](p, `getComputedStyle(document.querySelector(".bars span")).overflow`))
	}
}

func TestBrowserSeasonDarkAndPrint(t *testing.T) {
	p := openBook(t, 1280, 900)
	p.Media("screen", "dark")
	p.Keep("season-dark.png")
	p.Media("print", "light")
	require.Equal(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.querySelector(".units")).display`))
	for paper := range browsertest.Papers {
		pages, size := p.Printed(paper, "season")
		require.Positive(t, pages)
		require.Less(t, size, 500_000)
	}
	p.Quiet()
}

func TestBrowserSeasonAccessibility(t *testing.T) {
	for _, scheme := range []string{"light", "dark"} {
		t.Run(scheme, func(t *testing.T) {
			p := openBook(t, 1280, 900)
			p.Media("screen", scheme)
			p.Accessible()
		})
	}
}

// A field's page leads back to the book that holds it, and names no book where
// no season wrote it.
func TestBrowserEntryLeadsBack(t *testing.T) {
	s, _ := book(t)
	r := &field.Document{Assessment: assesstest.Small()}
	r.Book = "season.html"
	p := browsertest.Open(t, browsertest.Written(t, r.Page), 390, 844)
	beside := filepath.Dir(strings.TrimPrefix(browsertest.Eval[string](p, `location.href`), "file://"))
	require.NoError(t, os.WriteFile(filepath.Join(beside, r.Book), []byte(bookPage(t, s)), 0o644))
	require.GreaterOrEqual(t, browsertest.Eval[float64](p, `document.querySelector("header nav a").getBoundingClientRect().height`), 24.0)
	require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), 390)
	p.Do(chromedp.Click(chromedp.CSS("header nav a")), chromedp.WaitReady(chromedp.CSS("#fields")))
	p.Quiet()

	require.Zero(t, browsertest.Eval[int](browsertest.Open(t, browsertest.Written(t, (&field.Document{Assessment: assesstest.Small()}).Page), 390, 844), `document.querySelectorAll("header nav").length`))
}

func TestBrowserEntryAccessibility(t *testing.T) {
	r := &field.Document{Assessment: assesstest.Small()}
	r.Book = "../../season.html"
	for _, scheme := range []string{"light", "dark"} {
		p := browsertest.Open(t, browsertest.Written(t, r.Page), 390, 844)
		p.Media("screen", scheme)
		p.Accessible()
	}
}

// On paper the season is a cover and a page for each of its fields; the address of a
// field is that page alone, of an earlier season too.
func TestBrowserSeasonPrints(t *testing.T) {
	s, _ := book(t)
	var b bytes.Buffer
	require.NoError(t, s.Print(&b))
	for name, c := range map[string]struct {
		at    string
		pages int
		says  string
	}{
		"season":      {"", 3, "Season book"},
		"a field":     {"#field-1", 1, "1. Gannet"},
		"a year past": {"#field-3", 1, "Season 2025."},
	} {
		t.Run(name, func(t *testing.T) {
			p := browsertest.Open(t, b.String(), 1280, 900)
			if c.at != "" {
				browsertest.Eval[string](p, `location.hash = "`+c.at+`"`)
			}
			for paper := range browsertest.Papers {
				pages, size := p.Printed(paper, "print-"+strings.ReplaceAll(name, " ", ""))
				require.Equal(t, c.pages, pages, paper)
				require.Less(t, size, 500_000)
			}
			require.Contains(t, browsertest.Eval[string](p, `document.querySelector("main").innerText`), c.says)
			p.Accessible()
			p.Do(chromedp.EmulateViewport(711, 945))
			p.Media("print", "light")
			require.LessOrEqual(t, browsertest.Eval[int](p, `Math.max(...[...document.querySelectorAll(".leaf")].filter(e => e.checkVisibility()).map(e => e.scrollHeight - e.clientHeight))`), 1, "cut off below")
			p.Keep("print-" + strings.ReplaceAll(name, " ", "") + ".png")
			p.Quiet()
		})
	}
}

// The cover lists the fields that fit it, and counts the others.
func TestBrowserSeasonCoverIsOnePage(t *testing.T) {
	s, _ := book(t)
	for len(s.Entries) < 60 {
		another := *s.Entries[0]
		s.Entries = append(s.Entries, &another)
	}
	for _, entry := range s.Entries {
		entry.Field.Name = strings.Repeat("unbroken", 9)
	}
	s.Order()
	var b bytes.Buffer
	require.NoError(t, s.Print(&b))
	p := browsertest.Open(t, b.String(), 1280, 900)
	for paper := range browsertest.Papers {
		pages, _ := p.Printed(paper, "cover")
		require.Equal(t, 60, pages, paper) // 59 fields of this season, and the cover
	}
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".cover").innerText`), "35 more fields follow")
	p.Do(chromedp.EmulateViewport(711, 945))
	p.Media("print", "light")
	require.LessOrEqual(t, browsertest.Eval[int](p, `document.querySelector(".cover").scrollHeight - document.querySelector(".cover").clientHeight`), 1)
	p.Keep("print-cover.png")
}

// From each field one comes to its page, its mend plan and its printed page.
func TestBrowserSeasonLinks(t *testing.T) {
	p := openBook(t, 360, 740)
	require.Equal(t, []string{"fields/small/report.html", "fields/small/mend.html", "season-print.html#field-1"},
		browsertest.Eval[[]string](p, `[...document.querySelector(".stamps:not(.large) li").querySelectorAll(".links a")].map(a => a.getAttribute("href"))`))
}

// The page of who learns to drive the line: on each screen, dark, by keyboard, and on
// paper.
func TestBrowserLearnPage(t *testing.T) {
	page := operatorPages(t, lapBook(t))["operators/ada-holt.html"]
	for name, size := range sizes {
		t.Run(name, func(t *testing.T) {
			p := browsertest.Open(t, page, size[0], size[1])
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			require.Less(t, browsertest.Eval[float64](p, `document.querySelector(".answer").getBoundingClientRect().top`), 240.0)
			small := browsertest.Eval[[]string](p, `[...document.querySelectorAll("button, a, summary")].filter(e => { const r = e.getBoundingClientRect(); return e.checkVisibility() && (r.height < 43.5 || r.width < 43.5) }).map(e => e.outerHTML)`)
			require.Empty(t, small, "targets under 44 pixels")
			off := browsertest.Eval[[]string](p, `[...document.querySelectorAll("tbody td, tbody th, .chart svg")].filter(e => e.checkVisibility() && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML)`)
			if size[0] <= 640 || size[0] >= 1280 {
				require.Empty(t, off, "figures off the screen")
			}
			p.Keep("learn-" + strings.ReplaceAll(name, " ", "") + ".png")
			p.Quiet()
		})
	}
	for _, scheme := range []string{"light", "dark"} {
		p := browsertest.Open(t, page, 390, 844)
		p.Media("screen", scheme)
		p.Keep("learn-" + scheme + ".png")
		p.Accessible()
	}
	p := browsertest.Open(t, page, 1280, 900)
	for paper := range browsertest.Papers {
		pages, size := p.Printed(paper, "learn")
		require.LessOrEqual(t, pages, 2)
		require.Less(t, size, 500_000)
	}
	p.Quiet()
}

// The units change the charts and the tables, and a day's passes open by keyboard; both
// charts have a dot for each day and each pass, and the aim between them.
func TestBrowserLearnPageWorks(t *testing.T) {
	p := browsertest.Open(t, operatorPages(t, lapBook(t))["operators/ada-holt.html"], 390, 844)
	require.Equal(t, []string{"2", "3"}, browsertest.Eval[[]string](p, `[...document.querySelectorAll(".chart .mean")].map(e => String(e.getAttribute("d").split("M").length - 1))`))
	require.Equal(t, 2, browsertest.Eval[int](p, `document.querySelectorAll(".chart .aim").length`))
	require.Equal(t, 1, browsertest.Eval[int](p, `document.querySelectorAll("details.day[open]").length`), "the last day is open")
	p.Do(chromedp.Focus(chromedp.CSS(`details.day:not([open]) summary`)), chromedp.KeyEvent("\r"))
	require.Equal(t, 2, browsertest.Eval[int](p, `document.querySelectorAll("details.day[open]").length`))
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	text := browsertest.Eval[string](p, `document.querySelector("main").innerText`)
	require.Contains(t, text, "16.9\u00a0cm")
	require.NotContains(t, text, "\u00a0in")
	p.Quiet()
}
