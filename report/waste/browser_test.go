//go:build browser

package waste

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

func openWaste(t *testing.T, w *Document, width, height int64) *browsertest.Page {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, w.Page(&b))
	return browsertest.Open(t, b.String(), width, height)
}

// Figures sort as numbers, not as letters; what is not known comes last.
func TestBrowserWasteSorts(t *testing.T) {
	p := openWaste(t, twoFields(), 1280, 900)
	column := browsertest.Eval[int](p, `[...document.querySelectorAll("#by-field thead th")].findIndex(h => h.textContent.startsWith("Cost"))`)
	cost := fmt.Sprintf("#by-field thead th:nth-child(%d) button", column+1)
	p.Do(chromedp.Click(chromedp.CSS(cost)))
	cells := fmt.Sprint(column)
	require.Equal(t, []string{"29.36 USD", "24.97 USD", "", "no price"}, browsertest.CellsOf(p, "by-field", cells))
	p.Do(chromedp.Click(chromedp.CSS(cost)))
	require.Equal(t, []string{"", "no price", "24.97 USD", "29.36 USD"}, browsertest.CellsOf(p, "by-field", cells))
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".answer").textContent`), "\u00a0kg")
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector("#matrix-0-h").textContent`), "N, kg")
	p.Quiet()
}

var screens = map[string][2]int64{"phone": {360, 740}, "small phone": {320, 640}, "landscape": {844, 390}, "desk": {1280, 900}}

func TestBrowserWasteFits(t *testing.T) {
	for name, size := range screens {
		t.Run(name, func(t *testing.T) {
			w := twoFields()
			w.Fields[0].Name = strings.Repeat("unbroken", 9)
			p := openWaste(t, w, size[0], size[1])
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			require.Empty(t, browsertest.Eval[[]string](p, browsertest.SmallTargets), "targets under 44 pixels")
			p.Keep("waste-" + strings.ReplaceAll(name, " ", "") + ".png")
			p.Quiet()
		})
	}
}

func TestBrowserWasteAccessibility(t *testing.T) {
	for _, scheme := range []string{"light", "dark"} {
		t.Run(scheme, func(t *testing.T) {
			p := openWaste(t, twoFields(), 1280, 900)
			p.Media("screen", scheme)
			p.Keep("waste-" + scheme + ".png")
			p.Accessible()
		})
	}
}

// manyFields are more fields, years, products and machines than two pages hold, with
// names longer than a line.
func manyFields() *Document {
	w := &Document{Run: "many"}
	for i := range 40 {
		f := twoFields().Fields[0]
		f.Name = fmt.Sprintf("%s %d", strings.Repeat("north quarter by the long road ", 4), i)
		f.Year, f.Runs = 2020+i%5, 200
		f.Days = [2]string{fmt.Sprintf("%d-04-01", f.Year), fmt.Sprintf("%d-05-20", f.Year)}
		f.Machines = append(f.Machines, fmt.Sprintf("%s %d", strings.Repeat("drill with a long name ", 5), i))
		f.Receivers = append(f.Receivers, Receiver{strings.Repeat("drill with a long name ", 5) + fmt.Sprint(i), 0.3, 0.2})
		for k := range 8 {
			more := f.Tallies[0]
			more.Product = fmt.Sprintf("%s %d", strings.Repeat("granular product ", 5), k)
			f.Tallies = append(f.Tallies, more)
		}
		w.Fields = append(w.Fields, f, Field{Name: f.Name + ", bare"})
	}
	return w
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// The report for a client is two pages of letter and of A4, whatever is in it.
func TestBrowserClientIsTwoPages(t *testing.T) {
	one := twoFields()
	one.Fields = one.Fields[:1]
	for name, w := range map[string]*Document{"one": one, "two": twoFields(), "many": manyFields(), "bare": {Fields: []Field{{Name: "Bare"}}}} {
		page := browsertest.Written(t, w.Client)
		for paper, size := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
			t.Run(name+" "+paper, func(t *testing.T) {
				p := browsertest.Open(t, page, 1280, 900)
				pdf, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size)))
				require.NoError(t, err)
				if dir := os.Getenv("LAPWING_PAGES"); dir != "" {
					require.NoError(t, os.WriteFile(filepath.Join(dir, "client-"+name+"-"+paper+".pdf"), pdf, 0o644))
				}
				require.Len(t, pdfPage.FindAll(pdf, -1), 2)
				require.Less(t, len(pdf), 500_000)
				p.Quiet()
			})
		}
	}
}

func TestBrowserClientFits(t *testing.T) {
	for name, w := range map[string]*Document{"two": twoFields(), "many": manyFields()} {
		t.Run("print "+name, func(t *testing.T) {
			p := browsertest.Open(t, browsertest.Written(t, w.Client), 688, 1016) // A4 within its margins
			p.Media("print", "light")
			require.Equal(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.querySelector("main > .notes")).display`))
			p.Keep("client-print-" + name + ".png")
		})
	}
	for name, size := range screens {
		t.Run(name, func(t *testing.T) {
			p := browsertest.Open(t, browsertest.Written(t, twoFields().Client), size[0], size[1])
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			require.Empty(t, browsertest.Eval[[]string](p, browsertest.SmallTargets), "targets under 44 pixels")
			p.Keep("client-" + strings.ReplaceAll(name, " ", "") + ".png")
			p.Quiet()
		})
	}
	for _, scheme := range []string{"light", "dark"} {
		t.Run(scheme, func(t *testing.T) {
			p := browsertest.Open(t, browsertest.Written(t, manyFields().Client), 1280, 900)
			p.Media("screen", scheme)
			p.Keep("client-" + scheme + ".png")
			p.Accessible()
		})
	}
}
