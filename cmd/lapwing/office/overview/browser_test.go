//go:build browser

package overview_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/office/overview"
	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/report/browsertest"
)

// served serves the map of 1,500 fields to Max, who may see all of them, and counts what is asked.
func served(t *testing.T) string {
	t.Helper()
	crowd, b := atlas(t)
	booktest.Scatter(t, crowd, 1500)
	pages := overview.New(b, overview.Options{FieldPage: func(job string, part int) string { return "#page-of-" + job[:6] }, Back: "#back"})
	var mu sync.Mutex
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		defer mu.Unlock()
		pages.ServeHTTP(w, r.WithContext(book.As(r.Context(), book.Asks{Person: crowd.Max})))
	}))
	t.Cleanup(server.Close)
	return server.URL + "/map/"
}

func count(p *browsertest.Page, selector string) int {
	return browsertest.Eval[int](p, `document.querySelectorAll("`+selector+`").length`)
}

// until waits until an expression is true.
func until(t *testing.T, p *browsertest.Page, expression string) {
	t.Helper()
	require.True(t, p.Until(20*time.Second, expression), expression)
}

const ready = `document.getElementById("status").textContent.includes("in view")`

// comeNear looks into the square that is chosen, and into the first of each smaller kind,
// until fields are drawn.
func comeNear(t *testing.T, p *browsertest.Page) {
	t.Helper()
	for range 6 {
		at := browsertest.Eval[string](p, `location.hash`)
		p.Do(chromedp.KeyEvent("\r"))
		until(t, p, `location.hash !== "`+at+`"`)
		if count(p, "#map path.f") > 0 {
			return
		}
		p.Do(chromedp.KeyEvent("n"))
	}
	require.Fail(t, "squares still")
}

func TestBrowserMap(t *testing.T) {
	address := served(t)
	for name, size := range map[string][2]int64{"phone": {390, 844}, "small phone": {320, 640}, "desk": {1280, 900}} {
		t.Run(name, func(t *testing.T) {
			p := browsertest.Visit(t, address, size[0], size[1])
			until(t, p, ready)
			require.Positive(t, count(p, "#map rect.s"))
			require.Contains(t, browsertest.Eval[string](p, browsertest.Status), "1,500 fields in the squares in view: 375 with skips, 375 with laps, 375 not finished.")
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			require.Empty(t, browsertest.Eval[[]string](p, `[...document.querySelectorAll("button, a, select, input, summary")].filter(e => { const r = e.getBoundingClientRect(); return e.checkVisibility() && (r.height < 43.5 || r.width < 43.5) }).map(e => e.outerHTML)`), "targets under 44 pixels")
			p.Keep("map-" + strings.ReplaceAll(name, " ", "") + ".png")

			// By keyboard alone: a square is chosen, looked into, and its fields gone through.
			p.Do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("n"))
			require.Equal(t, 1, count(p, "#map .chosen"))
			require.Contains(t, browsertest.Eval[string](p, `document.getElementById("chosen").textContent`), "field")
			comeNear(t, p)
			require.Zero(t, count(p, "#map rect.s"))
			require.Contains(t, browsertest.Eval[string](p, `document.getElementById("chosen").textContent`), "Choose a field")
			p.Keep("map-fields-" + strings.ReplaceAll(name, " ", "") + ".png")
			p.Do(chromedp.KeyEvent("n"))
			until(t, p, `document.querySelector("#chosen h3") !== null`)
			require.Contains(t, browsertest.Eval[string](p, browsertest.Status), ": skips")
			require.Contains(t, browsertest.Eval[string](p, `document.querySelector("#chosen").textContent`), "ac")
			p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
			require.Contains(t, browsertest.Eval[string](p, `document.querySelector("#chosen").textContent`), "ha")
			require.Contains(t, browsertest.Eval[string](p, `document.querySelector("#chosen a").getAttribute("href")`), "#page-of-")
			browsertest.Eval[bool](p, `[...document.querySelectorAll("#chosen button")].pop().click() === undefined`)
			until(t, p, `document.querySelectorAll("#map path.patch").length > 0`)
			require.Contains(t, browsertest.Eval[string](p, browsertest.Status), ": skips", "what is chosen stays read out")
			p.Keep("map-near-" + strings.ReplaceAll(name, " ", "") + ".png")

			// The address leads back here, and 0 shows all of it.
			at := browsertest.Eval[string](p, `location.hash`)
			require.Contains(t, at, "season=2027")
			require.Contains(t, at, "at=")
			p.Do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("0"))
			until(t, p, `document.querySelectorAll("#map rect.s").length > 0`)
			p.Quiet()
		})
	}
}

// Filters change what is shown, and the address remembers them.
func TestBrowserMapSieve(t *testing.T) {
	address := served(t)
	p := browsertest.Visit(t, address, 1280, 900)
	until(t, p, ready)
	set := func(name, value string) {
		browsertest.Eval[bool](p, `(() => { const e = document.querySelector("[name=`+name+`]"); e.value = "`+value+`"; e.dispatchEvent(new Event("input", { bubbles: true })); return true })()`)
	}
	says := func(text string) {
		t.Helper()
		until(t, p, browsertest.Status+`.startsWith("`+text+`")`)
	}
	p.Do(chromedp.Click(chromedp.CSS("details summary")))
	set("crop", "oats")
	says("300 fields in")
	p.Keep("map-crop.png")
	o := browsertest.Visit(t, address+browsertest.Eval[string](p, `location.hash`), 1280, 900)
	until(t, o, browsertest.Status+`.startsWith("300 fields in")`)
	require.Equal(t, "oats", browsertest.Eval[string](o, `document.querySelector("[name=crop]").value`))
	set("crop", "")
	set("machine", "drill 7")
	says("75 fields in view")
	set("named", "field 1")
	says("30 fields in view")
	set("first", "2027-12-01")
	says("No fields in view.")
	set("first", "")
	set("machine", "")
	set("named", "")
	says("1,500 fields")
	set("season", "2026")
	says("2 fields in view")
	require.Equal(t, 2, count(p, "#map path.f"))
	q := browsertest.Visit(t, address+browsertest.Eval[string](p, `location.hash`), 1280, 900)
	until(t, q, ready)
	require.Equal(t, "2026", browsertest.Eval[string](q, `document.querySelector("[name=season]").value`))
	require.Equal(t, 2, count(q, "#map path.f"))
	p.Quiet()
}

// With the mouse and with two fingers the map moves; a click that ends a drag chooses nothing.
func TestBrowserMapByHand(t *testing.T) {
	p := browsertest.Visit(t, served(t), 1280, 900)
	until(t, p, ready)
	before := browsertest.Eval[string](p, `location.hash`)
	browsertest.Eval[bool](p, `(() => {
		const m = document.getElementById("map"), r = m.getBoundingClientRect();
		const send = (type, id, x, y) => m.dispatchEvent(new PointerEvent(type, { pointerId: id, clientX: r.left + x, clientY: r.top + y, bubbles: true }));
		m.setPointerCapture = () => {}; m.hasPointerCapture = () => true;
		send("pointerdown", 1, 300, 200); send("pointermove", 1, 240, 200); send("pointermove", 1, 200, 200); send("pointerup", 1, 200, 200);
		m.querySelector("rect.s").dispatchEvent(new MouseEvent("click", { bubbles: true }));
		return true;
	})()`)
	until(t, p, `location.hash !== "`+before+`"`)
	require.Zero(t, count(p, "#map .chosen"))
	scale := `Number(location.hash.split("%2C").pop())`
	was := browsertest.Eval[float64](p, scale)
	browsertest.Eval[bool](p, `(() => {
		const m = document.getElementById("map"), r = m.getBoundingClientRect();
		const send = (type, id, x, y) => m.dispatchEvent(new PointerEvent(type, { pointerId: id, clientX: r.left + x, clientY: r.top + y, bubbles: true }));
		send("pointerdown", 1, 300, 200); send("pointerdown", 2, 400, 200); send("pointermove", 2, 500, 200); send("pointerup", 1, 300, 200); send("pointerup", 2, 500, 200);
		return true;
	})()`)
	until(t, p, scale+` > 1.9 * `+strings.TrimSpace(browsertest.Eval[string](p, `String(`+scale+`)`)))
	require.InDelta(t, 2*was, browsertest.Eval[float64](p, scale), 0.05*was)
	p.Quiet()
}

func TestBrowserMapAccessibility(t *testing.T) {
	address := served(t)
	for _, scheme := range []string{"light", "dark"} {
		p := browsertest.Visit(t, address, 1280, 900)
		p.Media("screen", scheme)
		until(t, p, ready)
		p.Keep("map-" + scheme + ".png")
		p.Accessible()
		p.Do(chromedp.Focus(chromedp.CSS("#map")), chromedp.KeyEvent("n"))
		comeNear(t, p)
		p.Do(chromedp.KeyEvent("n"))
		until(t, p, `document.querySelector("#chosen h3") !== null`)
		p.Accessible()
	}
}
