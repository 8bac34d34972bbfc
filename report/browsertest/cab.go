//go:build browser

package browsertest

import (
	"io"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// InTheCab checks a page that is read in the cab: it fits phones and a desk,
// prints, and keeps the rules of accessibility by day and by night.
func InTheCab(t *testing.T, name string, write func(io.Writer) error) {
	page := Written(t, write)
	for device, size := range map[string][2]int64{"phone": {390, 844}, "smallphone": {320, 640}, "desk": {1440, 900}} {
		t.Run("fits "+device, func(t *testing.T) {
			p := Open(t, page, size[0], size[1])
			require.LessOrEqual(t, Eval[int](p, `document.documentElement.scrollWidth`), int(size[0]))
			require.Empty(t, Eval[[]string](p, SmallTargets), "targets under 44 pixels")
			p.Keep(name + "-" + device + ".png")
			p.Quiet()
		})
	}
	t.Run("prints", func(t *testing.T) {
		p := Open(t, page, 720, 1000)
		p.Media("print", "light")
		p.Keep(name + "-print.png")
		pdf, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF())
		require.NoError(t, err)
		require.Greater(t, len(pdf), 20_000)
		p.Quiet()
	})
	for _, scheme := range []string{"light", "dark"} {
		t.Run("accessible "+scheme, func(t *testing.T) {
			p := Open(t, page, 390, 844)
			p.Media("screen", scheme)
			p.Accessible()
		})
	}
}
