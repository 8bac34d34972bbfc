package projection

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// everySystem returns the system of every number there is in the tables.
func everySystem(t *testing.T) (list []*System) {
	t.Helper()
	numbers := map[int]bool{}
	add := func(n int) {
		if n == 0 {
			return
		}
		require.False(t, numbers[n], "EPSG:%d stands in two places", n)
		numbers[n] = true
		s, err := EPSG(n)
		require.NoError(t, err, "EPSG:%d", n)
		require.Equal(t, n, s.Number)
		list = append(list, s)
	}
	for _, g := range geographic {
		add(g.number)
	}
	for _, g := range grids {
		add(g.number)
	}
	for _, f := range families {
		for n := f.first; n <= f.last; n++ {
			add(n)
		}
	}
	for _, z := range statePlanes() {
		for _, n := range z.numbers {
			add(n)
		}
	}
	for _, f := range farSystems {
		for n := range numbers {
			require.False(t, f.first <= n && n <= f.last, "EPSG:%d is known, and refused", n)
		}
	}
	return list
}

// around draws a place within three degrees of where a system is meant for.
func around(s *System, random *rand.Rand) geo.LonLat {
	v, side := &s.definition.values, func() float64 { return 6*random.Float64() - 3 }
	p := geo.LonLat{Lon: math.Remainder(v[longitude]+side(), 360), Lat: 120*random.Float64() - 60}
	switch {
	case v[parallel1] != 0:
		p.Lat = (v[parallel1]+v[parallel2])/2 + side()
	case s.definition.method == equalAreaAround || s.definition.method == obliqueAround || s.definition.method == obliqueMercatorA:
		p.Lat = v[latitude] + side()
	}
	return p
}

// From the Earth and back comes out within 1e-9 degrees, in every system.
func TestThereAndBack(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 15))
	worst := 0.0
	for _, s := range everySystem(t) {
		for range 10 {
			p := around(s, random)
			x, y, ok := s.FromEarth(p)
			require.True(t, ok, "%s: FromEarth(%v)", s.Name, p)
			back, ok := s.ToEarth(x, y)
			require.True(t, ok, "%s: ToEarth(%v, %v)", s.Name, x, y)
			worst = max(worst, math.Abs(math.Remainder(back.Lon-p.Lon, 360)), math.Abs(back.Lat-p.Lat))
		}
	}
	assert.LessOrEqual(t, worst, 1e-9, "degrees")
}

// A projection that keeps angles stretches alike along parallel and meridian,
// and turns both alike; one that keeps areas has the ellipsoid's on the plane.
// Differences over 2 m show both to a millionth.
func TestConformalAndEqualArea(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 15))
	const step = 1e-5 // degrees, 1.1 m either way
	for _, s := range everySystem(t) {
		m := s.definition.method
		if m == nil || m == webMercator { // which keeps neither
			continue
		}
		p := around(s, random)
		at := func(lon, lat float64) (x, y float64) {
			x, y, ok := s.FromEarth(geo.LonLat{Lon: p.Lon + lon, Lat: p.Lat + lat})
			require.True(t, ok)
			return x * s.Unit.Size, y * s.Unit.Size
		}
		x1, y1 := at(-step, 0)
		x2, y2 := at(step, 0)
		x3, y3 := at(0, -step)
		x4, y4 := at(0, step)
		sin, cos := math.Sincos(p.Lat * degree)
		g := s.Ellipsoid.figure()
		w := 1 - g.e2*sin*sin
		parallel := 2 * step * degree * g.a * cos / math.Sqrt(w)              // metres
		meridian := 2 * step * degree * g.a * (1 - g.e2) / (w * math.Sqrt(w)) // metres
		ex, ey, nx, ny := (x2-x1)/parallel, (y2-y1)/parallel, (x4-x3)/meridian, (y4-y3)/meridian
		if m == equalAreaAround || m == equalAreaConic {
			assert.InDelta(t, 1, ex*ny-ey*nx, 1e-6, s.Name)
			continue
		}
		assert.InDelta(t, ex, ny, 1e-6, s.Name)
		assert.InDelta(t, ey, -nx, 1e-6, s.Name)
	}
}

// The origin, which the definition fixes, comes out where it says.
func TestOrigins(t *testing.T) {
	for _, s := range everySystem(t) {
		v := &s.definition.values
		if m := s.definition.method; m == nil || m == obliqueMercatorA || v[latitude] == -90 { // where the origin is elsewhere, or the pole
			continue
		}
		x, y, ok := s.FromEarth(geo.LonLat{Lon: v[longitude], Lat: v[latitude]})
		require.True(t, ok, s.Name)
		assert.InDelta(t, v[easting], x*s.Unit.Size, 1e-6, s.Name)
		assert.InDelta(t, v[northing], y*s.Unit.Size, 1e-6, s.Name)
	}
}

// What is no place, or out of the projection's reach, is said to be so; nothing
// panics, and what is called a place is one.
func TestOutOfReach(t *testing.T) {
	utm14, err := EPSG(32614)
	require.NoError(t, err)
	for _, c := range []struct {
		name string
		x, y float64
	}{
		{"no number", math.NaN(), 5e6},
		{"infinite", 5e5, math.Inf(1)},
		{"half round the Earth", 2e7, 0},
		{"huge", 1e300, -1e300},
		{"past the pole, east of it", 5e5, 2.5e7},
	} {
		p, ok := utm14.ToEarth(c.x, c.y)
		assert.False(t, ok, "%s: %v", c.name, p)
		assert.Zero(t, p, c.name)
	}
	for _, p := range []geo.LonLat{{Lon: math.NaN()}, {Lat: 91}, {Lon: -99 + 90, Lat: 0}, {Lon: -99 + 80, Lat: 1}, {Lon: 1e9}} {
		_, _, ok := utm14.FromEarth(p)
		assert.False(t, ok, "%v", p)
	}
	for _, s := range everySystem(t) {
		for _, x := range []float64{0, 1, -1e3, 1e6, -1e8, 1e12, 1e308, math.Inf(-1), math.NaN()} {
			for _, y := range []float64{0, -1, 90, 1e7, -1e9, 1e308, math.Inf(1), math.NaN()} {
				if p, ok := s.ToEarth(x, y); ok {
					assert.True(t, p.Valid(), "%s: ToEarth(%v, %v) is %v", s.Name, x, y, p)
				}
			}
		}
	}
}

// Longitude comes out within 180 degrees on both sides of the antimeridian.
func TestAntimeridian(t *testing.T) {
	s, err := EPSG(32660) // central meridian 177
	require.NoError(t, err)
	x, y, ok := s.FromEarth(geo.LonLat{Lon: -179.5, Lat: 51})
	require.True(t, ok)
	p, ok := s.ToEarth(x, y)
	require.True(t, ok)
	assert.InDelta(t, -179.5, p.Lon, 1e-9)
	u, v, ok := s.FromEarth(geo.LonLat{Lon: 180.5, Lat: 51})
	require.True(t, ok)
	assert.Equal(t, [2]float64{x, y}, [2]float64{u, v}, "the same place")
}

// Notes name the datum and how far it may be off; WGS 84 has none.
func TestNotes(t *testing.T) {
	for number, want := range map[int]string{
		4326:  "",
		32614: "",
		3857:  "",
		26914: "NAD83 taken as WGS 84: all lies 1 to 2 m off, shapes and areas are right",
		6340:  "NAD83(2011) taken as WGS 84: all lies 1 to 2 m off, shapes and areas are right",
		25832: "ETRS89 taken as WGS 84: all lies 1 to 2 m off, shapes and areas are right",
		28355: "GDA94 taken as WGS 84: all lies 1 to 2 m off, shapes and areas are right",
		7855:  "GDA2020 taken as WGS 84: all lies up to 1 m off, shapes and areas are right",
	} {
		s, err := EPSG(number)
		require.NoError(t, err)
		assert.Equal(t, want, s.Note(), number)
	}
}

// Numbers and names that stand for nothing here are errors of one line.
func TestNumbersAndNames(t *testing.T) {
	const wantOne = ", want one that is known by number, or the text of its definition"
	for _, c := range []struct{ name, want, err string }{
		{name: "EPSG:32614", want: "WGS 84 / UTM zone 14N"},
		{name: "epsg:2249", want: "NAD83 / Massachusetts Mainland (ftUS)"},
		{name: "26949", want: "NAD83 / Arizona Central"},
		{name: " EPSG:2223\n", want: "NAD83 / Arizona Central (ft)"},
		{name: "urn:ogc:def:crs:EPSG::25832", want: "ETRS89 / UTM zone 32N"},
		{name: "urn:ogc:def:crs:EPSG:6.9:3857", want: "WGS 84 / Pseudo-Mercator"},
		{name: "http://www.opengis.net/def/crs/EPSG/0/2154", want: "RGF93 v1 / Lambert-93"},
		{name: "http://www.opengis.net/gml/srs/epsg.xml#4326", want: "WGS 84"},
		{name: "urn:ogc:def:crs:OGC:1.3:CRS84", want: "WGS 84 (CRS84)"},
		{name: "CRS84", want: "WGS 84 (CRS84)"},
		{name: "EPSG:27700", err: `coordinate system "EPSG:27700": datum "OSGB36", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
		{name: "EPSG:28992", err: `coordinate system "EPSG:28992": datum "Amersfoort", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
		{name: "EPSG:32000001", err: "coordinate system EPSG:32000001" + wantOne},
		{name: "EPSG:0", err: "coordinate system EPSG:0" + wantOne},
		{name: "EPSG:99999999999999999999999", err: `coordinate system "EPSG:99999999999999999999999"` + wantOne},
		{name: "EPSG:-4326", err: `coordinate system "EPSG:-4326", want a name such as EPSG:32614`},
		{name: "", err: `coordinate system "", want a name such as EPSG:32614`},
		{name: "WGS\n84", err: `coordinate system "WGS\n84", want a name such as EPSG:32614`},
	} {
		s, err := Named(c.name)
		if c.err != "" {
			assert.EqualError(t, err, c.err, "%q", c.name)
			continue
		}
		if assert.NoError(t, err, "%q", c.name) {
			assert.Equal(t, c.want, s.Name, "%q", c.name)
		}
	}
}

// A datum that needs a shift is an error of its own type, which is a fault too.
func TestShiftError(t *testing.T) {
	_, err := EPSG(26714)
	var shift *ShiftError
	require.ErrorAs(t, err, &shift)
	assert.Equal(t, "NAD27", shift.Datum)
	var fault *geo.Fault
	require.ErrorAs(t, err, &fault)
	assert.Equal(t, "field.prj: "+err.Error(), shift.In("field.prj").Error())
}

// Sizes of units that a file rounds are taken for what they stand for; feet
// are not taken for one another.
func TestRoundedUnits(t *testing.T) {
	for _, c := range []struct{ size, want float64 }{
		{1, 1},
		{0.3048, 0.3048},
		{0.3048006, 1200. / 3937},
		{0.304800609601219, 1200. / 3937},
		{0.30480061, 1200. / 3937},
		{0.3047972654, 0.3047972654}, // Clarke's foot
		{0.0174533, degree},
		{0.01745329251994330, degree},
		{0.015707963267949, 0.015707963267949}, // a grad
	} {
		assert.Equal(t, c.want, Unit{Size: c.size}.exact().Size, "%v", c.size)
	}
}

// Every key of the datums' table is one that a name can have, and leads to its
// own row.
func TestDatumTable(t *testing.T) {
	numbered := map[string]bool{"a datum without a name": true}
	for _, g := range geographic {
		numbered[datumNamed(g.name).Name] = true
	}
	for _, d := range datums {
		assert.True(t, d.stand != Near || numbered[d.name], "%s has no number by which PROJ could be asked for it", d.name)
		assert.Equal(t, d.name, datumNamed(d.name).Name)
		for _, key := range strings.Fields(d.keys) {
			plain := strings.TrimSuffix(key, "*")
			assert.Equal(t, plain, letters(plain), "a key of %s", d.name)
			assert.Equal(t, d.name, datumNamed(plain).Name, "the key %s", key)
			assert.Equal(t, d.name, datumNamed("D_"+plain).Name, "the key %s as ESRI has it", key)
			if strings.HasSuffix(key, "*") {
				assert.Equal(t, d.name, datumNamed(plain+" (2099)").Name, "the key %s", key)
			}
		}
	}
}

// Names in the tables of methods and parameters are as those of files become.
func TestMethodTable(t *testing.T) {
	for name := range methods {
		assert.Equal(t, plain(name), name)
	}
	for name := range parameterNames {
		assert.Equal(t, plain(name), name)
	}
}
