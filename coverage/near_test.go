package coverage_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/pace"
	"lapwing/coverage/sweep"
	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A tour is the log of a drill 12 m wide in fields 48 by 200 m, whose south-west
// corners are so many metres apart along a road:
//
//	|^|v|^|v|            |^|v|^|v|            |^|v|^|v|
//	field 0     3 km     field 1     3 km     field 2
type tour struct {
	frame geo.Frame
	track machine.Track
	now   geo.Instant
	x, y  float64 // where the drill is
}

const (
	tourApart = 3000.0 // m from field to field
	tourWide  = 12.0
	tourLong  = 200.0
)

// tourField is field k of a tour.
func tourField(k int) field.Field {
	home := covertest.NewScene("", covertest.Rectangle(-1, -1, 1, 1)).Field.Frame
	at := home.FromMetres(float64(k)*tourApart+2*tourWide, tourLong/2)
	return covertest.NewSceneAt(at, fmt.Sprint("fen ", k), covertest.Rectangle(-2*tourWide, -tourLong/2, 2*tourWide, tourLong/2)).Field
}

func newTour() *tour {
	return &tour{
		frame: covertest.NewScene("", covertest.Rectangle(-1, -1, 1, 1)).Field.Frame,
		track: machine.Track{File: "month.csv", States: []machine.State{nil}, WorkingLogged: true, Rates: [][]float32{nil, {}}},
		now:   geo.InstantOf(time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)), y: -20,
	}
}

// to drives to a place at a speed, a fix every half second.
func (d *tour) to(x, y, speed float64, working bool) {
	steps := int(math.Ceil(math.Hypot(x-d.x, y-d.y) / speed * 2))
	for i := range steps {
		s := float64(i) / float64(steps)
		d.track.Rates[1] = append(d.track.Rates[1], float32(len(d.track.Fixes)%7))
		d.track.Fixes = append(d.track.Fixes, machine.Fix{Working: working, Fix: geo.Fix{
			Time: d.now, At: d.frame.FromMetres(d.x+s*(x-d.x), d.y+s*(y-d.y)), Row: int32(len(d.track.Fixes)),
			Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}})
		d.now += geo.Instant(time.Second / 2)
	}
	d.x, d.y = x, y
}

// work works lanes from ≤ i < end of field k, coming from wherever it is.
func (d *tour) work(k, from, end int) {
	for i := from; i < end; i++ {
		x := float64(k)*tourApart + tourWide*(float64(i)+0.5)
		south, north := 0.0, tourLong
		if i%2 == 1 {
			south, north = north, south
		}
		speed := 2.0
		if i == from {
			speed = 10 // on the road
		}
		d.to(x, south, speed, false)
		d.to(x, north, 2, true)
	}
}

func (d *tour) machines() []machine.Logged {
	return []machine.Logged{{Machine: machine.Machine{Name: "drill", Implement: covertest.Mounted(tourWide, 0, 1)}, Tracks: []machine.Track{d.track}}}
}

// Of a log of three fields those parts stay that tell of one, with a run-in; where
// one was left out the log breaks, and says so.
func TestNear(t *testing.T) {
	d := newTour()
	d.work(0, 0, 2)
	d.work(1, 0, 4)
	d.work(6, 0, 4)
	d.work(0, 2, 4)
	d.work(6, 0, 1)
	whole := d.machines()
	home, away := tourField(0), tourField(3)
	near, warnings := track.Near(&home, whole, &field.Options{})
	got := near[0].Tracks[0]
	require.Len(t, got.Away, 1, "it came back once")
	require.Len(t, got.Breaks, 1)
	back := got.Breaks[0]
	assert.Equal(t, got.Away[0], got.Fixes[back].Time)
	require.Len(t, warnings, 1)
	assert.Equal(t, len(d.track.Fixes)-len(got.Fixes), warnings[0].Count)
	assert.Less(t, len(got.Fixes), len(d.track.Fixes)/2)
	for i, f := range got.Fixes {
		assert.Equal(t, int32(i), f.Row)
		at := slices.IndexFunc(d.track.Fixes, func(o machine.Fix) bool { return o.Time == f.Time })
		require.Equal(t, d.track.Rates[1][at], got.Rates[1][i], "the rate of the fix")
	}
	assert.Nil(t, got.Rates[0])
	lane := func(m []machine.Logged) (n int) {
		for _, f := range m[0].Tracks[0].Fixes {
			if x, _ := d.frame.Metres(f.At); f.Working && x < tourApart/2 {
				n++
			}
		}
		return n
	}
	assert.Equal(t, lane(whole), lane(near), "all work in the field stays")

	other, _ := track.Near(&away, whole, &field.Options{})
	assert.Len(t, other[0].Tracks[0].Away, 3, "it drove past on its way home, and again")
	assert.Len(t, whole[0].Tracks[0].Fixes, len(d.track.Fixes), "the log itself is as it was")

	alone := newTour()
	alone.work(0, 0, 4)
	same, none := track.Near(&home, alone.machines(), &field.Options{})
	assert.Empty(t, none)
	assert.Equal(t, timesOf(alone.track), timesOf(same[0].Tracks[0]), "a log of this field is taken whole")
}

// A pass that leads away from the field stays whole, however far.
func TestNearKeepsWholePasses(t *testing.T) {
	d := newTour()
	d.work(2, 0, 4)
	d.to(6, 0, 10, false)
	d.to(6, tourLong, 2, true)
	d.to(6, 4000, 10, true)
	d.work(2, 0, 4)
	home := tourField(0)
	near, _ := track.Near(&home, d.machines(), &field.Options{})
	m, err := coverage.Measure(home, near, field.Options{})
	require.NoError(t, err)
	require.Len(t, m.Passes, 1)
	assert.InDelta(t, 4000, m.Passes[0].Length.Metres(), 10)
}

// timesOf returns the times of a track's fixes.
func timesOf(t machine.Track) (out []geo.Instant) {
	for _, f := range t.Fixes {
		out = append(out, f.Time)
	}
	return out
}

// What stays does not hang on the boxes around the fixes.
func TestNearByBlocks(t *testing.T) {
	d := newTour()
	for range 4 {
		for k := range 4 {
			d.work(k, 0, 4)
		}
	}
	require.Greater(t, len(d.track.Fixes), 5000)
	plain, indexed := d.machines(), d.machines()
	track.Index(indexed)
	require.NotEmpty(t, indexed[0].Tracks[0].Blocks)
	for k := range 5 {
		f := tourField(k)
		a, warnA := track.Near(&f, plain, &field.Options{})
		b, warnB := track.Near(&f, indexed, &field.Options{})
		x, y := a[0].Tracks[0], b[0].Tracks[0]
		assert.Equal(t, timesOf(x), timesOf(y), k)
		assert.Equal(t, x.Breaks, y.Breaks, k)
		assert.Equal(t, x.Away, y.Away, k)
		assert.Equal(t, x.Rates, y.Rates, k)
		assert.Equal(t, warnA, warnB, k)
	}
}

// A field measured from a log of many is as one measured from its own, within what
// the thinning of swaths allows; and the time that the machine spent elsewhere is
// no time in the field.
func TestFieldAmongMany(t *testing.T) {
	among, own := newTour(), newTour()
	for _, d := range []*tour{among, own} {
		d.work(0, 0, 2)
		if d == among {
			for k := 1; k < 6; k++ {
				d.work(k, 0, 4)
			}
		} else {
			d.to(0, -tourApart, 10, false)
		}
		d.work(0, 2, 4)
	}
	m, alone := measure(t, tourField(0), among.machines(), field.Options{}), measure(t, tourField(0), own.machines(), field.Options{})
	require.Len(t, m.Passes, 4)
	require.Len(t, alone.Passes, 4)
	within := sweep.Thin.Metres() * 4 * 2 * (tourLong + tourWide)
	assert.InDelta(t, sq(alone.Totals.Covered), sq(m.Totals.Covered), within)
	assert.InDelta(t, sq(alone.Totals.Swept), sq(m.Totals.Swept), within)
	c := pace.Clocks(m)[0]
	assert.Zero(t, c.Silent)
	assert.Zero(t, c.Travelling)
	assert.InDelta(t, 2*6, c.Turning.Seconds(), 2, "from lane to lane, before and after")
}

// No fix near a field leaves it without passes, and says how many there were.
func TestNearNothing(t *testing.T) {
	d := newTour()
	d.work(0, 0, 4)
	f := tourField(9)
	m := measure(t, f, d.machines(), field.Options{})
	assert.Empty(t, m.Passes)
	require.NotEmpty(t, m.Warnings)
	assert.Equal(t, len(d.track.Fixes), m.Warnings[0].Count)
	assert.Equal(t, m.Totals.Field, m.Totals.Skip)
}

// BenchmarkFieldsInOneLog measures so many equal fields that share one log: the time
// grows with the fields.
func BenchmarkFieldsInOneLog(b *testing.B) {
	for _, n := range []int{10, 20, 40, 80} {
		d := newTour()
		fields := make([]field.Field, n)
		for k := range n {
			fields[k] = tourField(k)
			d.work(k, 0, 4)
		}
		b.Run(fmt.Sprintf("fields=%d/fixes=%d", n, len(d.track.Fixes)), func(b *testing.B) {
			for b.Loop() {
				machines := d.machines()
				track.Index(machines)
				var covered plane.Area
				for k := range fields {
					m, err := coverage.Measure(fields[k], machines, field.Options{})
					if err != nil {
						b.Fatal(err)
					}
					covered += m.Totals.Covered
				}
				if covered == 0 {
					b.Fatal("no ground")
				}
			}
		})
	}
}
