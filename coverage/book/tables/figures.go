package tables

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/figure"
	"lapwing/coverage/lapsum"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// showWastes writes what each product wasted by cause.
func showWastes(ctx context.Context, tx *sql.Tx, farm, assessment int64, p *book.Part) error {
	rows := newInsert("wastes (farm, assessment, product, cause, ground_m2, n_kg, cost, currency)")
	for i := range p.Products {
		w := &p.Products[i].Waste
		causes := slices.Clone(w.ByCause)
		causes = append(causes, assess.CauseAmount{Cause: agronomy.BeyondBoundary, AmountSummary: w.OverReach}, assess.CauseAmount{Cause: book.TooSmall, AmountSummary: w.Slivers})
		for _, c := range causes {
			if c.Ground == 0 {
				continue
			}
			rows.row(farm, assessment, i, string(c.Cause), c.Ground.Float(), orUnknown(c.N), orUnknown(c.Cost), orNull(p.Products[i].Currency))
		}
	}
	return rows.do(ctx, tx)
}

// orUnknown is a figure as a value; null where it is not known.
func orUnknown(f *figure.Number) any {
	if f == nil {
		return nil
	}
	return number(*f)
}

// machineColumns are what a machine did in an assessment, see machineFigures.
const machineColumns = "swept_m2, new_m2, overlap_m2, field_s, working_s, lap_aimed_m, left_along_m, left_lap_m, right_along_m, right_lap_m, season, attention, x, y"

// machineFigures are the values of machineColumns for the machine at a place. Of two
// machines of one name the first has what both did.
func machineFigures(p *book.Part, place int) []any {
	name := p.Machines[place].Name
	first := slices.IndexFunc(p.Machines, func(m assess.MachineSummary) bool { return m.Name == name })
	var swept, fresh, lapped float64
	var laps []lapsum.Driven
	out := make([]any, 10)
	onMap := mapFigures(p)[:4]
	if first != place {
		return append(out, onMap...)
	}
	for i := range p.Passes {
		if s := &p.Passes[i]; s.Machine == name {
			swept, fresh, lapped = swept+s.Swept.Float(), fresh+s.New.Float(), lapped+s.Overlap.Float()
			laps = append(laps, lapsum.Driven{LapKeptSummary: &s.Lap})
		}
	}
	out[0], out[1], out[2] = swept, fresh, lapped
	var inField, working float64
	timed := false
	for i := range p.Times {
		if t := &p.Times[i]; t.Machine == name {
			inField += float64(t.Working + t.Turning + t.Standing + t.Stopped + t.Travelling)
			working += float64(t.Working)
			timed = true
		}
	}
	if timed {
		out[3], out[4] = number(inField), number(working)
	}
	if s := lapsum.Of(laps); s.Passes > 0 {
		out[5] = number(s.Aimed)
		for i, side := range []lapsum.SideSum{s.Left, s.Right} {
			if side.Along > 0 {
				out[6+2*i], out[7+2*i] = number(side.Along), number(side.Kept)
			}
		}
	}
	return append(out, onMap...)
}

// perDegree is a degree of the map at the equator, and stripsPerDegree how many strips of
// the map it has: what is in a view is looked for strip by strip.
const (
	perDegree       = 111_319 * plane.Metre
	stripsPerDegree = 8
)

// stripOf is the strip of a place.
func stripOf(x float64) int { return int(math.Floor((x + 180) * stripsPerDegree)) }

// coarse is how far the outline that is kept may lie from the boundary: a pixel, where a
// field of a quarter of a square mile is a hundred wide.
const coarse = 8 * plane.Metre

// mapColumns say where an assessment is on the map, see mapFigures.
var mapColumns = []string{"season", "attention", "x", "y", "x_least", "y_least", "x_most", "y_most", "strip", "outline", "skipped_m2", "unworked_m2"}

// mapFigures are the values of mapColumns.
func mapFigures(p *book.Part) []any {
	out := []any{p.Year(), int(p.Attention()), nil, nil, nil, nil, nil, nil, nil, nil, p.Skipped(), p.Unworked()}
	box, some := book.BoxOnMap(p.Boundary)
	if !some {
		return out
	}
	at := book.OnMap(geo.LonLat{Lon: float64(p.Field.Lon), Lat: float64(p.Field.Lat)})
	if math.IsNaN(at.X) || math.IsNaN(at.Y) {
		at = book.MapPlace{X: (box.Least.X + box.Most.X) / 2, Y: (box.Least.Y + box.Most.Y) / 2}
	}
	lat := float64(p.Boundary[0].Shell[0].Lat) * math.Pi / 180
	copy(out[2:], []any{at.X, at.Y, box.Least.X, box.Least.Y, box.Most.X, box.Most.Y, stripOf(at.X), outline(p.Boundary, float64(coarse)/math.Cos(lat))})
	return out
}

// outline is polygons as [book.FieldOnMap] has them, no farther off than a tolerance in
// ticks of the map.
func outline(polygons []geo.Polygon, tolerance float64) string {
	var b strings.Builder
	b.WriteByte('[')
	for _, p := range polygons {
		for _, ring := range append([][]geo.LonLat{p.Shell}, p.Holes...) {
			if thin := thinned(ring, tolerance); len(thin) > 2 {
				if b.Len() > 1 {
					b.WriteByte(',')
				}
				b.WriteByte('[')
				var last [2]int
				for i, at := range thin {
					if i > 0 {
						b.WriteByte(',')
					}
					b.WriteString(strconv.Itoa(at[0] - last[0]))
					b.WriteByte(',')
					b.WriteString(strconv.Itoa(at[1] - last[1]))
					last = at
				}
				b.WriteByte(']')
			}
		}
	}
	b.WriteByte(']')
	return b.String()
}

// thinned are the corners of a ring that are drawn, in millionths of a degree of the map.
func thinned(ring []geo.LonLat, tolerance float64) (out [][2]int) {
	if len(ring) == 0 {
		return nil
	}
	from := book.OnMap(ring[0])
	flat := make(plane.Ring, len(ring))
	for i, at := range ring {
		m := book.OnMap(at)
		flat[i] = plane.Point{X: plane.Length((m.X - from.X) * float64(perDegree)), Y: plane.Length((m.Y - from.Y) * float64(perDegree))}
	}
	if n := len(flat); n > 1 && flat[n-1] == flat[0] {
		flat = flat[:n-1]
	}
	for _, at := range flat.Thinned(plane.Distance(tolerance)) {
		out = append(out, [2]int{
			int(math.Round((from.X + float64(at.X)/float64(perDegree)) * 1e6)), int(math.Round((from.Y + float64(at.Y)/float64(perDegree)) * 1e6)),
		})
	}
	return out
}

// showFigures tells of what was put before the tables had columns for it: causes of waste,
// what machines did, and the map. It reads what is stored.
func (b *Book) showFigures(ctx context.Context, tx *sql.Tx) error {
	type shown struct {
		id, farm  int64
		job, name string
		part      int
	}
	var all []shown
	err := each(ctx, tx, func(scan scanner) error {
		var s shown
		err := scan(&s.id, &s.farm, &s.job, &s.part, &s.name)
		all = append(all, s)
		return err
	}, "SELECT id, farm, job, part, name FROM assessments ORDER BY id")
	if err != nil {
		return err
	}
	for _, s := range all {
		var stored []byte
		if err := one(ctx, tx, "SELECT assessment FROM stored WHERE job = $1 AND part = $2", []any{s.job, s.part}, &stored); err != nil {
			return err
		}
		p, _, err := book.ReadPart(stored)
		if err != nil {
			return fmt.Errorf("job %s: %w", s.job, err)
		}
		if err := showWastes(ctx, tx, s.farm, s.id, p); err != nil {
			return err
		}
		// It is stored under neutral names.
		if err := set(ctx, tx, "assessments", append([]string{"called"}, mapColumns...), append([]any{strings.ToLower(s.name)}, mapFigures(p)...), "id", s.id); err != nil {
			return err
		}
		for i := range p.Machines {
			if err := set(ctx, tx, "assessment_machines", strings.Split(machineColumns, ", "), machineFigures(p, i), "assessment", s.id, "place", i); err != nil {
				return err
			}
		}
	}
	return nil
}

// set sets columns of the rows whose keys are pairs of a name and a value.
func set(ctx context.Context, tx *sql.Tx, table string, columns []string, values []any, keys ...any) error {
	var sets, where []string
	for i, c := range columns {
		sets = append(sets, fmt.Sprintf("%s = $%d", c, i+1))
	}
	values = slices.Clone(values)
	for i := 0; i < len(keys); i += 2 {
		values = append(values, keys[i+1])
		where = append(where, fmt.Sprintf("%s = $%d", keys[i], len(values)))
	}
	_, err := tx.ExecContext(ctx, "UPDATE "+table+" SET "+strings.Join(sets, ", ")+" WHERE "+strings.Join(where, " AND "), values...)
	return err
}
