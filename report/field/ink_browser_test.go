//go:build browser

package field

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"math"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/geo/plane"
	"lapwing/report/browsertest"
)

// A skip of 2 ft is the strongest ink on the map of a whole field: it stands out from
// the paper at least twice as much as laps of 5 in, in colour, in grey and to each kind
// of colour blindness. Contrast is that of WCAG 2.2: (lighter + 0.05) / (darker + 0.05)
// of relative luminance; what is compared is how far it is from 1.
func TestBrowserSkipIsTheStrongestInk(t *testing.T) {
	lanes := "0-390:"
	at := 0.0
	for i := range 32 {
		lanes += fmt.Sprintf(" %.3f-%.3f", at, at+12.2)
		at += 12.2 - 0.127 // a lap of 5 in
		if i == 15 {
			at += 0.127 + 0.61 // 2 ft are left out
		}
	}
	s := covertest.Lanes(lanes, 390)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	r := &Document{Assessment: &assess.Assessment{Reckoning: agronomy.Reckon(m, nil, nil), Run: "ink", MinArea: plane.SquareMetre}}
	p := browsertest.Open(t, browsertest.Written(t, r.Page), 1280, 900)
	p.Media("screen", "light")
	for _, kind := range []emulation.SetEmulatedVisionDeficiencyType{"none", "achromatopsia", "protanopia", "deuteranopia", "tritanopia"} {
		_, err := chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
			return cdp.Call(ctx, tab, emulation.SetEmulatedVisionDeficiency, emulation.SetEmulatedVisionDeficiencyParams{Type: kind})
		})
		require.NoError(t, err)
		shot, err := chromedp.Run(p.Ctx, chromedp.FullScreenshot(100))
		require.NoError(t, err)
		picture, err := png.Decode(bytes.NewReader(shot))
		require.NoError(t, err)
		skip, lap := inkOf(p, picture, ".r.skip"), inkOf(p, picture, ".r.overlap")
		require.Greater(t, skip-1, 2*(lap-1), "%s: a skip's contrast is %.2f, a lap's %.2f", kind, skip, lap)
	}
	p.Quiet()
}

// inkOf is the contrast with the paper of the largest shape of a class, averaged along
// it: at each step the darkest of the three pixels across.
func inkOf(p *browsertest.Page, picture image.Image, class string) float64 {
	box := browsertest.Eval[[]float64](p, `(() => { const all = [...document.querySelectorAll("#map `+class+`")].map(e => e.getBoundingClientRect()); const b = all.reduce((a, c) => c.height * c.width > a.height * a.width || c.height > a.height ? c : a); return [b.x + scrollX, b.y + scrollY, b.width, b.height] })()`)
	x, top, high := int(math.Round(box[0]+box[2]/2)), int(box[1]), int(box[3])
	sum, n := 0.0, 0
	for y := top + high/4; y < top+3*high/4; y++ {
		darkest := 1.0
		for dx := -1; dx <= 1; dx++ {
			darkest = min(darkest, luminance(picture, x+dx, y))
		}
		sum += (1 + 0.05) / (darkest + 0.05)
		n++
	}
	return sum / float64(n)
}

func luminance(picture image.Image, x, y int) float64 {
	r, g, b, _ := picture.At(x, y).RGBA()
	linear := func(v uint32) float64 {
		s := float64(v) / 0xffff
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
}
