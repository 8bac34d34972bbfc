package coverage_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/geo/plane"
)

// randomScene is a field of some shape, perhaps with a hole, worked by two
// machines at once, carelessly: rounds and lines that lap and leave ground out,
// at headings of their own, some with the product on in turns.
func randomScene(seed uint64) *covertest.Scene {
	r := rand.New(rand.NewPCG(seed, 99))
	ground := covertest.Disc(covertest.XY{}, 50+40*r.Float64(), 3+r.IntN(6))
	var holes []covertest.Shape
	if r.IntN(2) == 0 {
		holes = append(holes, covertest.Disc(covertest.XY{X: 5, Y: -3}, 7, 5+r.IntN(5)))
	}
	s := covertest.NewScene(fmt.Sprint("random ", seed), ground, holes...)
	for i := range 2 {
		w := 4 + 6*r.Float64()
		im := covertest.Mounted(w, 2*r.Float64(), 1+r.IntN(5))
		if r.IntN(3) == 0 {
			im = covertest.Towed(w, 1, 4+4*r.Float64(), 1+r.IntN(5))
		}
		path := covertest.NewPath(5)
		if r.IntN(2) == 0 {
			path.Round(ground.Inset(w/2), 6, 8*r.Float64())
		}
		lines := covertest.Lines{
			Ground: ground.Inset(w * r.Float64()), Heading: 2 * math.Pi * r.Float64(), Width: w,
			Spacing: w * (0.8 + 0.5*r.Float64()), Ends: covertest.EndRule(r.IntN(3)), RunIn: 3, TurnOn: r.IntN(4) == 0,
		}
		if r.IntN(2) == 0 {
			lines.Sections = im.Sections
		}
		for _, h := range holes {
			lines.Holes = append(lines.Holes, h.Inset(-w/2))
		}
		path.Lines(lines)
		s.Drive(covertest.Rig{
			Name: string(rune('a' + i)), Implement: im, Path: path, Speed: 2, Rate: 2 + float64(r.IntN(4)),
			Begin:   time.Date(2025, 9, 18, 6, 0, i, 7e6*i, time.UTC),
			Heading: r.IntN(2) == 0, Seed: seed, Defects: []covertest.Defect{covertest.White(0.03 * r.Float64())},
		})
	}
	return s
}

func TestIdentities(t *testing.T) {
	for seed := range uint64(12) {
		s := randomScene(seed)
		opt := field.Options{}
		if seed%2 == 1 {
			opt = field.Options{Rounds: 2, Lap: plane.Metre, EdgeAllowance: plane.Metre}
		}
		m := measure(t, s.Field, s.Machines, opt)
		require.False(t, t.Failed(), "seed %d", seed)
		require.Positive(t, m.Totals.Overlap)
		s.Field.Boundary = nil
		m = measure(t, s.Field, s.Machines, field.Options{})
		require.False(t, t.Failed(), "seed %d without boundary", seed)
		// The field is the worked ground; its outline was snapped once more.
		assert.LessOrEqual(t, sq(m.Totals.OverReach), gridError(float64(m.Field.Perimeter())*plane.Tick.Metres()), "seed %d", seed)
	}
}

// sameGround asserts that two maps are the same ground, area by area.
func sameGround(t *testing.T, want, got *coverage.Map, why string) {
	t.Helper()
	assert.Equal(t, want.Totals, got.Totals, why)
	for _, h := range []*coverage.Headland{&want.Headland, &got.Headland} {
		assert.NotZero(t, h.Area)
	}
	assert.Equal(t, want.Headland.Area, got.Headland.Area, why)
	assert.Equal(t, want.Headland.Covered, got.Headland.Covered, why)
	assert.InDelta(t, float64(want.Headland.Edge.Open), float64(got.Headland.Edge.Open), 1, why)
	assert.InDelta(t, float64(want.Headland.Edge.Mean), float64(got.Headland.Edge.Mean), 1e-3, why)
	type piece struct {
		kind  region.Kind
		depth int
		area  plane.Area
	}
	pieces := func(m *coverage.Map) []piece {
		var out []piece
		for _, r := range m.Regions {
			out = append(out, piece{r.Kind, r.Depth, r.Area})
		}
		slices.SortFunc(out, func(a, b piece) int {
			if a.kind != b.kind {
				return int(a.kind - b.kind)
			}
			if a.depth != b.depth {
				return a.depth - b.depth
			}
			return int(min(1, max(-1, a.area-b.area)))
		})
		return out
	}
	assert.Equal(t, pieces(want), pieces(got), why)
	require.Len(t, got.Passes, len(want.Passes), why)
	for i, p := range want.Passes {
		q := got.Passes[i]
		assert.Equal(t, []plane.Area{p.Swept, p.New, p.Overlap}, []plane.Area{q.Swept, q.New, q.Overlap}, "pass %d: %s", p.ID, why)
		assert.Equal(t, p.Headland, q.Headland, "pass %d: %s", p.ID, why)
	}
}

// lifted returns the fixes of a track at which it may be cut in two: nothing
// works for 4 m either way, farther than the path is smoothed over.
func lifted(t machine.Track, rate float64) []int {
	const speed = 2.0 // m/s, of the scenes
	margin := int(4/speed*rate) + 1
	var out []int
	for i := margin; i < len(t.Fixes)-margin; i++ {
		works := slices.ContainsFunc(t.Fixes[i-margin:i+margin], func(f machine.Fix) bool { return f.Working })
		if !works {
			out = append(out, i)
			i += 3 * margin
		}
	}
	return out
}

// cutTrack cuts a track into files before each of some fixes.
func cutTrack(t machine.Track, at []int) []machine.Track {
	var out []machine.Track
	from := 0
	for k, to := range append(slices.Clone(at), len(t.Fixes)) {
		part := t
		part.File = fmt.Sprintf("%s part %d", t.File, k)
		part.Fixes = t.Fixes[from:to]
		out, from = append(out, part), to
	}
	return out
}

// The same fixes are the same ground, in whatever order machines, files and
// lines come and wherever a lifted machine's log is cut into files.
func TestOrder(t *testing.T) {
	cuts := 0
	for seed := range uint64(8) {
		s := randomScene(seed)
		want := measure(t, s.Field, s.Machines, field.Options{})
		r := rand.New(rand.NewPCG(seed, 1))

		swapped := slices.Clone(s.Machines)
		slices.Reverse(swapped)
		sameGround(t, want, measure(t, s.Field, swapped, field.Options{}), fmt.Sprint("machines in another order, seed ", seed))

		shuffled := slices.Clone(s.Machines)
		for i := range shuffled {
			track := shuffled[i].Tracks[0]
			track.Fixes = slices.Clone(track.Fixes)
			r.Shuffle(len(track.Fixes), func(a, b int) { track.Fixes[a], track.Fixes[b] = track.Fixes[b], track.Fixes[a] })
			shuffled[i].Tracks = []machine.Track{track}
		}
		sameGround(t, want, measure(t, s.Field, shuffled, field.Options{}), fmt.Sprint("fixes in another order, seed ", seed))

		parts := slices.Clone(s.Machines)
		for i := range parts {
			if parts[i].Implement.Towed {
				continue // a file that begins in a turn does not know where its bar was
			}
			track := parts[i].Tracks[0]
			rate := 1 / track.Fixes[1].Time.Sub(track.Fixes[0].Time).Seconds()
			at := lifted(track, rate)
			cuts += len(at)
			parts[i].Tracks = cutTrack(track, at)
			r.Shuffle(len(parts[i].Tracks), func(a, b int) {
				parts[i].Tracks[a], parts[i].Tracks[b] = parts[i].Tracks[b], parts[i].Tracks[a]
			})
		}
		sameGround(t, want, measure(t, s.Field, parts, field.Options{}), fmt.Sprint("logs cut into files, seed ", seed))
		require.False(t, t.Failed())
	}
	assert.Greater(t, cuts, 20)
}

// Passes moved by whole ticks together with the boundary leave the same areas:
// every rounding on the way commutes with the shift.
func TestShift(t *testing.T) {
	for seed := range uint64(8) {
		s := randomScene(seed)
		passes := s.Passes()
		lay := func(by plane.Point) *coverage.Map {
			land := s.Field
			moved := func(r plane.Ring) plane.Ring {
				out := slices.Clone(r)
				for i := range out {
					out[i] = out[i].Add(by)
				}
				return out
			}
			land.Boundary = nil
			for _, p := range s.Field.Boundary {
				q := plane.Polygon{Shell: moved(p.Shell)}
				for _, h := range p.Holes {
					q.Holes = append(q.Holes, moved(h))
				}
				land.Boundary = append(land.Boundary, q)
			}
			ps := slices.Clone(passes)
			for i := range ps {
				ps[i].Poses = slices.Clone(ps[i].Poses)
				for k := range ps[i].Poses {
					ps[i].Poses[k].Bar = ps[i].Poses[k].Bar.Add(by)
				}
			}
			m := laid(t, land, machine.Machines(s.Machines), sweep.Sweep(machine.Machines(s.Machines), ps), field.Options{})
			closes(t, m)
			return m
		}
		want := lay(plane.Point{})
		for _, by := range []plane.Point{{X: 1}, {Y: -1}, {X: 12345677, Y: -7654321}, {X: -49 * plane.Kilometre, Y: 49*plane.Kilometre + 1}} {
			sameGround(t, want, lay(by), fmt.Sprintf("moved by %v, seed %d", by, seed))
			require.False(t, t.Failed())
		}
	}
}

// One processor or two, the answer is the same.
func TestProcessors(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for seed := range uint64(4) {
		s := randomScene(seed)
		runtime.GOMAXPROCS(1)
		want := measure(t, s.Field, s.Machines, field.Options{})
		runtime.GOMAXPROCS(2)
		got := measure(t, s.Field, s.Machines, field.Options{})
		assert.Equal(t, want.Totals, got.Totals, "seed %d", seed)
		assert.Equal(t, want.Regions, got.Regions, "seed %d", seed)
		assert.Equal(t, want.Skips, got.Skips, "seed %d", seed)
		assert.Equal(t, want.Overlaps, got.Overlaps, "seed %d", seed)
		assert.Equal(t, want.Headland, got.Headland, "seed %d", seed)
		assert.Equal(t, want.Warnings, got.Warnings, "seed %d", seed)
	}
}
