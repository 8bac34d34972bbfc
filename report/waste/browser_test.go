//go:build browser

package waste

import (
	"bytes"
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

// Costs sort as money, not as letters; what is not known comes last.
func TestBrowserWasteSorts(t *testing.T) {
	p := openWaste(t, twoFields(), 1280, 900)
	cost := `#by-field thead th:nth-child(6) button`
	p.Do(chromedp.Click(chromedp.CSS(cost)))
	require.Equal(t, []string{"27.96 USD", "23.78 USD", "no price", "no price"}, browsertest.CellsOf(p, "by-field", "5"))
	p.Do(chromedp.Click(chromedp.CSS(cost)))
	require.Equal(t, []string{"no price", "no price", "23.78 USD", "27.96 USD"}, browsertest.CellsOf(p, "by-field", "5"))
	p.Do(chromedp.Click(chromedp.CSS(`[data-set=metric]`)))
	require.Contains(t, browsertest.Eval[string](p, `document.querySelector(".answer").textContent`), "\u00a0kg")
	p.Quiet()
}

func TestBrowserWasteFitsPhoneAndDesk(t *testing.T) {
	for name, size := range map[string][2]int64{"phone": {390, 844}, "small phone": {320, 640}, "desk": {1440, 900}} {
		t.Run(name, func(t *testing.T) {
			w := twoFields()
			w.Fields[0].Name = strings.Repeat("unbroken", 9)
			p := openWaste(t, w, size[0], size[1])
			require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
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
			p.Accessible()
		})
	}
}
