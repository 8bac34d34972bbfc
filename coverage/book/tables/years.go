package tables

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"

	"lapwing/coverage/book"
	"lapwing/coverage/cause"
	"lapwing/coverage/season"
	"lapwing/geo"
)

// wastedQuery has a row for each cause, and one of cause ” for what no cause tells of. A
// field counts once a year, by the largest of its boundaries.
const wastedQuery = `
WITH told AS (SELECT farm, coalesce(year, 0) AS year, id, field, area_m2, wasted_n_kg FROM assessments WHERE wasted_n_kg IS NOT NULL),
ground AS (SELECT farm, year, sum(area_m2) AS area_m2, count(*) AS fields
	FROM (SELECT farm, year, field, max(area_m2) AS area_m2 FROM told GROUP BY farm, year, field) AS once GROUP BY farm, year),
by_cause AS (SELECT told.farm, told.year, cause, sum(n_kg) AS n_kg, sum(ground_m2) AS ground_m2
	FROM told JOIN wastes ON wastes.assessment = told.id WHERE n_kg IS NOT NULL GROUP BY told.farm, told.year, cause),
untold AS (SELECT farm, year, sum(wasted_n_kg) AS n_kg FROM told
	WHERE wasted_n_kg > 0 AND NOT EXISTS (SELECT 1 FROM wastes WHERE wastes.assessment = told.id) GROUP BY farm, year)
SELECT coalesce((SELECT name FROM farms WHERE farms.id = parts.farm), ''), parts.year, cause, n_kg, ground_m2, ground.area_m2, ground.fields
FROM (SELECT farm, year, cause, n_kg, ground_m2 FROM by_cause UNION ALL SELECT farm, year, '', n_kg, 0.0 FROM untold) AS parts
JOIN ground ON ground.farm = parts.farm AND ground.year = parts.year
ORDER BY 1, 2 DESC, n_kg DESC, cause`

// Wasted is [book.Years]'.
func (b *Book) Wasted(ctx context.Context) (list []book.WastedNitrogen, err error) {
	return rowsOf(ctx, b, func(scan scanner, w *book.WastedNitrogen) error {
		return scan(&w.Farm, &w.Year, &w.Cause, &w.N, &w.Ground, &w.Area, &w.Fields)
	}, wastedQuery)
}

// widthsQuery has a row for each machine and year. A lap that is off by $1 m or more counts
// for a field; sides that have less than a tenth of the way tell of no hang.
const widthsQuery = `
WITH laps AS (SELECT w.farm, season AS year, machines.name AS machine, w.width_m, lap_aimed_m,
		coalesce(left_along_m, 0.0) AS l, coalesce(left_lap_m, 0.0) AS left_m, coalesce(right_along_m, 0.0) AS r, coalesce(right_lap_m, 0.0) AS right_m
	FROM assessment_machines AS w JOIN machines ON machines.id = w.machine
	WHERE coalesce(left_along_m, 0.0) + coalesce(right_along_m, 0.0) > 0),
fields AS (SELECT farm, year, machine, width_m, lap_aimed_m, l, left_m, r, right_m, l + r AS along,
		(l * left_m + r * right_m) / (l + r) AS kept,
		CASE WHEN l >= 0.1 * (l + r) AND r >= 0.1 * (l + r) THEN (left_m - right_m) / 2 END AS hang
	FROM laps)
SELECT coalesce((SELECT name FROM farms WHERE farms.id = fields.farm), ''), machine, year, coalesce(max(width_m), 0.0), count(*), sum(along),
	sum(along * kept) / sum(along), sum(along * lap_aimed_m) / sum(along),
	sum(l * left_m) / nullif(sum(l), 0), sum(r * right_m) / nullif(sum(r), 0),
	sum(CASE WHEN kept - lap_aimed_m >= CAST($1 AS DOUBLE PRECISION) THEN 1 ELSE 0 END), sum(CASE WHEN kept - lap_aimed_m <= -CAST($1 AS DOUBLE PRECISION) THEN 1 ELSE 0 END),
	count(hang), coalesce(sum(along * hang) / nullif(sum(CASE WHEN hang IS NULL THEN 0 ELSE along END), 0), 0.0),
	sum(CASE WHEN hang >= CAST($1 AS DOUBLE PRECISION) THEN 1 ELSE 0 END), sum(CASE WHEN hang <= -CAST($1 AS DOUBLE PRECISION) THEN 1 ELSE 0 END)
FROM fields GROUP BY farm, machine, year ORDER BY 1, year DESC, machine`

// Widths is [book.Years]'.
func (b *Book) Widths(ctx context.Context) (list []book.MachineWidth, err error) {
	return rowsOf(ctx, b, func(scan scanner, m *book.MachineWidth) error {
		var left, right sql.NullFloat64
		err := scan(&m.Farm, &m.Machine, &m.Year, &m.Width, &m.Fields, &m.Along, &m.Kept, &m.Aimed, &left, &right, &m.Wide, &m.Narrow, &m.Sides, &m.Hang, &m.HangsLeft, &m.HangsRight)
		m.Left, m.Right = orNaN(left), orNaN(right)
		return err
	}, widthsQuery, book.Steady)
}

const hoursQuery = `
SELECT coalesce((SELECT name FROM farms WHERE farms.id = w.farm), ''), coalesce(operators.name, ''), season,
	count(DISTINCT assessment), count(DISTINCT CASE WHEN field_s IS NOT NULL THEN assessment END),
	coalesce(sum(field_s), 0.0), coalesce(sum(working_s), 0.0), coalesce(sum(w.swept_m2), 0.0), coalesce(sum(new_m2), 0.0), coalesce(sum(w.overlap_m2), 0.0),
	coalesce(sum(CASE WHEN field_s IS NOT NULL THEN new_m2 END), 0.0)
FROM assessment_machines AS w LEFT JOIN operators ON operators.id = w.operator
GROUP BY w.farm, season, coalesce(operators.name, '')
ORDER BY 1, 3 DESC, 2`

// Hours is [book.Years]'.
func (b *Book) Hours(ctx context.Context) (list []book.OperatorHours, err error) {
	return rowsOf(ctx, b, func(scan scanner, o *book.OperatorHours) error {
		return scan(&o.Farm, &o.Operator, &o.Year, &o.Fields, &o.Clocked, &o.InField, &o.Working, &o.Swept, &o.New, &o.Lapped, &o.ClockedNew)
	}, hoursQuery)
}

// sectionsQuery takes ground from the overlaps that are listed, each visit after the first,
// and nitrogen and money from what was wasted.
const sectionsQuery = `
WITH fields AS (SELECT farm, coalesce(year, 0) AS year, count(*) AS fields, sum(area_m2) AS area_m2, sum(excess_m2) AS excess_m2
	FROM assessments GROUP BY farm, coalesce(year, 0)),
twice AS (SELECT a.farm, coalesce(year, 0) AS year,
		sum(CASE WHEN cause = $1 THEN o.area_m2 * (depth - 1) ELSE 0.0 END) AS point_m2,
		sum(CASE WHEN cause = $2 THEN o.area_m2 * (depth - 1) ELSE 0.0 END) AS headland_m2
	FROM "overlaps" AS o JOIN assessments AS a ON a.id = o.assessment WHERE cause IN ($1, $2) GROUP BY a.farm, coalesce(year, 0)),
saved AS (SELECT a.farm, coalesce(year, 0) AS year, sum(n_kg) AS n_kg, sum(cost) AS cost,
		min(CASE WHEN cost IS NOT NULL THEN w.currency END) AS least, max(CASE WHEN cost IS NOT NULL THEN w.currency END) AS most
	FROM wastes AS w JOIN assessments AS a ON a.id = w.assessment WHERE cause IN ($1, $2) GROUP BY a.farm, coalesce(year, 0))
SELECT coalesce((SELECT name FROM farms WHERE farms.id = fields.farm), ''), fields.year, fields.fields, fields.area_m2, fields.excess_m2,
	coalesce(point_m2, 0.0), coalesce(headland_m2, 0.0), coalesce(n_kg, 0.0),
	CASE WHEN least = most THEN coalesce(cost, 0.0) ELSE 0.0 END, CASE WHEN least = most THEN least ELSE '' END
FROM fields LEFT JOIN twice ON twice.farm = fields.farm AND twice.year = fields.year
LEFT JOIN saved ON saved.farm = fields.farm AND saved.year = fields.year
ORDER BY 1, 2 DESC`

// Sections is [book.Years]'.
func (b *Book) Sections(ctx context.Context) (list []book.SectionSaving, err error) {
	return rowsOf(ctx, b, func(scan scanner, s *book.SectionSaving) error {
		return scan(&s.Farm, &s.Year, &s.Fields, &s.Area, &s.Excess, &s.PointRows, &s.Headland, &s.N, &s.Cost, &s.Currency)
	}, sectionsQuery, string(cause.PointRows), string(cause.OntoHeadland))
}

// leastReturn is the least ground in m² that is told to be skipped twice: less is a corner
// that two patches share by the error of a receiver.
const leastReturn = 1

// mostRead bounds how many skips are read to find those that come back: some seconds of work.
const mostRead = 200_000

// returnsQuery gives the skips of fields that were worked in several years, field by field.
const returnsQuery = `
SELECT coalesce((SELECT name FROM farms WHERE farms.id = a.farm), ''), a.field, a.id, a.name, a.year, a.job, a.part, s.number, %s
FROM skips AS s JOIN assessments AS a ON a.id = s.assessment
WHERE mistake = 1 AND a.year IS NOT NULL AND EXISTS (SELECT 1 FROM assessments AS o WHERE o.field = a.field AND o.year <> a.year)
ORDER BY a.field, a.id, s.number LIMIT $1`

// A skipped is a work on a field, with its skips.
type skipped struct {
	field, id int64
	of        book.SkipReturn // what all of its returns say
	skips     []season.Skip
	boxes     []geo.Extent
}

// Returns is [book.Years]'. How much ground two skips share is worked out here and not by
// the database, so that both tell the same, and the season book too.
func (b *Book) Returns(ctx context.Context, most int) (list []book.SkipReturn, more bool, err error) {
	var works []*skipped // of one field
	read := 0
	settle := func() error {
		for _, later := range works {
			found, err := later.returns(works)
			if err != nil {
				return err
			}
			list = append(list, found...)
		}
		works = nil
		return nil
	}
	err = b.Read(ctx, func(db Asker) error {
		err := each(ctx, db, func(scan scanner) error {
			var w skipped
			var skip season.Skip
			var shape []byte
			if err := scan(&w.of.Farm, &w.field, &w.id, &w.of.Field, &w.of.Later, &w.of.Job, &w.of.Part, &skip.ID, &shape); err != nil {
				return err
			}
			if read++; read > mostRead {
				more = true
				return nil
			}
			if len(works) > 0 && works[0].field != w.field {
				if err := settle(); err != nil {
					return err
				}
			}
			if len(works) == 0 || works[len(works)-1].id != w.id {
				works = append(works, &w)
			}
			var err error
			if skip.Shape, err = b.dialect.ReadPolygons(shape); err != nil {
				return err
			}
			last := works[len(works)-1]
			last.skips, last.boxes = append(last.skips, skip), append(last.boxes, extentOf(skip.Shape))
			return nil
		}, fmt.Sprintf(returnsQuery, b.dialect.ShapeOf("s.geom")), mostRead+1)
		if err != nil {
			return err
		}
		return settle()
	})
	if err != nil {
		return nil, false, err
	}
	slices.SortFunc(list, func(a, b book.SkipReturn) int {
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(a.Farm, b.Farm), cmp.Compare(a.Field, b.Field), cmp.Compare(b.Later, a.Later), cmp.Compare(b.Earlier, a.Earlier), cmp.Compare(a.Skip, b.Skip), cmp.Compare(a.Job, b.Job))
	})
	if len(list) > most {
		list, more = list[:most], true
	}
	return list, more, nil
}

func extentOf(polygons []geo.Polygon) geo.Extent {
	box := geo.NoExtent()
	for _, p := range polygons {
		for _, at := range p.Shell {
			box.Add(at)
		}
	}
	return box
}

// returns are the skips of a work that lie on ground skipped by works of earlier years: one
// for each skip and earlier year. Where several works of that year skipped it, the one counts
// that skipped most of it.
func (w *skipped) returns(works []*skipped) (list []book.SkipReturn, err error) {
	type key struct{ year, skip int }
	best := map[key]book.SkipReturn{}
	for _, earlier := range works {
		if earlier.of.Later >= w.of.Later {
			continue
		}
		here, before := w.meeting(earlier), earlier.meeting(w)
		if len(here) == 0 {
			continue
		}
		var ground []geo.Polygon // for the frame alone
		for _, s := range here {
			ground = append(ground, s.Shape...)
		}
		c, err := season.Compare(season.Map{Skips: before}, season.Map{Boundary: ground, Skips: here})
		if err != nil {
			return nil, err
		}
		sums := map[int]book.SkipReturn{}
		for _, piece := range c.Returns { // the largest first
			r, is := sums[piece.Later]
			if !is {
				r = w.of
				r.Earlier, r.Skip, r.At = earlier.of.Later, piece.Later, piece.At
			}
			r.Area += piece.Area.SquareMetres()
			sums[piece.Later] = r
		}
		for skip, r := range sums {
			if k := (key{r.Earlier, skip}); r.Area > best[k].Area {
				best[k] = r
			}
		}
	}
	for _, r := range best {
		if r.Area >= leastReturn {
			list = append(list, r)
		}
	}
	return list, nil
}

// meeting are the skips whose boxes meet that of one of another work.
func (w *skipped) meeting(o *skipped) (out []season.Skip) {
	for i := range w.skips {
		if slices.ContainsFunc(o.boxes, func(box geo.Extent) bool { return w.boxes[i].Meets(box, 0) }) {
			out = append(out, w.skips[i])
		}
	}
	return out
}
