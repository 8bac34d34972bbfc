package booktest

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/paulmach/orb/geojson"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/geo"
	"lapwing/geo/tile"
)

// featured is the crowd's book as other programs have it.
func (c *Crowd) featured(t testing.TB) book.Featured {
	t.Helper()
	b, ok := c.Book.(book.Featured)
	require.True(t, ok, "a %T gives no features", c.Book)
	return b
}

// featuresOf are the features of a selection, which is counted as well.
func (c *Crowd) featuresOf(t testing.TB, ctx context.Context, of book.Selection) (list []book.Feature) {
	t.Helper()
	require.NoError(t, c.featured(t).Features(ctx, of, func(f book.Feature) error {
		list = append(list, f)
		return nil
	}))
	if of.Most == 0 && of.After == 0 {
		n, err := c.featured(t).Matched(ctx, of)
		require.NoError(t, err)
		assert.Equal(t, len(list), n, "%+v", of)
	}
	return list
}

// valuesOf are the values of a feature by the names of their properties.
func valuesOf(t testing.TB, layer string, f book.Feature) map[string]any {
	t.Helper()
	l, ok := book.LayerNamed(layer)
	require.True(t, ok)
	require.Len(t, f.Values, len(l.Properties))
	out := map[string]any{}
	for i, p := range l.Properties {
		out[p.Name] = f.Values[i]
	}
	return out
}

// features: each layer has what was put, with its figures.
func features(t *testing.T, c *Crowd) {
	p := north.part(t)
	ctx := as(t, c.Ada)
	one := func(layer string) map[string]any {
		t.Helper()
		list := c.featuresOf(t, ctx, book.Selection{Layer: layer})
		require.NotEmpty(t, list)
		assert.NotZero(t, list[0].ID)
		assert.Equal(t, layer == "passes", len(list[0].Lines) > 0)
		assert.Equal(t, layer != "passes", len(list[0].Polygons) > 0)
		return valuesOf(t, layer, list[0])
	}
	field, ground := one("fields"), one("ground")
	assert.Equal(t, map[string]any{"field": "North", "farm": "Aspen", "area_m2": p.Field.Area.Float(), "last_year": int64(2026), "works": int64(1),
		"first_work": p.First, "last_work": p.Last}, field)
	fields := c.featuresOf(t, ctx, book.Selection{Layer: "fields"})
	for name, want := range map[string]any{
		"field": "North", "farm": "Aspen", "year": int64(2026), "operation": nil, "crop": "winter rye", "first_work": p.First, "last_work": p.Last, "field_id": fields[0].ID,
		"machines": "drill A", "operators": "Ada", "area_m2": p.Field.Area.Float(), "skip_m2": p.Ground.Skip.Float(), "overlap_m2": p.Ground.Overlap.Float(),
		"swept_m2": p.Ground.Swept.Float(), "skips": int64(len(p.Skips)), "passes": int64(len(p.Passes)), "warnings": int64(len(p.Warnings)),
	} {
		assert.Equal(t, want, ground[name], name)
	}
	assert.Equal(t, p.Boundary, fields[0].Polygons)
	is := c.featuresOf(t, ctx, book.Selection{Layer: "ground"})[0].ID
	skips := c.featuresOf(t, ctx, book.Selection{Layer: "skips"})
	require.Len(t, skips, len(p.Skips))
	for i, f := range skips {
		v := valuesOf(t, "skips", f)
		assert.Equal(t, p.SkipShapes[i], f.Polygons)
		assert.Equal(t, []any{"North", "Aspen", int64(2026), is, int64(p.Skips[i].ID), p.Skips[i].Area.Float(), string(p.Skips[i].Cause), p.Last},
			[]any{v["field"], v["farm"], v["year"], v["ground_id"], v["number"], v["area_m2"], v["cause"], v["last_work"]})
		assert.IsType(t, true, v["mistake"])
	}
	overlaps := c.featuresOf(t, ctx, book.Selection{Layer: "overlaps"})
	require.Len(t, overlaps, len(p.Overlaps))
	assert.Equal(t, int64(p.Overlaps[0].Depth), valuesOf(t, "overlaps", overlaps[0])["depth"])
	passes := c.featuresOf(t, ctx, book.Selection{Layer: "passes"})
	require.Len(t, passes, len(p.Passes))
	assert.Equal(t, p.PassLines[0], passes[0].Lines)
	assert.Equal(t, []any{"drill A", p.Passes[0].Kind, int64(p.Passes[0].ID)},
		[]any{valuesOf(t, "passes", passes[0])["machine"], valuesOf(t, "passes", passes[0])["kind"], valuesOf(t, "passes", passes[0])["number"]})

	stop := errors.New("enough")
	require.ErrorIs(t, c.featured(t).Features(ctx, book.Selection{Layer: "fields"}, func(book.Feature) error { return stop }), stop)
	_, err := c.featured(t).Matched(ctx, book.Selection{Layer: "people"})
	require.ErrorIs(t, err, book.ErrNotFound)
	require.Error(t, c.featured(t).Features(ctx, book.Selection{Layer: "fields", Where: map[string]any{"cause": "turn"}}, nil), "fields have none")
}

// featuresApart: nobody gets a feature of a farm that they may not look at, by whatever they
// ask.
func featuresApart(t *testing.T, c *Crowd) {
	all := map[string][]book.Feature{}
	for _, l := range book.Layers {
		all[l.Name] = c.featuresOf(t, as(t, c.Max), book.Selection{Layer: l.Name})
	}
	for _, of := range []struct {
		ctx  context.Context
		farm []string
	}{
		{as(t, c.Max), []string{"Aspen", "Birch"}}, {at(t, c.Max, c.Birch), []string{"Birch"}}, {as(t, c.Ada), []string{"Aspen"}}, {as(t, c.Al), []string{"Aspen"}},
		{as(t, c.Bo), []string{"Birch"}}, {as(t, c.Cy), nil}, {as(t, 0), nil}, {t.Context(), nil}, {at(t, c.Ada, c.Birch), nil},
	} {
		for _, l := range book.Layers {
			var want, got []int64
			for _, f := range all[l.Name] {
				farm := valuesOf(t, l.Name, f)["farm"].(string)
				sees := slices.Contains(of.farm, farm)
				if sees {
					want = append(want, f.ID)
				}
				assert.Equal(t, sees, len(c.featuresOf(t, of.ctx, book.Selection{Layer: l.Name, ID: f.ID})) == 1, "%s of %s", l.Name, farm)
				assert.Equal(t, sees, len(c.featuresOf(t, of.ctx, book.Selection{Layer: l.Name, Where: map[string]any{"farm": farm}})) > 0, "%s of %s", l.Name, farm)
			}
			for _, f := range c.featuresOf(t, of.ctx, book.Selection{Layer: l.Name}) {
				got = append(got, f.ID)
			}
			assert.Equal(t, want, got, l.Name)
			reach, err := c.featured(t).Reach(of.ctx, l.Name)
			require.NoError(t, err)
			assert.Equal(t, len(want) > 0, reach.Box != nil, l.Name)
			drawn := 0
			for _, home := range []geo.LonLat{north.at, south.at} {
				for _, z := range []int{0, 14} {
					drawn += len(c.drawn(t, of.ctx, l, tileAt(z, home)))
				}
			}
			assert.Equal(t, len(want) > 0, drawn > 0, l.Name)
		}
	}
}

// featuresChosen: a selection gives what it says, page after page.
func featuresChosen(t *testing.T, c *Crowd) {
	before := north
	before.year, before.machine, before.operator, before.crop = 2024, "drill Z", "", "oats"
	c.put(t, c.Ada, c.Aspen, "three", before)
	ctx := as(t, c.Max)
	count := func(of book.Selection) int { return len(c.featuresOf(t, ctx, of)) }
	p := north.part(t)
	for layer, each := range map[string]int{"ground": 1, "passes": len(p.Passes), "skips": len(p.Skips), "overlaps": len(p.Overlaps)} {
		where := func(name string, value any) int {
			return count(book.Selection{Layer: layer, Where: map[string]any{name: value}})
		}
		assert.Equal(t, 3*each, count(book.Selection{Layer: layer}), layer)
		assert.Equal(t, []int{2 * each, each, 0}, []int{where("field", "North"), where("field", "South"), where("field", "north")}, layer)
		assert.Equal(t, []int{2 * each, each, 0}, []int{where("farm", "Aspen"), where("farm", "Birch"), where("farm", "' OR 1 = 1 --")}, layer)
		assert.Equal(t, []int{each, each, 0}, []int{where("crop", "winter rye"), where("crop", "oats"), where("crop", "")}, layer)
		assert.Equal(t, []int{each, 0, 2 * each}, []int{where("year", 2024), where("year", 2025), where("year", 2026)}, layer)
		assert.Equal(t, []int{each, each, each, 0}, []int{where("machine", "drill A"), where("machine", "drill B"), where("machine", "drill Z"), where("machine", "drill")}, layer)
		assert.Equal(t, each, count(book.Selection{Layer: layer, Where: map[string]any{"field": "North", "farm": "Aspen", "year": 2026, "machine": "drill A"}}), layer)
	}
	causes := map[string]int{}
	for _, s := range p.Skips {
		causes[string(s.Cause)]++
	}
	for cause, n := range causes {
		assert.Equal(t, 3*n, count(book.Selection{Layer: "skips", Where: map[string]any{"cause": cause}}), cause)
	}
	assert.Equal(t, []int{1, 1, 0}, []int{count(book.Selection{Layer: "fields", Where: map[string]any{"machine": "drill Z"}}),
		count(book.Selection{Layer: "fields", Where: map[string]any{"machine": "drill B"}}), count(book.Selection{Layer: "fields", Where: map[string]any{"machine": "none"}})})
	assert.Equal(t, []int{2, 1, 1, 2}, []int{count(book.Selection{Layer: "fields"}), count(book.Selection{Layer: "fields", Where: map[string]any{"field": "North"}}),
		count(book.Selection{Layer: "fields", Where: map[string]any{"year": 2024}}), count(book.Selection{Layer: "fields", Where: map[string]any{"year": 2026}})})

	// Work was from 9 to 15 o'clock on 4 May; an instant of it is enough, and none between years.
	day := func(year, hour int) time.Time { return time.Date(year, 5, 4, hour, 0, 0, 0, time.UTC) }
	for _, when := range []struct {
		from, to     time.Time
		fields, work int
	}{
		{time.Time{}, day(2024, 9), 1, 1}, {time.Time{}, day(2024, 8), 0, 0}, {day(2024, 15), day(2024, 16), 1, 1}, {day(2024, 16), day(2026, 8), 0, 0},
		{day(2024, 16), time.Time{}, 2, 2}, {day(2026, 12), day(2026, 12), 2, 2}, {day(2024, 12), day(2026, 12), 2, 3}, {day(2026, 16), time.Time{}, 0, 0},
	} {
		assert.Equal(t, when.fields, count(book.Selection{Layer: "fields", From: when.from, To: when.to}), "%+v", when)
		assert.Equal(t, when.work, count(book.Selection{Layer: "ground", From: when.from, To: when.to}), "%+v", when)
		assert.Equal(t, when.work*len(p.Skips), count(book.Selection{Layer: "skips", From: when.from, To: when.to}), "%+v", when)
	}

	for _, l := range book.Layers {
		all := c.featuresOf(t, ctx, book.Selection{Layer: l.Name})
		var paged []book.Feature
		for after := int64(0); ; after = paged[len(paged)-1].ID {
			page := c.featuresOf(t, ctx, book.Selection{Layer: l.Name, After: after, Most: 2})
			if paged = append(paged, page...); len(page) < 2 {
				break
			}
			n, err := c.featured(t).Matched(ctx, book.Selection{Layer: l.Name, After: page[1].ID, Most: 2})
			require.NoError(t, err)
			assert.Equal(t, len(all), n, "all pages are of so many")
		}
		assert.Equal(t, all, paged, l.Name)
	}
	reach, err := c.featured(t).Reach(ctx, "ground")
	require.NoError(t, err)
	assert.Equal(t, []time.Time{day(2024, 9), day(2026, 15)}, []time.Time{reach.First, reach.Last})
}

// featuresInABox: a feature is selected by its shape, not by the box around it, also on the
// antimeridian.
func featuresInABox(t *testing.T, c *Crowd) {
	c.put(t, c.Ada, c.Aspen, "date line", work{"Date line", geo.LonLat{Lon: 180, Lat: -17}, 2026, "drill A", "Ada", ""})
	ctx := as(t, c.Max)
	in := func(layer string, box geo.Extent) int {
		return len(c.featuresOf(t, ctx, book.Selection{Layer: layer, Box: &box}))
	}
	const hair = 1e-6 // a tenth of a metre
	for _, l := range book.Layers {
		for _, f := range c.featuresOf(t, ctx, book.Selection{Layer: l.Name, Where: map[string]any{"field": "North"}}) {
			around, corner := geo.Extent{West: 180, East: -180, South: 90, North: -90}, geo.LonLat{}
			each(f, func(p geo.LonLat) {
				around.West, around.East, around.South, around.North = min(around.West, p.Lon), max(around.East, p.Lon), min(around.South, p.Lat), max(around.North, p.Lat)
				corner = p
			})
			has := func(box geo.Extent) bool {
				return len(c.featuresOf(t, ctx, book.Selection{Layer: l.Name, Box: &box, ID: f.ID})) > 0
			}
			assert.True(t, has(around))
			assert.True(t, has(geo.Extent{West: -180, East: 180, South: -90, North: 90}))
			assert.True(t, has(geo.Extent{West: corner.Lon - hair, East: corner.Lon + hair, South: corner.Lat - hair, North: corner.Lat + hair}), "at one place of it")
			assert.True(t, has(geo.Extent{West: corner.Lon, East: corner.Lon, South: corner.Lat, North: corner.Lat}), "a box that is a place of it")
			assert.True(t, has(geo.Extent{West: around.West - 1, East: around.East + 1, South: corner.Lat, North: corner.Lat}), "a box without a height")
			assert.False(t, has(geo.Extent{West: around.East + hair, East: around.East + 1, South: around.South, North: around.North}), "beside it")
			assert.False(t, has(geo.Extent{West: around.West, East: around.East, South: around.North + hair, North: around.North + 1}), "above it")
		}
	}
	// A field has no place in its pond, which stands at 120 to 150 m east and -20 to 30 m north
	// of its middle, and none of its edges is where it is all around.
	small := func(east, north float64) geo.Extent {
		p := geo.LonLat{Lon: -98.4 + east/71.7e3, Lat: 50 + north/111.2e3}
		return geo.Extent{West: p.Lon - hair, East: p.Lon + hair, South: p.Lat - hair, North: p.Lat + hair}
	}
	for _, layer := range []string{"fields", "ground"} {
		assert.Equal(t, []int{0, 1}, []int{in(layer, small(135, 5)), in(layer, small(0, -50))}, layer)
	}
	// A line has no place beside it, though the box around it may.
	apart := 0
	for _, f := range c.featuresOf(t, ctx, book.Selection{Layer: "passes", Where: map[string]any{"field": "North"}}) {
		near := func(p geo.LonLat) bool {
			return len(c.featuresOf(t, ctx, book.Selection{Layer: "passes", ID: f.ID, Box: &geo.Extent{West: p.Lon - hair, East: p.Lon + hair, South: p.Lat - hair, North: p.Lat + hair}})) > 0
		}
		a, b := f.Lines[0][0], f.Lines[0][1]
		long := math.Hypot(b.Lon-a.Lon, b.Lat-a.Lat)
		middle := geo.LonLat{Lon: (a.Lon + b.Lon) / 2, Lat: (a.Lat + b.Lat) / 2}
		assert.True(t, near(middle))
		if !near(geo.LonLat{Lon: middle.Lon + 20*hair*(b.Lat-a.Lat)/long, Lat: middle.Lat - 20*hair*(b.Lon-a.Lon)/long}) {
			apart++
		}
	}
	assert.NotZero(t, apart)
	assert.Equal(t, 1, in("fields", geo.Extent{West: 179, East: 181, South: -18, North: -16}), "over the antimeridian")
	assert.Equal(t, 1, in("fields", geo.Extent{West: 179, East: 180, South: -18, North: -16}))
	assert.Equal(t, 1, in("fields", geo.Extent{West: -180, East: -179, South: -18, North: -16}))
	assert.Equal(t, 0, in("fields", geo.Extent{West: -179, East: 179, South: -18, North: -16}))
	assert.Equal(t, 3, in("fields", geo.Extent{West: -99, East: 260, South: -90, North: 90}))
}

// each calls do with each place of a feature.
func each(f book.Feature, do func(geo.LonLat)) {
	lines := f.Lines
	for _, p := range f.Polygons {
		lines = append(append(lines, p.Shell), p.Holes...)
	}
	for _, l := range lines {
		for _, p := range l {
			do(p)
		}
	}
}

func tileAt(z int, p geo.LonLat) tile.Tile {
	n := float64(int(1) << z)
	return tile.Tile{Z: z, X: int((p.Lon + 180) / 360 * n), Y: int((1 - math.Asinh(math.Tan(p.Lat*math.Pi/180))/math.Pi) / 2 * n)}
}

// drawn are the features of a tile by their numbers, in its units.
func (c *Crowd) drawn(t testing.TB, ctx context.Context, l book.Layer, at tile.Tile) map[int64]*geojson.Feature {
	t.Helper()
	bytes, err := c.featured(t).Tile(ctx, book.Selection{Layer: l.Name}, at.Z, at.X, at.Y)
	require.NoError(t, err)
	return Drawn(t, l.Name, bytes)
}

// Drawn reads a vector tile that has one layer, or none: its features by their numbers, in
// its units.
func Drawn(t testing.TB, layer string, bytes []byte) map[int64]*geojson.Feature {
	t.Helper()
	layers, err := mvt.Unmarshal(bytes)
	require.NoError(t, err)
	out := map[int64]*geojson.Feature{}
	for _, l := range layers {
		assert.Equal(t, layer, l.Name)
		assert.EqualValues(t, 2, l.Version, "of MVT 2.1, 4.1")
		assert.EqualValues(t, tile.Units, l.Extent)
		assert.NotEmpty(t, l.Features)
		for _, f := range l.Features {
			out[int64(f.ID.(float64))] = f
		}
	}
	return out
}

// tiles: whatever draws a tile draws what package tile draws of the same features.
func tiles(t *testing.T, c *Crowd) {
	ctx := as(t, c.Ada)
	for _, l := range book.Layers {
		all := c.featuresOf(t, ctx, book.Selection{Layer: l.Name})
		for _, z := range []int{0, 5, 9, 10, 13, 15, 17} {
			at := tileAt(z, north.at)
			got := c.drawn(t, ctx, l, at)
			if z < l.FromZoom {
				assert.Empty(t, got, "%s at zoom %d", l.Name, z)
				continue
			}
			var shown []tile.Feature
			for _, f := range all {
				s := tile.Feature{ID: f.ID, Polygons: f.Polygons, Lines: f.Lines, Properties: map[string]any{}}
				for i, p := range l.Properties {
					if p.Drawn && f.Values[i] != nil {
						s.Properties[p.Name] = f.Values[i]
					}
				}
				if z < book.ShapesFrom {
					s.At = &north.at
				}
				shown = append(shown, s)
			}
			bytes, err := tile.Encode(l.Name, at, shown)
			require.NoError(t, err)
			want := Drawn(t, l.Name, bytes)
			require.Equal(t, len(want) > 0, len(got) > 0, "%s at zoom %d", l.Name, z)
			if z >= 15 || l.Name == "fields" {
				require.NotEmpty(t, got, "%s at zoom %d", l.Name, z)
			}
			for id, f := range want {
				if g, ok := got[id]; assert.True(t, ok || tiny(f.Geometry), "%s %d at zoom %d: %v", l.Name, id, z, f.Geometry) && ok {
					assert.Equal(t, f.Properties, g.Properties)
					assertNear(t, f.Geometry, g.Geometry, fmt.Sprintf("%s %d at zoom %d", l.Name, id, z))
				}
			}
			for id, f := range got {
				assert.True(t, want[id] != nil || tiny(f.Geometry), "%s %d at zoom %d: %v", l.Name, id, z, f.Geometry)
			}
		}
		other := c.drawn(t, ctx, l, tileAt(15, home(40, 0)))
		assert.Empty(t, other)
	}
	// Of points that would lie on one another there is one, and of shapes no more than are wanted,
	// the newest.
	fields, _ := book.LayerNamed("fields")
	all := c.featuresOf(t, as(t, c.Max), book.Selection{Layer: "fields"})
	assert.Equal(t, []int64{all[0].ID}, slices.Collect(maps.Keys(c.drawn(t, as(t, c.Max), fields, tile.Tile{}))))
	assert.Len(t, c.drawn(t, as(t, c.Max), fields, tileAt(9, north.at)), 2, "5 km apart")
	close := tileAt(15, north.at)
	passes := c.featuresOf(t, ctx, book.Selection{Layer: "passes"})
	bytes, err := c.featured(t).Tile(ctx, book.Selection{Layer: "passes", Most: 1}, close.Z, close.X, close.Y)
	require.NoError(t, err)
	assert.Equal(t, []int64{passes[len(passes)-1].ID}, slices.Collect(maps.Keys(Drawn(t, "passes", bytes))))

	of := book.Selection{Layer: "ground", Where: map[string]any{"year": 2025}}
	at := tileAt(14, north.at)
	bytes, err = c.featured(t).Tile(ctx, of, at.Z, at.X, at.Y)
	require.NoError(t, err)
	assert.Empty(t, bytes)
	of.Where["year"] = 2026
	bytes, err = c.featured(t).Tile(ctx, of, at.Z, at.X, at.Y)
	require.NoError(t, err)
	assert.Len(t, Drawn(t, "ground", bytes), 1)

	_, err = c.featured(t).Tile(ctx, book.Selection{Layer: "fields"}, 3, 8, 0)
	require.ErrorIs(t, err, book.ErrNotFound)
	_, err = c.featured(t).Tile(ctx, book.Selection{Layer: "fields"}, 25, 0, 0)
	require.ErrorIs(t, err, book.ErrNotFound)
}

// tiny reports whether a shape is of a pixel or two, where one way of simplifying may keep
// it and another drop it.
func tiny(g orb.Geometry) bool {
	b := g.Bound()
	return min(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) <= 2*tile.Pixel
}

// assertNear holds two shapes to the same box, but for how far simplifying may move either.
func assertNear(t testing.TB, want, got orb.Geometry, what string) {
	t.Helper()
	w, g := want.Bound(), got.Bound()
	for _, d := range []float64{w.Min[0] - g.Min[0], w.Min[1] - g.Min[1], w.Max[0] - g.Max[0], w.Max[1] - g.Max[1]} {
		assert.LessOrEqual(t, math.Abs(d), 2*tile.Tolerance+1, what)
	}
	for _, shape := range []orb.Geometry{want, got} {
		polygons, _ := shape.(orb.MultiPolygon)
		if p, one := shape.(orb.Polygon); one {
			polygons = orb.MultiPolygon{p}
		}
		for _, p := range polygons {
			for i, r := range p {
				assert.Equal(t, map[bool]orb.Orientation{true: orb.CCW, false: orb.CW}[i == 0], r.Orientation(), "MVT 2.1, 4.3.4.4: %s", what)
			}
		}
	}
}
