package projection

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// stranger finds a program of PROJ, which this project did not write. With
// LAPWING_STRANGERS=all, as the project's checks have it, none may stay away.
func stranger(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil && os.Getenv("LAPWING_STRANGERS") == "all" {
		t.Fatalf("no %s: install Debian's proj-bin", name)
	} else if err != nil {
		t.Skipf("no %s (Debian's proj-bin): it was not asked", name)
	}
	return path
}

// ask runs a stranger and returns what it prints.
func ask(t *testing.T, input, path string, args ...string) string {
	t.Helper()
	c := exec.Command(path, args...)
	c.Stdin = strings.NewReader(input)
	var out, wrong bytes.Buffer
	c.Stdout, c.Stderr = &out, &wrong
	require.NoError(t, c.Run(), "%v: %s", args, &wrong)
	return out.String()
}

// all tells whether every number of the tables is tried, which takes a minute,
// or one of each row.
var all = os.Getenv("LAPWING_LONG") != ""

// rows lists the numbers that are tried, and which of them stand for a row of
// the tables: of a family the first and the last, of a state plane the first of
// its eight.
func rows() (numbers []int, first map[int]bool) {
	first = map[int]bool{}
	add := func(n int, isFirst bool) {
		if n != 0 && !notEPSG[n] && (isFirst || all) {
			numbers = append(numbers, n)
			first[n] = isFirst
		}
	}
	for _, g := range geographic {
		add(g.number, true)
	}
	for _, g := range grids {
		add(g.number, true)
	}
	for _, f := range families {
		for n := f.first; n <= f.last; n++ {
			add(n, n == f.first || n == f.last)
		}
	}
	for _, z := range statePlanes() {
		for i, n := range z.numbers {
			add(n, i == slices.IndexFunc(z.numbers[:], func(n int) bool { return n != 0 }))
		}
	}
	return numbers, first
}

// notEPSG are numbers in wide use that the dataset never had, or has given up.
var notEPSG = map[int]bool{900913: true, 102100: true, 102113: true, 3785: true}

var (
	boxOf  = regexp.MustCompile(`BBOX\[([-0-9.]+),([-0-9.]+),([-0-9.]+),([-0-9.]+)\]`)
	baseOf = regexp.MustCompile(`ID\["EPSG",([0-9]+)\]\],CONVERSION`)
	// textsOf are the flavours that projinfo was asked for, and the text of each.
	textsOf = regexp.MustCompile(`(?m)^(WKT\S+) string:\n(.+)$`)
)

// Each row of the tables is the system that PROJ's database has under its
// number: the same parameters, read from its text in WKT 2, and the same places
// by cs2cs, on one datum, at random points of the area of use.
func TestAgainstPROJ(t *testing.T) {
	projinfo, cs2cs := stranger(t, "projinfo"), stranger(t, "cs2cs")
	numbers, first := rows()
	for _, number := range numbers {
		t.Run(fmt.Sprint(number), func(t *testing.T) {
			t.Parallel()
			s, err := EPSG(number)
			require.NoError(t, err)
			text := wkt(t, projinfo, fmt.Sprint("EPSG:", number), "WKT2:2019")
			read, err := Parse(text)
			require.NoError(t, err)
			assert.Equal(t, number, read.Number)
			sameSystem(t, s, read)
			if s.projection != nil && first[number] {
				sameGround(t, s, text, cs2cs)
			}
		})
	}
}

// Every number bears the name that PROJ has for it, so that zone, frame and
// unit belong to it. A few names differ by intent.
func TestNamesOfPROJ(t *testing.T) {
	names := map[string]string{}
	for line := range strings.Lines(ask(t, "", stranger(t, "projinfo"), "--list-crs", "projected")) {
		code, name, _ := strings.Cut(strings.TrimSpace(line), " ")
		names[code] = strings.Trim(name, `"`)
	}
	intent := strings.NewReplacer("Puerto Rico & Virgin Is.", "Puerto Rico and Virgin Is.", "Oregon GIC Lambert", "Oregon LCC", "Oregon LCC (m)", "Oregon LCC",
		"Estonian Coordinate", "EST97 / Estonian Coordinate")
	for _, s := range everySystem(t) {
		if s.projection != nil && !notEPSG[s.Number] {
			assert.Equal(t, s.Name, intent.Replace(names[fmt.Sprint("EPSG:", s.Number)]), s.Number)
		}
	}
}

// What PROJ writes of a system in ESRI's WKT 1, in GDAL's and in both editions
// of WKT 2 means the same, also of systems that the tables do not have.
func TestTextsOfPROJ(t *testing.T) {
	projinfo, cs2cs := stranger(t, "projinfo"), stranger(t, "cs2cs")
	names := []string{
		"EPSG:3375", "EPSG:3376", "EPSG:5247", // Hotine with an angle of its own
		"EPSG:6808", "EPSG:6841", // Hotine, Oregon, metres and feet
		"EPSG:8092", "EPSG:8093", "EPSG:7057", "EPSG:7111", "EPSG:7121", "EPSG:3448", // one standard parallel, in each unit
		"EPSG:32164",             // UTM in feet
		"EPSG:2048", "EPSG:2055", // axes west and south
		"EPSG:3979",               // the far north
		"EPSG:22239", "EPSG:2953", // stereographic
		"EPSG:3002", // refused, in all of them
		"ESRI:102008", "ESRI:102039", "ESRI:54004", "ESRI:102100", "ESRI:102604", "ESRI:103228",
	}
	numbers, _ := rows()
	for i, n := range numbers {
		if i%11 == 0 || all {
			names = append(names, fmt.Sprint("EPSG:", n))
		}
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			texts := map[string]string{}
			for _, found := range textsOf.FindAllStringSubmatch(ask(t, "", projinfo, name, "-o", "WKT2:2019,WKT2:2015,WKT1:GDAL,WKT1:ESRI", "--single-line"), -1) {
				texts[found[1]] = found[2]
			}
			require.Len(t, texts, 4)
			text := texts["WKT2:2019"]
			want, err := Parse(text)
			if err == nil && want.projection != nil && strings.HasPrefix(name, "EPSG:") {
				sameGround(t, want, text, cs2cs)
			}
			for _, flavour := range []string{"WKT2:2015", "WKT1:GDAL", "WKT1:ESRI"} {
				read, wrong := Parse(texts[flavour])
				if err != nil {
					assert.Error(t, wrong, flavour)
					continue
				}
				require.NoError(t, wrong, flavour)
				sameSystem(t, want, read)
				for _, p := range randomPlaces(t, text, uint64(want.Number)) {
					x, y, ok := want.FromEarth(p)
					u, v, ok2 := read.FromEarth(p)
					require.True(t, ok && ok2, "%s: FromEarth(%v)", flavour, p)
					require.LessOrEqual(t, math.Hypot(u-x, v-y), 1e-6, "%s: FromEarth(%v)", flavour, p)
				}
			}
		})
	}
}

func wkt(t *testing.T, projinfo, name, flavour string) string {
	t.Helper()
	return ask(t, "", projinfo, name, "-o", flavour, "-q", "--single-line")
}

// Systems that are refused by number are refused by their texts too, for the
// same datum.
func TestFarSystemsOfPROJ(t *testing.T) {
	projinfo := stranger(t, "projinfo")
	for _, f := range farSystems {
		for _, number := range []int{f.first, f.last} {
			t.Run(fmt.Sprint(number), func(t *testing.T) {
				t.Parallel()
				_, err := EPSG(number)
				var far, read *ShiftError
				require.ErrorAs(t, err, &far)
				_, err = Parse(wkt(t, projinfo, fmt.Sprint("EPSG:", number), "WKT2:2019"))
				require.ErrorAs(t, err, &read)
				assert.Equal(t, far.Datum, read.Datum)
			})
		}
	}
}

// No datum that is taken as WGS 84 lies farther from it than its note says, by
// the shift that PROJ has.
func TestNearDatumsOfPROJ(t *testing.T) {
	projinfo, cs2cs := stranger(t, "projinfo"), stranger(t, "cs2cs")
	for _, g := range geographic {
		t.Run(g.name, func(t *testing.T) {
			t.Parallel()
			s, err := EPSG(g.number)
			require.NoError(t, err)
			places := randomPlaces(t, wkt(t, projinfo, fmt.Sprint("EPSG:", g.number), "WKT2:2019"), uint64(g.number))
			limit := map[string]float64{sameFrame: 1e-6, upToOne: 1, upToTwo: 2, oneToTwo: 2, upToFive: 5}[s.Datum.Off]
			for i, there := range transform(t, cs2cs, fmt.Sprint("EPSG:", g.number), "EPSG:4326", places) {
				assert.LessOrEqual(t, metres(geo.LonLat{Lat: there[0], Lon: there[1]}, places[i]), limit)
			}
		})
	}
}

// sameSystem asserts that two systems mean the same, within the rounding of
// EPSG's false origins in feet. ESRI writes azimuths west of north as negative,
// and has one name for the variants of a method.
func sameSystem(t *testing.T, want, got *System) {
	t.Helper()
	method := strings.NewReplacer(" (1SP)", "", " (2SP)", "", " (variant A)", "", " (variant B)", "")
	assert.Equal(t, method.Replace(want.Method), method.Replace(got.Method), "%s, %s", want.Name, got.Name)
	assert.Equal(t, want.Datum, got.Datum, "%s, %s", want.Name, got.Name)
	assert.Equal(t, want.Unit.Size, got.Unit.Size, "%s, %s", want.Name, got.Name)
	assert.Equal(t, want.Ellipsoid, got.Ellipsoid, "%s, %s", want.Name, got.Name)
	for p := range parameterCount {
		difference := want.definition.values[p] - got.definition.values[p]
		tolerance := 2e-9
		switch p {
		case scale:
			tolerance = 1e-13
		case easting, northing:
			tolerance = 0.00085
		default:
			difference = math.Remainder(difference, 360)
		}
		assert.LessOrEqual(t, math.Abs(difference), tolerance, "%s of %s, %s", p, want.Name, got.Name)
	}
}

// sameGround asserts that s and cs2cs agree at points of the area of use in
// text, both ways: to a micrometre, and in feet as EPSG's false origins do.
func sameGround(t *testing.T, s *System, text, cs2cs string) {
	t.Helper()
	tolerance := 1e-6
	if s.Unit != metre {
		tolerance = 0.00085
	}
	base := baseOf.FindStringSubmatch(text)
	require.NotNil(t, base, "a geographic system")
	places := randomPlaces(t, text, uint64(s.Number))
	for i, there := range transform(t, cs2cs, "EPSG:"+base[1], fmt.Sprint("EPSG:", s.Number), places) {
		p, x, y := places[i], there[0], there[1]
		if s.NorthFirst {
			x, y = y, x
		}
		back, ok := s.ToEarth(x, y)
		require.True(t, ok, "%s: ToEarth(%v, %v)", s.Name, x, y)
		assert.LessOrEqual(t, metres(back, p), tolerance, "%s: ToEarth(%v, %v) is %v, PROJ has %v", s.Name, x, y, back, p)
		u, v, ok := s.FromEarth(p)
		require.True(t, ok, "%s: FromEarth(%v)", s.Name, p)
		assert.LessOrEqual(t, math.Hypot(u-x, v-y)*s.Unit.Size, tolerance, "%s: FromEarth(%v) is %v, %v, PROJ has %v, %v", s.Name, p, u, v, x, y)
	}
}

// randomPlaces draws places from the area of use in the text of a system.
func randomPlaces(t *testing.T, text string, seed uint64) (places []geo.LonLat) {
	t.Helper()
	box := boxOf.FindStringSubmatch(text)
	require.NotNil(t, box, "an area of use")
	var edge [4]float64 // south, west, north, east
	for i := range edge {
		edge[i], _ = strconv.ParseFloat(box[i+1], 64)
	}
	if edge[3] < edge[1] {
		edge[3] += 360
	}
	random := rand.New(rand.NewPCG(15, seed))
	for range 20 {
		places = append(places, geo.LonLat{
			Lat: edge[0] + random.Float64()*(edge[2]-edge[0]),
			Lon: math.Remainder(edge[1]+random.Float64()*(edge[3]-edge[1]), 360),
		})
	}
	return places
}

// transform has cs2cs take places, latitude first, from one system to another.
func transform(t *testing.T, cs2cs, from, to string, places []geo.LonLat) (out [][2]float64) {
	t.Helper()
	var input strings.Builder
	for _, p := range places {
		fmt.Fprintf(&input, "%.17g %.17g\n", p.Lat, p.Lon)
	}
	fields := strings.Fields(ask(t, input.String(), cs2cs, "-f", "%.12f", from, to))
	require.Len(t, fields, 3*len(places))
	for i := range places {
		var xy [2]float64
		for j := range xy {
			v, err := strconv.ParseFloat(fields[3*i+j], 64)
			require.NoError(t, err)
			xy[j] = v
		}
		out = append(out, xy)
	}
	return out
}
