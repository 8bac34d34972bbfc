package tables

import (
	"cmp"
	"context"
	"database/sql"
	"math"
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

// rowsOf reads a row for each that a query gives of what whoever asks may see.
func rowsOf[T any](ctx context.Context, b *Book, read func(scanner, *T) error, query string, args ...any) (list []T, err error) {
	err = b.Read(ctx, func(db Asker) error {
		return each(ctx, db, func(scan scanner) error {
			var v T
			err := read(scan, &v)
			list = append(list, v)
			return err
		}, query, args...)
	})
	return list, err
}

// widthsQuery has a row for each machine and year. A lap that is off by $1 m or more counts
// for a field; sides that have less than a tenth of the way tell of no hang.
const widthsQuery = `
WITH laps AS (SELECT a.farm, coalesce(year, 0) AS year, machines.name AS machine, w.width_m, lap_aimed_m,
		coalesce(left_along_m, 0.0) AS l, coalesce(left_lap_m, 0.0) AS left_m, coalesce(right_along_m, 0.0) AS r, coalesce(right_lap_m, 0.0) AS right_m
	FROM assessment_machines AS w JOIN assessments AS a ON a.id = w.assessment JOIN machines ON machines.id = w.machine
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

func orNaN(v sql.NullFloat64) float64 {
	if !v.Valid {
		return math.NaN()
	}
	return v.Float64
}

const hoursQuery = `
SELECT coalesce((SELECT name FROM farms WHERE farms.id = a.farm), ''), coalesce(operators.name, ''), coalesce(year, 0),
	count(DISTINCT a.id), count(DISTINCT CASE WHEN field_s IS NOT NULL THEN a.id END),
	coalesce(sum(field_s), 0.0), coalesce(sum(working_s), 0.0), coalesce(sum(w.swept_m2), 0.0), coalesce(sum(new_m2), 0.0), coalesce(sum(w.overlap_m2), 0.0),
	coalesce(sum(CASE WHEN field_s IS NOT NULL THEN new_m2 END), 0.0)
FROM assessment_machines AS w JOIN assessments AS a ON a.id = w.assessment LEFT JOIN operators ON operators.id = w.operator
GROUP BY a.farm, coalesce(year, 0), coalesce(operators.name, '')
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

// mostPairs bounds how many pairs of skips are looked at exactly: some seconds of work.
const mostPairs = 20_000

// returnsQuery gives the pairs of skips of a field in two years whose boxes, or shapes where
// the database knows them, meet.
func (b *Book) returnsQuery() string {
	shape := b.dialect.ShapeOf
	return `
SELECT coalesce((SELECT name FROM farms WHERE farms.id = later.farm), ''), later.name, earlier.year, later.year, l.id, e.id, l.number, later.job, later.part, ` + shape("l.geom") + `, ` + shape("e.geom") + `
FROM assessments AS later JOIN assessments AS earlier ON earlier.field = later.field AND earlier.year < later.year
JOIN skips AS l ON l.assessment = later.id JOIN skips AS e ON e.assessment = earlier.id` + b.dialect.Meet("skips", "l", "e") + `
WHERE l.mistake = 1 AND e.mistake = 1
ORDER BY CASE WHEN l.area_m2 < e.area_m2 THEN l.area_m2 ELSE e.area_m2 END DESC, l.id, e.id LIMIT $1`
}

// Returns is [book.Years]'. Which pairs of skips may meet the database says; how much ground
// they share is worked out here, so that both databases tell the same.
func (b *Book) Returns(ctx context.Context, most int) (list []book.SkipReturn, more bool, err error) {
	// The ground of a later skip that was skipped in an earlier year is one return, however
	// many skips it was of then.
	type key struct {
		later   int64
		earlier int
	}
	returns := map[key]*book.SkipReturn{}
	largest := map[key]float64{}
	pairs := 0
	err = b.Read(ctx, func(db Asker) error {
		return each(ctx, db, func(scan scanner) error {
			var r book.SkipReturn
			var later, earlier int64
			var shapes [2][]byte
			if err := scan(&r.Farm, &r.Field, &r.Earlier, &r.Later, &later, &earlier, &r.Skip, &r.Job, &r.Part, &shapes[0], &shapes[1]); err != nil {
				return err
			}
			if pairs++; pairs > mostPairs {
				more = true
				return nil
			}
			area, at, err := b.shared(shapes)
			if err != nil || area == 0 {
				return err
			}
			k := key{later, r.Earlier}
			known := returns[k]
			if known == nil {
				known = &r
				returns[k] = known
			}
			known.Area += area
			if area > largest[k] {
				largest[k], known.At = area, at
			}
			return nil
		}, b.returnsQuery(), mostPairs+1)
	})
	if err != nil {
		return nil, false, err
	}
	for _, r := range returns {
		if r.Area >= leastReturn {
			list = append(list, *r)
		}
	}
	slices.SortFunc(list, func(a, b book.SkipReturn) int {
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(a.Farm, b.Farm), cmp.Compare(a.Field, b.Field), cmp.Compare(b.Later, a.Later), cmp.Compare(b.Earlier, a.Earlier), cmp.Compare(a.Skip, b.Skip), cmp.Compare(a.Job, b.Job))
	})
	if len(list) > most {
		list, more = list[:most], true
	}
	return list, more, nil
}

// shared is the ground of two shapes in m², and a place in the largest piece of it.
func (b *Book) shared(shapes [2][]byte) (area float64, at geo.LonLat, err error) {
	var of [2][]geo.Polygon
	for i := range shapes {
		if of[i], err = b.dialect.ReadPolygons(shapes[i]); err != nil {
			return 0, at, err
		}
	}
	c, err := season.Compare(season.Map{Skips: []season.Skip{{ID: 1, Shape: of[1]}}}, season.Map{Boundary: of[0], Skips: []season.Skip{{ID: 1, Shape: of[0]}}})
	if err != nil || len(c.Returns) == 0 {
		return 0, at, err
	}
	return c.Again.SquareMetres(), c.Returns[0].At, nil
}
