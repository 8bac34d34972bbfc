package covertest

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
)

// deviations drives 10,000 m with defects and returns how far each fix is from
// where a log without defects has it, in metres.
func deviations(t *testing.T, defects ...Defect) (east, north []float64) {
	rig := Rig{
		Name: "a", Implement: Mounted(6, 0, 1), Speed: 0.5, Rate: 1, Seed: 42,
		Path: Start(0, -5000, 0).On().Straight(10000),
	}
	frame := NewScene("", Rectangle(0, 0, 1, 1)).Field.Frame
	clean := rig.Machine(frame).Tracks[0].Fixes
	rig.Defects = defects
	fixes := rig.Machine(frame).Tracks[0].Fixes
	require.Len(t, fixes, 20001)
	require.Len(t, clean, 20001)
	for i := range fixes {
		x0, y0 := frame.Metres(clean[i].At)
		x1, y1 := frame.Metres(fixes[i].At)
		east, north = append(east, x1-x0), append(north, y1-y0)
	}
	return east, north
}

// correlation is the sample correlation of v with itself so many fixes later.
func correlation(v []float64, lag int) float64 {
	var c, s float64
	for i := range v {
		s += v[i] * v[i]
		if i >= lag {
			c += v[i] * v[i-lag]
		}
	}
	return c / s
}

func share(n int, is func(i int) bool) float64 {
	k := 0
	for i := range n {
		if is(i) {
			k++
		}
	}
	return float64(k) / float64(n)
}

// White noise is normal and forgets at once. 95 % lie within 1.959964 sigma
// along one axis; within one DRMS, sqrt 2 sigma, lie 63.212 % in the plane
// (F. van Diggelen, "GPS Accuracy: Lies, Damn Lies, and Statistics", GPS
// World, January 1998, prints 63-68 %). 20,001 fixes: four standard errors of
// a share near 0.95 are 0.006, of one near 0.63 0.014.
func TestWhiteNoise(t *testing.T) {
	const sigma = 0.02
	east, north := deviations(t, White(sigma))
	n := len(east)
	assert.InDelta(t, 0.95, share(n, func(i int) bool { return math.Abs(east[i]) < 1.959964*sigma }), 0.006)
	assert.InDelta(t, 0.63212, share(n, func(i int) bool { return math.Hypot(east[i], north[i]) < math.Sqrt2*sigma }), 0.014)
	assert.InDelta(t, 0, correlation(east, 1), 4/math.Sqrt(float64(n)))
}

// Drift keeps its sigma and forgets by 1/e in its memory: 20 s, so that 20,000
// s hold some 500 independent errors; four standard errors of a correlation
// are then about 0.15, of sigma 0.13 of it.
func TestDrift(t *testing.T) {
	const sigma = 0.2
	east, _ := deviations(t, Drift(sigma, 20))
	var s float64
	for _, e := range east {
		s += e * e
	}
	assert.InDelta(t, sigma, math.Sqrt(s/float64(len(east))), 0.13*sigma)
	assert.InDelta(t, 1/math.E, correlation(east, 20), 0.15)
	assert.InDelta(t, math.Exp(-1.0/20), correlation(east, 1), 0.01)
}

// A smooth drift keeps its sigma, and its correlation is (1 + a) exp(-a), with
// a = √3 t / memory (Matérn 3/2: C. E. Rasmussen and C. K. I. Williams, "Gaussian
// Processes for Machine Learning", 2006, equation 4.17). Memory of 20 s as above.
func TestSmoothDrift(t *testing.T) {
	const sigma = 0.2
	east, _ := deviations(t, SmoothDrift(sigma, 20))
	var s float64
	for _, e := range east {
		s += e * e
	}
	assert.InDelta(t, sigma, math.Sqrt(s/float64(len(east))), 0.13*sigma)
	for _, lag := range []int{1, 10, 20} {
		a := math.Sqrt(3) * float64(lag) / 20
		assert.InDelta(t, (1+a)*math.Exp(-a), correlation(east, lag), 0.15, "after %d s", lag)
	}
	assert.Greater(t, correlation(east, 1), 0.99, "a rough drift is at 0.95")
}

// A driver strays to the side, not along the way, and by sigma; along a straight of
// 10,000 m, by some 250 independent wanderings of 40 m.
func TestStrays(t *testing.T) {
	east, north := deviations(t, Strays(0, 0.1, 40))
	var s float64
	for i, e := range east {
		s += e * e
		assert.InDelta(t, 0, north[i], 1e-6)
	}
	assert.InDelta(t, 0.1, math.Sqrt(s/float64(len(east))), 0.025)
	whole, _ := deviations(t, Strays(0.1, 0, 40))
	for _, e := range whole {
		assert.InDelta(t, whole[0], e, 1e-6, "a pass by itself strays as a whole")
	}
	assert.NotZero(t, whole[0])
}

func TestDefects(t *testing.T) {
	rig := Rig{
		Name: "a", Implement: Mounted(6, 0, 1), Speed: 2, Rate: 1, Seed: 3,
		Path: Start(0, 0, 0).Straight(20).On().Straight(100).Stand(30).Straight(80).Off().Straight(20),
	}
	frame := NewScene("", Rectangle(0, 0, 1, 1)).Field.Frame
	times := func(defects ...Defect) (out []float64) {
		r := rig
		r.Defects = defects
		fixes := r.Machine(frame).Tracks[0].Fixes
		for _, f := range fixes {
			out = append(out, f.Time.Sub(fixes[0].Time).Seconds())
		}
		return out
	}
	steps := func(ts []float64, is func(step float64) bool) int {
		n := 0
		for i := 1; i < len(ts); i++ {
			if is(ts[i] - ts[i-1]) {
				n++
			}
		}
		return n
	}
	clean := times()
	require.Len(t, clean, 141) // 220 m at 2 m/s and 30 s standing, both ends
	assert.Equal(t, 5, steps(times(Doubled(5)), func(s float64) bool { return s == 0 }))
	assert.Positive(t, steps(times(OutOfOrder(3)), func(s float64) bool { return s < 0 }))
	assert.Equal(t, 1, steps(times(Silence(40, 12)), func(s float64) bool { return s == 13 }))
	assert.Equal(t, 1, steps(times(ClockJump(40, -3600)), func(s float64) bool { return s == -3599 }))
	assert.Len(t, times(OnlyWorking()), 121) // 180 m, the stand, and the fix that ends it

	rig.Defects = []Defect{Nowhere(1), Spikes(1, 12)}
	fixes := rig.Machine(frame).Tracks[0].Fixes
	rig.Defects = nil
	spikes, zeros := 0, 0
	for i, f := range rig.Machine(frame).Tracks[0].Fixes {
		x, y := frame.Metres(f.At)
		u, v := frame.Metres(fixes[i].At)
		switch d := math.Hypot(u-x, v-y); {
		case fixes[i].At.Lon == 0 && fixes[i].At.Lat == 0:
			zeros++
		case d > 1e-6:
			spikes++
			assert.InDelta(t, 12, d, 1e-6)
		}
	}
	assert.Equal(t, 1, zeros)
	assert.Equal(t, 1, spikes)
}

// The antenna is where the mount says: ahead of a bar and right of the
// centre line, which the bar's own offset has left.
func TestAntenna(t *testing.T) {
	imp := Mounted(6, 2, 1)
	imp.AntennaRight, imp.Offset = plane.Metre/2, plane.Metre
	rig := Rig{Name: "a", Implement: imp, Speed: 1, Rate: 1, Path: Start(10, 20, math.Pi/2).On().Straight(5)}
	at := newDrive(rig).log()[0].Antenna
	assert.InDelta(t, 12, at.X, 1e-12)       // 2 m ahead, east
	assert.InDelta(t, 20+1-0.5, at.Y, 1e-12) // left by the bar's offset, right by its own
}

func TestSameSeedSameBytes(t *testing.T) {
	write := func(seed uint64) string {
		s := Small(0.02, seed)
		var b bytes.Buffer
		require.NoError(t, WriteTrack(&b, s.Machines[0].Tracks[0], s.Machines[0].Implement, 8))
		require.NoError(t, WriteBoundary(&b, s.Field, 50))
		return b.String()
	}
	assert.Equal(t, write(1), write(1))
	assert.NotEqual(t, write(1), write(2))
}

func TestWriteTrack(t *testing.T) {
	rig := Rig{
		Name: "a", Implement: Mounted(6, 0, 3), Speed: 2, Rate: 1, Heading: true,
		Path: Start(0, 0, math.Pi/2).On().Straight(2).Open(0b110).Straight(2).Off().Straight(2),
	}
	var b bytes.Buffer
	s := NewScene("", Rectangle(0, 0, 1, 1))
	require.NoError(t, WriteTrack(&b, rig.Machine(s.Field.Frame).Tracks[0], rig.Implement, 7))
	lines := strings.Split(b.String(), "\n")
	assert.Equal(t, "time,lat,lon,speed_mps,heading,working,sections", lines[0])
	assert.Equal(t, "2025-09-18T06:00:00.000Z,54.7125000,2.3125000,2.00,90.0,1,111", lines[1])
	assert.True(t, strings.HasSuffix(lines[2], ",1,011"), lines[2])
	assert.True(t, strings.HasSuffix(lines[3], ",0,000"), lines[3])
}

// The scenes leave the ground their plans promise.
func TestScenes(t *testing.T) {
	q := QuarterSection(1, 0.02, 1)
	assert.Len(t, q.Trails, 8+46)
	const side, w = 2640 * foot, 16.5
	var length float64
	for _, tr := range q.Trails {
		length += tr.Length()
	}
	// Each round goes round the inner sides once; each pass spans the inside.
	want := 4*(side-w) + 4*(side-3*w) + 46*(side-4*w)
	assert.InDelta(t, want, length, 1e-6)
	assert.InDelta(t, want*w, ringArea(q.Trails), 1)

	s := Small(0, 1)
	d := Raster(s.Field, s.Trails, 0.25)
	// Left out: the round's corners, each (1 - pi/4) r² of the outer end's 10 m.
	corners := (4 - math.Pi) * 10 * 10
	assert.InDelta(t, corners, d.Inside[0], 5)
	assert.InDelta(t, 0, d.OverReach(), 5)
	assert.Positive(t, d.Overlap(), fmt.Sprint(d))
}
