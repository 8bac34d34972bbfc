package plane_test

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/geo/plane"
)

// anywhere draws a point of the grid, corners of it often.
func anywhere(t *rapid.T, name string) plane.Point {
	c := rapid.OneOf(
		rapid.Int64Range(int64(-plane.Reach), int64(plane.Reach)),
		rapid.SampledFrom([]int64{int64(-plane.Reach), 0, 1, int64(plane.Reach)}),
	)
	return plane.Point{X: plane.Length(c.Draw(t, name+".X")), Y: plane.Length(c.Draw(t, name+".Y"))}
}

// Side(a,b,c) == Side(b,c,a), and the other way round it is the other side.
func TestSideLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := anywhere(t, "a"), anywhere(t, "b"), anywhere(t, "c")
		s := plane.Side(a, b, c)
		assert.Equal(t, s, plane.Side(b, c, a))
		assert.Equal(t, s, plane.Side(c, a, b))
		assert.Equal(t, -s, plane.Side(b, a, c))
		assert.Equal(t, -s, plane.Side(a, c, b))
		assert.Equal(t, plane.Straight, plane.Side(a, b, a))
		assert.Equal(t, plane.Straight, plane.Side(a, b, b))
	})
}

func TestSideDrawn(t *testing.T) {
	a, b := plane.Point{}, plane.Point{X: 10}
	assert.Equal(t, plane.Left, plane.Side(a, b, plane.Point{X: 5, Y: 1}))
	assert.Equal(t, plane.Right, plane.Side(a, b, plane.Point{X: 5, Y: -1}))
	assert.Equal(t, plane.Straight, plane.Side(a, b, plane.Point{X: 50}))
}

// exactCross is twice the signed area of a triangle, without any limit.
func exactCross(o, p, q plane.Point) *big.Int {
	n := func(l plane.Length) *big.Int { return big.NewInt(int64(l)) }
	sub := func(a, b plane.Length) *big.Int { return new(big.Int).Sub(n(a), n(b)) }
	x := new(big.Int).Mul(sub(p.X, o.X), sub(q.Y, o.Y))
	return x.Sub(x, new(big.Int).Mul(sub(p.Y, o.Y), sub(q.X, o.X)))
}

// Points that nearly lie on one line, as far out as the grid goes: products of
// differences there have 60 bits, more than a float64 holds.
func TestSideIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anywhere(t, "a"), anywhere(t, "b")
		// A place on the line, a few ticks off it.
		k := rapid.Float64Range(0, 1).Draw(t, "share")
		off := rapid.Int64Range(-2, 2)
		c := plane.Point{
			X: a.X + plane.Round(k*float64(b.X-a.X)) + plane.Length(off.Draw(t, "dx")),
			Y: a.Y + plane.Round(k*float64(b.Y-a.Y)) + plane.Length(off.Draw(t, "dy")),
		}
		c.X, c.Y = max(-plane.Reach, min(plane.Reach, c.X)), max(-plane.Reach, min(plane.Reach, c.Y))
		want := exactCross(a, b, c)
		assert.Equal(t, want.Sign(), int(plane.Side(a, b, c)))
		assert.Equal(t, want.Int64(), int64(plane.Cross(a, b, c)))
		assert.True(t, want.IsInt64())
	})
}

// Whole numbers next to one another make the smallest area there is: with
// F(n)² - F(n+1)F(n-1) = ±1 (Cassini, 1680) three points up to 4e8 ticks apart
// have one of half a square tick. A float64 takes the widest to lie on a line.
func TestSmallestTriangles(t *testing.T) {
	before, f, after := plane.Length(0), plane.Length(1), plane.Length(1)
	sign, widest := plane.Left, math.NaN()
	for after <= plane.Reach {
		a := plane.Point{X: f, Y: before}
		b := plane.Point{X: after, Y: f}
		assert.EqualValues(t, sign, plane.Cross(plane.Point{}, a, b))
		assert.Equal(t, sign, plane.Side(plane.Point{}, a, b))
		widest = float64(f)*float64(f) - float64(after)*float64(before)
		before, f, after = f, after, f+after
		sign = -sign
	}
	assert.Zero(t, widest)
	assert.Greater(t, f, plane.Reach/2)
}

// Rounding commutes with a shift by whole ticks: floor(x + 1/2). Halves are
// where rounding away from zero does not.
func TestRoundShifts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Eighths of a tick, so that adding the shift loses no digit.
		x := float64(rapid.Int64Range(-8*int64(plane.Reach), 8*int64(plane.Reach)).Draw(t, "eighths")) / 8
		shift := rapid.Int64Range(-int64(plane.Reach), int64(plane.Reach)).Draw(t, "shift")
		assert.Equal(t, plane.Round(x)+plane.Length(shift), plane.Round(x+float64(shift)))
		assert.InDelta(t, x, float64(plane.Round(x)), 0.5)
	})
	for _, c := range []struct {
		ticks float64
		want  plane.Length
	}{{0.5, 1}, {-0.5, 0}, {1.5, 2}, {-1.5, -1}, {2.4999, 2}, {-2.5001, -3}} {
		assert.Equal(t, c.want, plane.Round(c.ticks))
	}
	assert.Equal(t, 2*plane.Metre+3*plane.Tick, plane.Metres(2.0003))
}

// A ring run the other way has the other area; where it begins and where it
// lies change nothing. It is the vertex sum of the books, done without limit.
func TestRingArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "corners")
		r := make(plane.Ring, n)
		for i := range r {
			r[i] = anywhere(t, "p")
		}
		sum := new(big.Int)
		for i, p := range r {
			sum.Add(sum, exactCross(plane.Point{}, p, r[(i+1)%n]))
		}
		// Each corner adds 2 x Reach² at most; an Area holds 18 of those.
		require.True(t, sum.IsInt64())
		assert.Equal(t, sum.Int64(), int64(r.Area()))
		assert.Equal(t, -r.Area(), r.Reversed().Area())
		k := rapid.IntRange(0, n-1).Draw(t, "start")
		assert.Equal(t, r.Area(), append(append(plane.Ring{}, r[k:]...), r[:k]...).Area())
		assert.InDelta(t, float64(r.Length()), float64(r.Reversed().Length()), 1e-3)
	})
	square := plane.Ring{{}, {X: plane.Metre}, {X: plane.Metre, Y: plane.Metre}, {Y: plane.Metre}}
	assert.Equal(t, plane.SquareMetre, square.Area())
	assert.Equal(t, 4*plane.Distance(plane.Metre), square.Length())
	field := plane.Polygon{
		Shell: plane.Ring{{X: -plane.Reach, Y: -plane.Reach}, {X: plane.Reach, Y: -plane.Reach}, {X: plane.Reach, Y: plane.Reach}, {X: -plane.Reach, Y: plane.Reach}},
		Holes: []plane.Ring{square.Reversed()},
	}
	assert.Equal(t, 1e10-1, field.Area().SquareMetres(), "the whole grid less a square metre")
}

func TestBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := plane.Ring{anywhere(t, "a"), anywhere(t, "b"), anywhere(t, "c")}
		b := r.Bounds()
		for _, p := range r {
			assert.True(t, b.Meets(plane.Box{Min: p, Max: p}))
		}
		out := plane.Point{X: b.Max.X + 1, Y: b.Min.Y}
		assert.False(t, b.Meets(plane.Box{Min: out, Max: out}))
		out = plane.Point{X: b.Min.X, Y: b.Min.Y - 1}
		assert.False(t, b.Meets(plane.Box{Min: out, Max: out}))
	})
	none := plane.Empty()
	assert.False(t, none.Meets(plane.Box{Max: plane.Point{X: math.MaxInt32, Y: math.MaxInt32}}))
}

// What two boxes share holds the points that both hold, and no others; a box that
// grows by some length, the points no farther from it.
func TestBoxes(t *testing.T) {
	holds := func(b plane.Box, p plane.Point) bool { return b.Meets(plane.Box{Min: p, Max: p}) }
	rapid.Check(t, func(t *rapid.T) {
		small := func(name string) plane.Point {
			return plane.Point{X: plane.Length(rapid.IntRange(-9, 9).Draw(t, name+".x")), Y: plane.Length(rapid.IntRange(-9, 9).Draw(t, name+".y"))}
		}
		b := plane.Empty().Add(small("a")).Add(small("b"))
		c := plane.Empty().Add(small("c")).Add(small("d"))
		p := small("p")
		assert.Equal(t, holds(b, p) && holds(c, p), holds(b.Intersect(c), p))
		by := plane.Length(rapid.IntRange(0, 9).Draw(t, "by"))
		far := max(b.Min.X-p.X, p.X-b.Max.X, b.Min.Y-p.Y, p.Y-b.Max.Y)
		assert.Equal(t, far <= by, holds(b.Grow(by), p))
	})
	x, y := plane.Box{Min: plane.Point{X: -2, Y: 3}, Max: plane.Point{X: 5, Y: 4}}.Size()
	assert.Equal(t, [2]plane.Length{7, 1}, [2]plane.Length{x, y})
	x, y = plane.Empty().Size()
	assert.Equal(t, [2]plane.Length{}, [2]plane.Length{x, y}, "nothing has no size")
}
