//go:build browser

package field

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/report/browsertest"
)

// crowded is the small field with all that can make a page run over: 200 skips, long
// names, many products and many warnings.
func crowded() *Document {
	d := small()
	d.Map.Field.Name = strings.Repeat("the long field on the upper terrace ", 6)
	for i := range d.Map.Machines {
		d.Map.Machines[i].Name = strings.Repeat("a drill with a long name ", 4) + fmt.Sprint(i)
	}
	for first := d.Map.Skips[1]; len(d.Map.Skips) < 201; {
		d.Map.Skips = append(d.Map.Skips, first)
	}
	for i := range d.Accounts {
		d.Accounts[i].Product.Name = strings.Repeat("a blend of many things ", 4)
	}
	for i := 0; len(d.Accounts) < 12; i++ {
		d.Accounts = append(d.Accounts, d.Accounts[i])
	}
	for i := range 40 {
		d.Warnings = append(d.Warnings, field.Warning{File: "day.csv", Text: fmt.Sprint("odd line ", i)})
	}
	return d
}

// A field is one printed page, letter and A4, whatever is on it, and nothing on it is
// cut off: of 200 skips the ten worst, then a count.
func TestBrowserPrintsOnOnePage(t *testing.T) {
	for name, of := range map[string]func() *Document{"small": small, "crowded": crowded, "quarter": quarter, "empty": empty} {
		t.Run(name, func(t *testing.T) {
			p := open(t, of(), 1280, 900)
			for paper := range browsertest.Papers {
				pages, size := p.Printed(paper, "leaf-"+name)
				require.Equal(t, 1, pages, paper)
				require.Less(t, size, 500_000, paper)
			}
			p.Do(chromedp.EmulateViewport(711, 945)) // letter between its margins
			p.Media("print", "light")
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.querySelector(".leaf").scrollHeight - document.querySelector(".leaf").clientHeight`), 1, "cut off below")
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), 711)
			require.Greater(t, browsertest.Eval[float64](p, `document.querySelector(".leaf-map").getBoundingClientRect().height`), 180.0)
			require.Equal(t, 1, browsertest.Eval[int](p, `[...document.querySelector("main").children].filter(e => e.checkVisibility()).length`))
			if name == "crowded" {
				require.Equal(t, 10, browsertest.Eval[int](p, `document.querySelectorAll(".leaf-skips tbody tr").length`))
				require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".leaf-skips").innerText`), "smaller skips more")
			}
			p.Keep("leaf-" + name + ".png")
			p.Quiet()
		})
	}
}

// There is a second way to print: the map and every list, by a link that works without a
// script too.
func TestBrowserPrintsAll(t *testing.T) {
	p := open(t, small(), 390, 844)
	browsertest.Eval[bool](p, `window.print = () => { window.asked = location.hash }; true`)
	link := `a[data-print]`
	require.GreaterOrEqual(t, browsertest.Eval[float64](p, `document.querySelector("`+link+`").getBoundingClientRect().height`), 43.5)
	p.Do(chromedp.Focus(chromedp.CSS(link)), chromedp.KeyEvent("\r"))
	require.Eventually(t, func() bool { return browsertest.Eval[bool](p, `window.asked === "#all"`) }, 5*time.Second, 20*time.Millisecond)
	p.Media("print", "light")
	shown := browsertest.Eval[string](p, `document.querySelector("main").innerText`)
	for _, head := range []string{"Skips", "Overlaps", "Headland", "Products", "Machines", "Passes", "Cautions"} {
		require.Contains(t, strings.ToLower(shown), strings.ToLower(head))
	}
	require.False(t, browsertest.Eval[bool](p, `document.querySelector("article.leaf").checkVisibility()`))
	for paper := range browsertest.Papers {
		browsertest.Eval[bool](p, `location.hash = "#all"; true`)
		pages, _ := p.Printed(paper, "all")
		require.Greater(t, pages, 2, paper)
		pages, _ = p.Printed(paper, "one")
		require.Equal(t, 1, pages, "and then it prints as one page again")
	}
	p.Quiet()
}
