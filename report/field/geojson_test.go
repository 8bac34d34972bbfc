package field

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

type feature struct {
	Type       string
	Properties map[string]any
	Geometry   json.RawMessage
}

type collection struct {
	Type     string
	Run      string
	LeftOut  int `json:"left_out"`
	Features []feature
}

func features(t testing.TB, r *Document) collection {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.GeoJSON(&b))
	var c collection
	require.NoError(t, json.Unmarshal(b.Bytes(), &c))
	require.Equal(t, "FeatureCollection", c.Type)
	return c
}

// valid has simplefeatures judge a geometry as a reader of the file sees it,
// in float64, and returns it. Polygons must be right-handed (RFC 7946 section
// 3.1.6).
func valid(t testing.TB, raw []byte) geom.Geometry {
	t.Helper()
	g, err := geom.UnmarshalGeoJSON(raw)
	require.NoError(t, err)
	require.False(t, g.IsEmpty())
	for _, p := range polygonsOf(g) {
		require.True(t, p.IsCCW(), "not right-handed: %s", raw)
	}
	return g
}

func polygonsOf(g geom.Geometry) []geom.Polygon {
	if p, ok := g.AsPolygon(); ok {
		return []geom.Polygon{p}
	}
	var out []geom.Polygon
	if m, ok := g.AsMultiPolygon(); ok {
		for i := range m.NumPolygons() {
			out = append(out, m.PolygonN(i))
		}
	}
	return out
}

func TestGeoJSONFeatures(t *testing.T) {
	for name, r := range map[string]*Document{"small": small(), "quarter": quarter()} {
		t.Run(name, func(t *testing.T) {
			c := features(t, r)
			require.Equal(t, r.Run, c.Run)
			require.Zero(t, c.LeftOut)
			kinds := map[string]int{}
			skips := map[float64]bool{}
			for _, f := range c.Features {
				require.Equal(t, "Feature", f.Type)
				if f.Properties["kind"] != "dry" {
					require.Contains(t, f.Properties, "stroke", "simplestyle-spec 1.1")
				}
				kind := f.Properties["kind"].(string)
				kinds[kind]++
				valid(t, f.Geometry)
				switch kind {
				case "skip":
					skips[f.Properties["id"].(float64)] = true
				case "overlap":
					require.GreaterOrEqual(t, f.Properties["depth"], 2.0)
				case "pass":
					require.Contains(t, f.Properties, "machine")
					require.Contains(t, f.Properties, "id")
				}
			}
			require.Len(t, skips, len(r.Map.Skips))
			require.Equal(t, len(r.Map.Passes), kinds["pass"])
			require.Equal(t, 1, kinds["field"])
			require.Equal(t, len(r.Map.Headland.Edge.Openings), kinds["open"])
			require.Equal(t, len(r.Map.Headland.Zone), kinds["headland"])
			regions := map[string]int{}
			for _, reg := range r.Map.Regions {
				regions[reg.Kind.String()]++
			}
			for kind, n := range regions {
				require.Equal(t, n, kinds[kind], kind)
			}
		})
	}
}

// A viewer's table of features adds up to summary.json: each product wasted, its
// nitrogen and its cost over overlaps and ground outside the boundary, the areas by
// kind, the open stretches, and what the skips cost.
func TestSumsOverFeaturesAreTheSummary(t *testing.T) {
	for name, r := range map[string]*Document{"small": small(), "quarter": quarter()} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			require.NoError(t, r.WriteSummary(&b))
			var s assess.Summary
			require.NoError(t, json.Unmarshal(b.Bytes(), &s))
			sums := map[string]float64{}
			var field map[string]any
			for _, f := range features(t, r).Features {
				kind := f.Properties["kind"].(string)
				if kind == "field" {
					field = f.Properties
					continue
				}
				for key, value := range f.Properties {
					if v, ok := value.(float64); ok {
						sums[key] += v
						sums[kind+" "+key] += v
					}
				}
			}
			const rounding = 1e-6 // of a figure, times how many are added
			near := func(want, got float64, what string) {
				t.Helper()
				require.InDelta(t, want, got, rounding*float64(len(r.Map.Regions)), what)
			}
			nitrogen, cost := 0.0, 0.0
			for _, p := range s.Products {
				if p.Wasted != nil {
					near(float64(*p.Wasted), sums["wasted_kg "+p.Name], p.Name)
					near(float64(*p.Wasted), field["wasted_kg "+p.Name].(float64), p.Name)
					near(float64(*p.Wasted)/0.45359237, sums["wasted_lb "+p.Name], p.Name) // NIST Handbook 44, Appendix C
				} else {
					near(float64(*p.WastedL), sums["wasted_l "+p.Name], p.Name)
				}
				if p.Nitrogen.Wasted != nil {
					nitrogen += float64(*p.Nitrogen.Wasted)
				}
				if p.WastedCost != nil {
					cost += float64(*p.WastedCost)
				}
			}
			near(nitrogen, sums["wasted_n_kg"], "nitrogen")
			near(cost, sums["wasted_cost"], "cost")
			near(s.Ground.Skip.Float(), sums["skip area_m2"], "skip")
			near(s.Ground.Overlap.Float(), sums["overlap area_m2"], "overlap")
			near(s.Ground.Skip.Float(), field["skip_m2"].(float64), "skip")
			near(s.Ground.Covered.Float(), field["covered_m2"].(float64), "covered")
			near(s.Field.Area.Float(), field["area_m2"].(float64), "field")
			near(float64(s.Headland.Edge.Open), sums["open length_m"], "open")
			if s.Loss != nil && s.Loss.Net != nil {
				near(float64(*s.Loss.Net), sums["loss"], "loss")
			}
		})
	}
}

// A patch has one number in the summary and in the map.
func TestNumbersAgreeAcrossFiles(t *testing.T) {
	r := small()
	r.MinArea = 100 * plane.SquareMetre
	areas := map[float64]float64{}
	for _, f := range features(t, r).Features {
		if f.Properties["kind"] == "skip" {
			areas[f.Properties["id"].(float64)] = f.Properties["area_m2"].(float64)
		}
	}
	var b bytes.Buffer
	require.NoError(t, r.WriteSummary(&b))
	var summary map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &summary))
	listed := summary["skips"].([]any)
	require.NotEmpty(t, listed)
	for _, s := range listed {
		s := s.(map[string]any)
		require.Equal(t, areas[s["id"].(float64)], s["area_m2"])
	}
}

// areaOn measures a geometry back on the plane.
func areaOn(f geo.Frame, g geom.Geometry) plane.Area {
	var sum plane.Area
	for _, p := range polygonsOf(g) {
		for _, ring := range p.DumpRings() {
			var r plane.Ring
			seq := ring.Coordinates()
			for i := range seq.Length() - 1 {
				xy := seq.GetXY(i)
				at, _ := f.ToPlane(geo.LonLat{Lon: xy.X, Lat: xy.Y})
				r = append(r, at)
			}
			sum += r.Area()
		}
	}
	return sum
}

// moved is the small field somewhere else.
func moved(to geo.LonLat) *Document {
	r := small()
	r.Map.Field.Frame = geo.NewFrame(to)
	return r
}

// RFC 7946 section 3.1.9: what crosses the antimeridian is cut there.
func TestCutAtTheAntimeridian(t *testing.T) {
	for name, lon := range map[string]float64{"in the middle": 180, "west of it": 179.9995, "east of it": -179.9995, "on an edge": 180 - 0.0001} {
		t.Run(name, func(t *testing.T) {
			r := moved(geo.LonLat{Lon: lon, Lat: -17.2})
			frame := r.Map.Field.Frame
			parts := 0
			var whole plane.Area
			for _, f := range features(t, r).Features {
				g := valid(t, f.Geometry)
				for _, xy := range envelopes(g) {
					require.LessOrEqual(t, xy[1]-xy[0], 0.01, "spans the world: %v", f.Properties)
				}
				if n := len(polygonsOf(g)); n > 1 {
					parts += n
				}
				if f.Properties["kind"] == "field" {
					whole += areaOn(frame, g)
				}
			}
			require.Positive(t, parts)
			// Half a unit along 1,560 m of boundary and 600 m of cut, in m².
			require.InDelta(t, r.Map.Totals.Field.SquareMetres(), whole.SquareMetres(), 2160*1.2e-4)
		})
	}
	for _, f := range features(t, moved(geo.LonLat{Lon: 179.9, Lat: -17.2})).Features {
		_, multi := valid(t, f.Geometry).AsMultiPolygon()
		require.False(t, multi)
	}
}

// envelopes gives the westmost and eastmost longitude of each part.
func envelopes(g geom.Geometry) [][2]float64 {
	var out [][2]float64
	for _, part := range g.Dump() {
		west, east := math.Inf(1), math.Inf(-1)
		seq := part.DumpCoordinates()
		for i := range seq.Length() {
			xy := seq.GetXY(i)
			west, east = min(west, xy.X), max(east, xy.X)
		}
		out = append(out, [2]float64{west, east})
	}
	return out
}

func TestPassWithoutALineIsCounted(t *testing.T) {
	r := empty()
	r.Map.Passes = []coverage.Pass{{ID: 1, Pass: work.Pass{Poses: []work.Pose{{Bar: assesstest.At(0, 0)}}}}}
	require.Equal(t, 1, features(t, r).LeftOut)
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

func TestWriteErrorsAreReported(t *testing.T) {
	r := small()
	for _, write := range []func(io.Writer) error{r.Text, r.WriteSummary, r.GeoJSON, r.Page} {
		require.ErrorIs(t, write(failing{}), io.ErrShortWrite)
	}
}

func BenchmarkGeoJSON(b *testing.B) {
	r := quarter()
	var size bytes.Buffer
	require.NoError(b, r.GeoJSON(&size))
	b.SetBytes(int64(size.Len()))
	for b.Loop() {
		if err := r.GeoJSON(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
