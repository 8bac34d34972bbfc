package rain

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// rectangle is a field of so many metres by so many, east by north, whose middle lies so
// many metres east of a place of no meaning.
func rectangle(t testing.TB, name string, wide, high, east float64) field.Field {
	frame := geo.NewFrame(geo.LonLat{Lon: 9.5, Lat: 58})
	var shell []geo.LonLat
	for _, c := range [][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		shell = append(shell, frame.FromMetres(east+c[0]*wide/2, c[1]*high/2))
	}
	f, err := field.NewField(name, []geo.Polygon{{Shell: shell}})
	require.NoError(t, err)
	return f
}

func ground(wide, high float64) Ground {
	return Ground{Area: areaOf(wide * high), Breadth: plane.DistanceOf(min(wide, high))}
}

func TestGroundOfRectangle(t *testing.T) {
	f := rectangle(t, "home", 800, 400, 0)
	g := GroundOf(&f)
	assert.InDelta(t, 320_000, g.Area.SquareMetres(), 10)
	assert.InDelta(t, 400, g.Breadth.Metres(), 0.1)
}

// A bar of 10 m worked 800 m by 400 m: 40 passes of 800 m at 2 m/s are 16,000 s, 40
// turns of 20 s are 800 s, and two fills of 15 minutes 1,800 s.
func worked800x400(machine string) Worked {
	return Worked{Name: "home", Ground: ground(800, 400), By: []Spent{{
		Machine: machine, Width: 10 * plane.Metre, New: areaOf(320_000), Swept: areaOf(320_000), Passes: 40,
		Working: 16_000 * time.Second, Turning: 800 * time.Second, Stopped: 1800 * time.Second,
	}}}
}

func TestAloneByHand(t *testing.T) {
	p := Paces([]Worked{worked800x400("drill")})
	require.Len(t, p, 1)
	assert.InDelta(t, 20, p[0].Turn().Seconds(), 1e-6)
	for _, c := range []struct {
		name       string
		wide, high float64
		seconds    float64
	}{
		{"the field itself", 800, 400, 16_000 + 800 + 1800},
		{"half of it, split along the passes", 800, 200, 8000 + 400 + 900},
		{"half of it, split across: as many turns", 400, 400, 8000 + 800 + 900},
		{"long and narrow: 10 turns", 3200, 100, 16_000 + 200 + 1800},
	} {
		assert.InDelta(t, c.seconds, p[0].Alone(ground(c.wide, c.high)).Seconds(), 0.001, c.name)
	}
}

// The rates of machines add, and each works ground by its own.
func TestTogetherByHand(t *testing.T) {
	slow := worked800x400("slow")
	slow.By[0].Working, slow.By[0].Turning, slow.By[0].Stopped = 32_000*time.Second, 1600*time.Second, 3600*time.Second
	p := Paces([]Worked{worked800x400("fast"), slow})
	g := ground(800, 400)
	took, shares := Together(p, g)
	assert.InDelta(t, 1/(1/18_600.0+1/37_200.0), took.Seconds(), 0.001)
	assert.InDeltaSlice(t, []float64{2. / 3, 1. / 3}, shares, 1e-9)
}

// Two machines that shared a field have the pace of two that had a field each.
func TestPacesOfSharedField(t *testing.T) {
	half := func(machine string) Spent {
		s := worked800x400(machine).By[0]
		s.New, s.Working, s.Turning, s.Stopped = s.New/2, s.Working/2, s.Turning/2, s.Stopped/2
		return s
	}
	shared := Worked{Ground: ground(800, 400), By: []Spent{half("a"), half("b")}}
	for _, p := range Paces([]Worked{shared}) {
		assert.InDelta(t, 18_600, p.Alone(ground(800, 400)).Seconds(), 0.001, p.Machine)
	}
}

// NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2, upper critical
// values of Student's t, 0.95.
func TestStudent(t *testing.T) {
	for n, want := range map[float64]float64{2: 2.920, 3: 2.353, 4: 2.132, 5: 2.015, 9: 1.833, 20: 1.725, 60: 1.671, 100: 1.660} {
		assert.InEpsilon(t, want, student95(n), 0.003, "%v degrees of freedom", n)
	}
}

// Three fields of one shape, of which the first took 1.1 times as long as the pace of
// the others, and so on, by hand.
func TestSpreadByHand(t *testing.T) {
	at := func(factor float64) Worked {
		w := worked800x400("drill")
		for _, d := range []*time.Duration{&w.By[0].Working, &w.By[0].Turning, &w.By[0].Stopped} {
			*d = time.Duration(float64(*d) * factor)
		}
		return w
	}
	s := SpreadOf([]Worked{at(1), at(1.2), at(0.9)})
	require.False(t, s.Judged)
	require.Len(t, s.Told, 3)
	assert.InDelta(t, 18_600*1.05, s.Told[0].Said.Seconds(), 0.01)
	e := []float64{math.Log(1 / 1.05), math.Log(1.2 / 0.95), math.Log(0.9 / 1.1)}
	assert.InEpsilon(t, math.Exp(2.920*math.Sqrt((e[0]*e[0]+e[1]*e[1]+e[2]*e[2])/3)), s.Factor, 0.003)

	assert.Equal(t, judgedFactor, SpreadOf([]Worked{at(1), at(1)}).Factor, "two fields tell too little")
	assert.True(t, SpreadOf([]Worked{at(1), at(1)}).Judged)
	least := SpreadOf([]Worked{at(1), at(1), at(1), at(1)})
	assert.Equal(t, leastFactor, least.Factor, "no field is told to the minute")
	assert.True(t, least.Least)
	assert.False(t, s.Least)
	other := at(1)
	other.By[0].Machine = "another"
	assert.Len(t, SpreadOf([]Worked{at(1), at(1), at(1), other}).Told, 3, "a machine of one field is told by none")
}
