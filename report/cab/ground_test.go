package cab

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/page"
)

// swathOf is a strip of so many corners that is told from others by where it lies.
func swathOf(machine string, from, to geo.Instant, corners int, x plane.Length) Strip {
	return Strip{Rings: json.RawMessage(fmt.Sprintf(`[[%d]]`, x)), of: stripOf{machine, from, 0}, to: to, corners: corners,
		bounds: plane.Box{Min: plane.Point{X: x}, Max: plane.Point{X: x + plane.Metre, Y: plane.Metre}}}
}

// A page that hears updates, now and then, has the strips of the last answer and no
// other, whatever the answers before were.
func TestPagesHaveTheGroundOfTheLastAnswer(t *testing.T) {
	seed := rand.Uint64()
	t.Log("seed", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	var g Ground
	type view struct {
		strip, back int
		has         map[int]string
	}
	pages := []*view{{has: map[int]string{}}, {has: map[int]string{}}}
	hear := func(p *view) (all bool) {
		strips, gone, next := g.since(p.strip, p.back)
		for _, n := range gone {
			delete(p.has, n)
		}
		corners := 0
		for _, s := range strips {
			require.NotContains(t, p.has, s.Number, "sent once")
			p.has[s.Number] = string(s.Rings)
			corners += s.corners
		}
		require.LessOrEqual(t, corners, max(mostCorners, 15_000))
		p.strip, p.back = next, len(g.gone)
		return next == g.next
	}
	for range 200 {
		var now []Strip
		for i := range 1 + rng.IntN(12) {
			now = append(now, swathOf("drill", geo.Instant(i), geo.Instant(100+rng.IntN(2)), 3+rng.IntN(15_000), plane.Length(rng.IntN(3))*plane.Metre))
		}
		g.Take(now)
		for i, p := range pages {
			if i == 1 && rng.IntN(4) > 0 {
				continue // it was away
			}
			for !hear(p) {
			}
			want := map[string]int{}
			for _, s := range now {
				want[string(s.Rings)]++
			}
			got := map[string]int{}
			for _, rings := range p.has {
				got[rings]++
			}
			require.Equal(t, want, got)
		}
	}
}

// A swath that an answer finds as the one before did is not sent again, though the
// plane of a field that is the worked ground has moved by ticks.
func TestSwathsThatStayAreSentOnce(t *testing.T) {
	var g Ground
	a, b := swathOf("drill", 1, 2, 4, 0), swathOf("drill", 3, 4, 4, 10*plane.Metre)
	g.Take([]Strip{a, b})
	moved := swathOf("drill", 1, 2, 4, 15*plane.Millimetre)
	longer := swathOf("drill", 3, 5, 4, 10*plane.Metre)
	g.Take([]Strip{moved, longer, swathOf("cart", 1, 2, 4, 0)})
	strips, gone, _ := g.since(0, 0)
	var numbers []int
	for _, s := range strips {
		numbers = append(numbers, s.Number)
	}
	assert.Equal(t, []int{0, 2, 3}, numbers)
	assert.Equal(t, []int{1}, gone)
}

// The page's own night is that of the reports.
func TestNightIsThatOfTheReports(t *testing.T) {
	base := string(page.New(quantity.US, "", "", "").CSS)
	_, night, found := strings.Cut(base, "@media (prefers-color-scheme: dark) {\n  :root {")
	require.True(t, found)
	night, _, _ = strings.Cut(night, "}")
	own := regexp.MustCompile(`data-light=night\] \{([^}]*)\}`).FindStringSubmatch(cabCSS)
	require.NotNil(t, own)
	for _, line := range strings.Split(strings.TrimSpace(night), "\n") {
		assert.Contains(t, own[1], strings.TrimSpace(line))
	}
}
