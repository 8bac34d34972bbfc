package arrange_test

import (
	"bufio"
	"encoding/hex"
	"encoding/xml"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// corpus returns the folder of that name in the collection of published cases
// that lies beside the repository where it was fetched, or skips the test.
func corpus(t *testing.T, name string) string {
	t.Helper()
	dir := filepath.Join("..", "..", "..", "shared", "data", name)
	if _, err := os.Stat(dir); err != nil {
		t.Skipf("the published cases %s are not here: %s", name, dir)
	}
	return dir
}

// valid checks that the faces are polygons by the rules of the OGC's simple
// features, as another library reads them.
func valid(t *testing.T, a *arrange.Arrangement) {
	t.Helper()
	for _, f := range a.Faces {
		var rings []geom.LineString
		for _, r := range f.Shape.Rings() {
			var xy []float64
			for _, p := range append(slices.Clone(r), r[0]) {
				xy = append(xy, float64(p.X), float64(p.Y))
			}
			rings = append(rings, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
		}
		assert.NoError(t, geom.NewPolygon(rings).Validate(), "%v", f.Shape)
	}
}

// Polygon clipping cases by A. Johnson (Clipper2, Tests/Polygons.txt, Boost
// Software License 1.0), each with the area that should come out.
//
// Ground is where rings wind more often anticlockwise than clockwise, their
// "positive" rule. Their "negative" rule is the same of rings reversed, and
// "non-zero" is either: a layer for the rings, and one for them reversed. The
// "even-odd" rule cannot be said so, and its cases are left out.
func TestClipperCases(t *testing.T) {
	file, err := os.Open(filepath.Join(corpus(t, "clipper-cases-a"), "Polygons.txt"))
	require.NoError(t, err)
	defer file.Close()
	var cases []clipperCase
	lines := bufio.NewScanner(file)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		line := strings.TrimSpace(lines.Text())
		head, rest, _ := strings.Cut(line, ":")
		c := clipperCase{}
		if n := len(cases); n > 0 {
			c = cases[n-1]
		}
		switch rest = strings.TrimSpace(rest); {
		case line == "":
			continue
		case head == "CAPTION":
			cases = append(cases, clipperCase{name: rest})
			continue
		case head == "CLIPTYPE":
			c.op = rest
		case head == "FILLRULE":
			c.rule = rest
		case head == "SOL_AREA":
			c.area, err = strconv.ParseFloat(rest, 64)
			require.NoError(t, err)
		case head == "SOL_COUNT":
		case line == "SUBJECTS", line == "CLIPS":
			c.clips = line == "CLIPS"
		default:
			var r plane.Ring
			numbers := strings.FieldsFunc(line, func(c rune) bool { return c == ',' || c == ' ' })
			for i := 0; i+1 < len(numbers); i += 2 {
				x, errX := strconv.ParseInt(numbers[i], 10, 32)
				y, errY := strconv.ParseInt(numbers[i+1], 10, 32)
				require.NoError(t, errX)
				require.NoError(t, errY)
				r = append(r, plane.Point{X: plane.Length(x), Y: plane.Length(y)})
			}
			side := 0
			if c.clips {
				side = 1
			}
			c.rings[side] = append(slices.Clone(c.rings[side]), r)
		}
		cases[len(cases)-1] = c
	}
	require.NoError(t, lines.Err())

	run, left, worst := 0, 0, 0.0
	for _, c := range cases {
		if c.rule == "EVENODD" || c.area <= 0 { // -1: their answer says nothing of area
			left++
			continue
		}
		run++
		t.Run(c.name, func(t *testing.T) {
			c.rings = [2]arrange.Layer{magnified(c.rings[0]), magnified(c.rings[1])}
			layers := c.layers()
			under := func(layers []int) arrange.Label { return c.label(layers) }
			a := arrange.Cut(layers, under)
			valid(t, a)
			var got float64
			for _, f := range a.Faces {
				got += float64(f.Shape.Area()) / 2 / magnify / magnify
			}
			// Theirs is rounded to whole units, ours to a thousandth of one.
			bound := edgeLength([]arrange.Layer{c.rings[0], c.rings[1]}) / magnify * math.Sqrt2 / 2 * (1 + 1.0/magnify)
			assert.InDelta(t, c.area, got, bound)
			worst = max(worst, math.Abs(got-c.area)/c.area)
		})
	}
	assert.Positive(t, run)
	t.Logf("%d cases run, %d left out; areas are off by %.2g of themselves at most", run, left, worst)
}

// magnify is how many ticks a unit of the cases gets.
const magnify = 1000

func magnified(l arrange.Layer) arrange.Layer {
	out := make(arrange.Layer, len(l))
	for i, r := range l {
		for _, p := range r {
			out[i] = append(out[i], plane.Point{X: magnify * p.X, Y: magnify * p.Y})
		}
	}
	return out
}

type clipperCase struct {
	name, op, rule string
	area           float64
	rings          [2]arrange.Layer // subjects and clips
	clips          bool             // what is read now
}

// layers are subjects, subjects reversed, clips and clips reversed.
func (c clipperCase) layers() []arrange.Layer {
	var out []arrange.Layer
	for _, rings := range c.rings {
		var back arrange.Layer
		for _, r := range rings {
			back = append(back, r.Reversed())
		}
		out = append(out, rings, back)
	}
	return out
}

// label is 1 on the ground that the operation keeps.
func (c clipperCase) label(under []int) arrange.Label {
	in := func(side int) bool {
		positive, negative := slices.Contains(under, 2*side), slices.Contains(under, 2*side+1)
		return c.rule != "NEGATIVE" && positive || c.rule != "POSITIVE" && negative
	}
	return kept(strings.ToLower(c.op), in(0), in(1))
}

// kept is 1 where an operation on two grounds keeps a place that is in them.
func kept(op string, a, b bool) arrange.Label {
	keep := false
	switch op {
	case "intersection":
		keep = a && b
	case "union":
		keep = a || b
	case "difference":
		keep = a && !b
	case "xor", "symdifference":
		keep = a != b
	default:
		panic("no such operation: " + op)
	}
	if keep {
		return 1
	}
	return arrange.None
}

// Overlay cases of the JTS Topology Suite (modules/tests, testxml/general,
// Eclipse Distribution License 1.0): two geometries in well-known text, an
// operation, and what should come out. Of each that has areas on both sides the
// area is compared. Lines and points have none, so cases of those are left out,
// as are relations, buffers and validity.
//
// Coordinates are spread over the grid by a power of ten, so that decimals
// stay whole where there is room for them; where their own answer is snapped to
// whole units (files and operations with a precision), a unit is a tick for us
// as well.
func TestJTSOverlayCases(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(corpus(t, "jts-overlay-general"), "Test*.xml"))
	require.NoError(t, err)
	run := 0
	for _, name := range files {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		var in struct {
			Precision struct {
				Scale float64 `xml:"scale,attr"`
			} `xml:"precisionModel"`
			Cases []struct {
				Desc string `xml:"desc"`
				A    string `xml:"a"`
				B    string `xml:"b"`
				Ops  []struct {
					Name string `xml:"name,attr"`
					Arg1 string `xml:"arg1,attr"`
					Arg2 string `xml:"arg2,attr"`
					Arg3 string `xml:"arg3,attr"`
					Want string `xml:",chardata"`
				} `xml:"test>op"`
			} `xml:"case"`
		}
		require.NoError(t, xml.Unmarshal(text, &in), name)
		for _, c := range in.Cases {
			for _, op := range c.Ops {
				kind := strings.ToLower(op.Name)
				snapped := in.Precision.Scale != 0 || strings.HasSuffix(kind, "sr")
				kind = strings.TrimSuffix(strings.TrimSuffix(kind, "sr"), "ng")
				if !slices.Contains([]string{"intersection", "union", "difference", "symdifference"}, kind) {
					continue
				}
				scale := in.Precision.Scale
				if strings.HasSuffix(strings.ToLower(op.Name), "sr") {
					scale, err = strconv.ParseFloat(op.Arg3, 64)
					require.NoError(t, err)
				}
				args := map[string]string{"A": c.A, "B": c.B}
				a, okA := polygonsOf(t, args[strings.ToUpper(op.Arg1)])
				b, okB := polygonsOf(t, args[strings.ToUpper(op.Arg2)])
				if !okA || !okB || len(a)+len(b) == 0 {
					continue
				}
				run++
				t.Run(filepath.Base(name)+"/"+strings.TrimSpace(c.Desc)+"/"+op.Name, func(t *testing.T) {
					want, _ := polygonsOf(t, op.Want)
					if !snapped {
						scale = 0
					}
					checkOverlay(t, kind, a, b, want, scale)
				})
			}
		}
	}
	assert.Greater(t, run, 100)
	t.Logf("%d operations", run)
}

// polygonsOf reads the polygons of a geometry; ok is false if it holds lines or
// points as well.
func polygonsOf(t *testing.T, text string) (out []geom.Polygon, ok bool) {
	t.Helper()
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, true
	}
	if strings.Contains(text, "LINEARRING") { // a line, of a kind the reader does not know
		return nil, false
	}
	var g geom.Geometry
	bin, err := hex.DecodeString(strings.Join(strings.Fields(text), ""))
	if err == nil {
		g, err = geom.UnmarshalWKB(bin, geom.NoValidate{})
	} else {
		g, err = geom.UnmarshalWKT(text, geom.NoValidate{})
	}
	require.NoError(t, err, text)
	ok = true
	for _, part := range g.Dump() {
		if p, isPolygon := part.AsPolygon(); isPolygon {
			if !p.IsEmpty() {
				out = append(out, p)
			}
		} else if !part.IsEmpty() {
			ok = false
		}
	}
	return out, ok
}

// checkOverlay lays b over a and compares the area with that of want. Scale is
// the ticks in a unit, or 0 for as many as there is room for.
func checkOverlay(t *testing.T, op string, a, b, want []geom.Polygon, scale float64) {
	t.Helper()
	var box geom.Envelope
	for _, p := range append(slices.Clone(a), b...) {
		box = box.ExpandToIncludeEnvelope(p.Envelope())
	}
	low, _ := box.Min().XY()
	high, _ := box.Max().XY()
	origin := geom.XY{X: math.Floor((low.X + high.X) / 2), Y: math.Floor((low.Y + high.Y) / 2)}
	snapped := scale != 0
	if !snapped {
		scale = math.Pow(10, math.Floor(math.Log10(4e8/max(high.X-low.X, high.Y-low.Y, 1))))
	}
	layers := []arrange.Layer{layerOf(a, origin, scale), layerOf(b, origin, scale)}
	arr := arrange.Cut(layers, func(under []int) arrange.Label {
		return kept(op, slices.Contains(under, 0), slices.Contains(under, 1))
	})
	valid(t, arr)
	var got, expected float64
	for _, f := range arr.Faces {
		got += float64(f.Shape.Area()) / 2
	}
	for _, p := range want {
		expected += p.Area() * scale * scale
	}
	// Corners are rounded to the grid first, and then crossings: twice the
	// bound. A float64 has 53 bits, of which theirs lose some to sums of products.
	bound := 2*edgeLength(layers)*math.Sqrt2/2 + 1e-12*expected
	if snapped {
		// Theirs is snapped too, to the same cells, and so must come out the same;
		// but it bends edges between corners that are not rounded yet.
		bound *= 1.5
		if whole(a, scale) && whole(b, scale) {
			bound = 0
		}
	}
	assert.InDelta(t, expected, got, bound)
}

// whole reports whether all corners are on the grid.
func whole(polygons []geom.Polygon, scale float64) bool {
	for _, p := range polygons {
		xy := p.DumpCoordinates()
		for i := range xy.Length() {
			if at := xy.GetXY(i).Scale(scale); at.X != math.Floor(at.X) || at.Y != math.Floor(at.Y) {
				return false
			}
		}
	}
	return true
}

// layerOf lays polygons on the grid, shells anticlockwise and holes clockwise.
func layerOf(polygons []geom.Polygon, origin geom.XY, scale float64) arrange.Layer {
	var out arrange.Layer
	for _, p := range polygons {
		for i, l := range p.DumpRings() {
			seq := l.Coordinates()
			var r plane.Ring
			for k := range seq.Length() - 1 {
				at := seq.GetXY(k)
				r = append(r, plane.Point{X: plane.Round((at.X - origin.X) * scale), Y: plane.Round((at.Y - origin.Y) * scale)})
			}
			if (i == 0) != (r.Area() > 0) {
				r = r.Reversed()
			}
			out = append(out, r)
		}
	}
	return out
}
