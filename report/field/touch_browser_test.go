//go:build browser

package field

import (
	"context"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
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

// specks is a quarter section logged at 10 Hz with 2 cm of noise, which leaves
// thousands of specks to draw.
var specks = sync.OnceValues(func() (*Document, error) {
	s := covertest.QuarterSection(10, 0.02, 1)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	if err != nil {
		return nil, err
	}
	return &Document{Assessment: &assess.Assessment{Reckoning: agronomy.Reckon(m, nil, nil), Run: "specks", MinArea: plane.SquareMetre}}, nil
})

// Even so large a page is seen within a second. The browser shares the machine,
// so a slow try proves nothing: it may try for a minute.
func TestBrowserPaintsAQuarterSectionSoon(t *testing.T) {
	r, err := specks()
	require.NoError(t, err)
	p := open(t, r, 390, 844)
	const paint = `performance.getEntriesByName("first-contentful-paint").map(e => e.startTime)`
	best := time.Hour
	for until := time.Now().Add(time.Minute); best >= time.Second && time.Now().Before(until); {
		p.Do(chromedp.Reload())
		at := browsertest.Eval[[]float64](p, paint) // ms since the navigation began
		for ; len(at) == 0; at = browsertest.Eval[[]float64](p, paint) {
			time.Sleep(20 * time.Millisecond) // it is not painted yet
		}
		best = min(best, time.Duration(at[0]*float64(time.Millisecond)))
	}
	t.Log("first contentful paint after", best)
	require.Less(t, best, time.Second)
	p.Quiet()
}

// touch sends one change of the fingers on the screen; none of them lifts all.
func touch(p *browsertest.Page, kind input.DispatchTouchEventType, fingers ...[2]float64) {
	p.T.Helper()
	points := []*input.TouchPoint{}
	for i, at := range fingers {
		points = append(points, &input.TouchPoint{X: at[0], Y: at[1], ID: new(float64(i))})
	}
	_, err := chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, tab, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
	})
	require.NoError(p.T, err)
}

// Two fingers spread on the map draw it larger, one moves it then, and two
// brought together show the whole field again.
func TestBrowserTouch(t *testing.T) {
	r, err := specks()
	require.NoError(t, err)
	p := open(t, r, 390, 844)
	_, err = chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, tab, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true, MaxTouchPoints: 2})
	})
	require.NoError(t, err)
	view := func() []float64 { // x, y, width, height on the drawing, in centimetres
		return browsertest.Eval[[]float64](p, `document.getElementById("map").getAttribute("viewBox").split(" ").map(Number)`)
	}
	middle := browsertest.Eval[[]float64](p, `(() => { const r = document.getElementById("map").getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2] })()`)
	apart := func(d float64) [][2]float64 {
		return [][2]float64{{middle[0] - d, middle[1]}, {middle[0] + d, middle[1]}}
	}
	pinch := func(from, to float64) {
		touch(p, input.DispatchTouchEventTypeTouchStart, apart(from)...)
		for i := 1.0; i <= 8; i++ {
			touch(p, input.DispatchTouchEventTypeTouchMove, apart(from+(to-from)*i/8)...)
		}
		touch(p, input.DispatchTouchEventTypeTouchEnd)
	}

	whole := view()
	pinch(30, 90)
	near := view()
	require.InDelta(t, 3, whole[2]/near[2], 0.3, "as much larger as the fingers are farther apart")
	require.InDelta(t, whole[0]+whole[2]/2, near[0]+near[2]/2, 0.05*whole[2], "about the middle between them")
	require.Equal(t, 1.0, browsertest.Eval[float64](p, `visualViewport.scale`), "the map, not the page")

	touch(p, input.DispatchTouchEventTypeTouchStart, [2]float64{middle[0], middle[1]})
	for i := 1.0; i <= 8; i++ {
		touch(p, input.DispatchTouchEventTypeTouchMove, [2]float64{middle[0] + 10*i, middle[1] + 5*i})
	}
	touch(p, input.DispatchTouchEventTypeTouchEnd)
	moved := view()
	pixel := near[2] / browsertest.Eval[float64](p, `document.getElementById("map").getBoundingClientRect().width`)
	require.InDelta(t, near[0]-80*pixel, moved[0], 10*pixel, "the ground stays under the finger")
	require.InDelta(t, near[1]-40*pixel, moved[1], 10*pixel)
	require.Equal(t, near[2], moved[2])
	require.Zero(t, browsertest.Eval[float64](p, `scrollY`), "the map, not the page")

	// Two fingers move it up and down; one put down there scrolls the page, so that who
	// reads on is not caught by the map.
	still := view()
	drag := func(fingers int, dy float64) {
		at := func(y float64) (out [][2]float64) {
			for i := range fingers {
				out = append(out, [2]float64{middle[0] + 40*float64(i), middle[1] + y})
			}
			return out
		}
		touch(p, input.DispatchTouchEventTypeTouchStart, at(0)...)
		for i := 1.0; i <= 8; i++ {
			touch(p, input.DispatchTouchEventTypeTouchMove, at(dy*i/8)...)
		}
		touch(p, input.DispatchTouchEventTypeTouchEnd)
	}
	drag(2, -40)
	require.InDelta(t, still[1]+40*pixel, view()[1], 12*pixel)
	require.Zero(t, browsertest.Eval[float64](p, `scrollY`))
	still = view()
	drag(1, -120)
	require.Eventually(t, func() bool { return browsertest.Eval[float64](p, `scrollY`) > 60 }, 10*time.Second, 50*time.Millisecond)
	require.Equal(t, still, view())
	browsertest.Eval[bool](p, `scrollTo(0, 0); true`)

	pinch(120, 20)
	require.Equal(t, whole, view())
	p.Quiet()
}
