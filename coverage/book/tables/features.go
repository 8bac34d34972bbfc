package tables

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"strings"
	"time"

	"lapwing/coverage/book"
	"lapwing/geo"
	"lapwing/geo/tile"
)

// A layerTable is where a layer of [book.Layers] stands: the table that its features are
// rows of is t, and w the work that they are of.
type layerTable struct {
	table       string
	with        string            // what stands beside the table
	values      map[string]string // of properties that are not the column of their name
	first, last string            // when the work was
	during      string            // a condition around one on first and last
	filters     map[string]string // conditions, each with one mark
	// boxed reports that the table has columns of the box on the map that holds each feature.
	// Where rows are kept apart, PostgreSQL asks its indices of shapes only after it has looked
	// at every row: plain numbers leave it few to ask of.
	boxed bool
}

// roundOff is more than two ways to the same latitude differ on the map, in degrees: 0.1 mm.
const roundOff = 1e-9

// ofAssessment is the work that a skip, an overlap or a pass is of. It has no column of the
// name of one of theirs.
const ofAssessment = " JOIN (SELECT id AS measured, year, operation, crop, first_work, last_work FROM assessments) w ON w.measured = t.assessment"

const (
	ofFarm      = "t.farm IN (SELECT farms.id FROM farms WHERE farms.name = %s)"
	nameOfFarm  = "(SELECT nullif(farms.name, '') FROM farms WHERE farms.id = t.farm)"
	ofCrop      = "%s.crop IN (SELECT crops.id FROM crops WHERE crops.name = %%s)"
	worksOf     = "FROM assessments w WHERE w.field = t.id"
	machineIn   = "EXISTS (SELECT 1 FROM assessment_machines m JOIN machines ON machines.id = m.machine WHERE m.assessment = %s AND machines.name = %%s)"
	namesWorked = "(SELECT string_agg(n, ', ') FROM (SELECT %[1]ss.name AS n FROM assessment_machines m JOIN %[1]ss ON %[1]ss.id = m.%[1]s WHERE m.assessment = t.id GROUP BY %[1]ss.name ORDER BY min(m.place)) names)"
)

var layerTables = map[string]layerTable{
	"fields": {
		table: "fields",
		values: map[string]string{
			"field": "t.name", "farm": nameOfFarm,
			"area_m2":   "(SELECT w.area_m2 " + worksOf + " ORDER BY w.last_work IS NULL, w.last_work DESC, w.id DESC LIMIT 1)",
			"last_year": "(SELECT max(w.year) " + worksOf + ")", "works": "(SELECT count(*) " + worksOf + ")",
			"first_work": "(SELECT min(w.first_work) " + worksOf + ")", "last_work": "(SELECT max(w.last_work) " + worksOf + ")",
		},
		first: "w.first_work", last: "w.last_work", during: "EXISTS (SELECT 1 " + worksOf + " AND %s)",
		filters: map[string]string{"field": "t.name = %s", "farm": ofFarm, "year": "EXISTS (SELECT 1 " + worksOf + " AND w.year = %s)",
			"crop":    "EXISTS (SELECT 1 " + worksOf + " AND " + fmt.Sprintf(ofCrop, "w") + ")",
			"machine": "EXISTS (SELECT 1 " + worksOf + " AND " + fmt.Sprintf(machineIn, "w.id") + ")"},
	},
	"ground": {
		table: "assessments",
		values: map[string]string{
			"field": "t.name", "farm": nameOfFarm, "field_id": "t.field",
			"crop":     "(SELECT crops.name FROM crops WHERE crops.id = t.crop)",
			"machines": fmt.Sprintf(namesWorked, "machine"), "operators": fmt.Sprintf(namesWorked, "operator"),
		},
		first: "t.first_work", last: "t.last_work", during: "%s", boxed: true,
		filters: map[string]string{"field": "t.name = %s", "farm": ofFarm, "year": "t.year = %s",
			"crop": fmt.Sprintf(ofCrop, "t"), "machine": fmt.Sprintf(machineIn, "t.id")},
	},
	"passes": ofWork("passes", "t.start_time", "t.end_time", map[string]string{"machine": "t.machine = %s"}),
	"skips": ofWork("skips", "w.first_work", "w.last_work", map[string]string{
		"machine": fmt.Sprintf(machineIn, "t.assessment"), "cause": "t.cause = %s"}),
	"overlaps": ofWork(`"overlaps"`, "w.first_work", "w.last_work", map[string]string{
		"machine": fmt.Sprintf(machineIn, "t.assessment"), "cause": "t.cause = %s"}),
}

// ofWork is the table of a layer whose features are of an assessment each.
func ofWork(table, first, last string, filters map[string]string) layerTable {
	filters["field"], filters["farm"], filters["year"] = "t.field = %s", ofFarm, "w.year = %s"
	filters["crop"] = fmt.Sprintf(ofCrop, "w")
	return layerTable{
		table: table, with: ofAssessment, first: first, last: last, during: "%s", filters: filters,
		values: map[string]string{
			"farm": nameOfFarm, "year": "w.year", "operation": "w.operation", "ground_id": "t.assessment",
			"first_work": "w.first_work", "last_work": "w.last_work", "mistake": "t.mistake <> 0",
		},
	}
}

// value is what a property is asked by.
func (l *layerTable) value(property string) string {
	if v, ok := l.values[property]; ok {
		return v
	}
	return "t." + property
}

// An asked is a query that is being written, from its beginning to its end: so its values
// are counted.
type asked struct {
	strings.Builder
	values []any
}

// mark adds a value and returns where it stands.
func (q *asked) mark(value any) string {
	q.values = append(q.values, value)
	return fmt.Sprintf("$%d", len(q.values))
}

// from writes where the features of a selection stand. near takes those whose boxes only
// meet its box too.
func (b *Book) from(q *asked, l *layerTable, of book.Selection, near bool) error {
	q.WriteString(" FROM " + l.table + " t" + l.with + " WHERE 1 = 1")
	if of.Box != nil {
		var parts []string
		for _, box := range withinHalf(*of.Box) {
			first := len(q.values) + 1
			q.values = append(q.values, box.West, box.South, box.East, box.North)
			part := b.dialect.Near(strings.Trim(l.table, `"`), first)
			if l.boxed {
				least, most := book.OnMap(geo.LonLat{Lon: box.West, Lat: box.South}), book.OnMap(geo.LonLat{Lon: box.East, Lat: box.North})
				part += fmt.Sprintf(" AND t.x_most >= %s AND t.x_least <= %s AND t.y_most >= %s AND t.y_least <= %s",
					q.mark(least.X), q.mark(most.X), q.mark(least.Y-roundOff), q.mark(most.Y+roundOff))
			}
			if !near {
				part += " AND " + b.dialect.Meets(first)
			}
			parts = append(parts, part)
		}
		q.WriteString(" AND (" + strings.Join(parts, " OR ") + ")")
	}
	if of.ID != 0 {
		q.WriteString(" AND t.id = " + q.mark(of.ID))
	}
	if during := b.during(q, l, of.From, of.To); during != "" {
		q.WriteString(" AND " + fmt.Sprintf(l.during, during))
	}
	layer, _ := book.LayerNamed(of.Layer)
	known := 0
	for _, f := range layer.Filters { // in their order, so that the same question is the same text
		if value, ok := of.Where[f.Name]; ok {
			known++
			q.WriteString(" AND " + fmt.Sprintf(l.filters[f.Name], q.mark(value)))
		}
	}
	if known != len(of.Where) {
		return fmt.Errorf("found a selection of %s by %v, which it does not know all", of.Layer, of.Where)
	}
	if of.After != 0 {
		q.WriteString(" AND t.id > " + q.mark(of.After))
	}
	return nil
}

// during is a condition that work was at some time; "" for any time. Both its marks stand in
// the order in which they are counted.
func (b *Book) during(q *asked, l *layerTable, from, to time.Time) string {
	var conditions []string
	if !from.IsZero() {
		conditions = append(conditions, l.last+" >= "+q.mark(b.dialect.Time(from.UTC())))
	}
	if !to.IsZero() {
		conditions = append(conditions, l.first+" <= "+q.mark(b.dialect.Time(to.UTC())))
	}
	if len(conditions) == 0 {
		return ""
	}
	return "(" + l.first + " IS NULL OR " + strings.Join(conditions, " AND ") + ")"
}

// withinHalf are a box in one or two, whose longitudes are within 180 degrees.
func withinHalf(x geo.Extent) []geo.Extent {
	if x.East <= 180 {
		return []geo.Extent{x}
	}
	return []geo.Extent{{West: x.West, East: 180, South: x.South, North: x.North}, {West: -180, East: x.East - 360, South: x.South, North: x.North}}
}

// layerOf returns a layer and where it stands; [book.ErrNotFound] where there is none of the
// name.
func layerOf(name string) (book.Layer, layerTable, error) {
	layer, ok := book.LayerNamed(name)
	if !ok {
		return book.Layer{}, layerTable{}, book.ErrNotFound
	}
	return layer, layerTables[name], nil
}

// Features is [book.Featured]'s.
func (b *Book) Features(ctx context.Context, of book.Selection, do func(book.Feature) error) error {
	layer, l, err := layerOf(of.Layer)
	if err != nil {
		return err
	}
	q := b.rows(&l, layer.Properties)
	if err := b.from(q, &l, of, false); err != nil {
		return err
	}
	q.WriteString(" ORDER BY t.id")
	if of.Most > 0 {
		q.WriteString(" LIMIT " + q.mark(of.Most))
	}
	return b.eachFeature(ctx, q, layer.Lines, layer.Properties, do)
}

// rows begins a query for features with some of their properties.
func (b *Book) rows(l *layerTable, properties []book.Property) *asked {
	q := &asked{}
	q.WriteString("SELECT t.id, " + b.dialect.ShapeOf("geom"))
	for _, p := range properties {
		q.WriteString(", " + l.value(p.Name))
	}
	return q
}

func (b *Book) eachFeature(ctx context.Context, q *asked, lines bool, properties []book.Property, do func(book.Feature) error) error {
	return b.Read(ctx, func(db Asker) error {
		return each(ctx, db, func(scan scanner) error {
			var f book.Feature
			var shape []byte
			into := []any{&f.ID, &shape}
			for _, p := range properties {
				into = append(into, newValue(p.Kind))
			}
			err := scan(into...)
			if err != nil {
				return err
			}
			for _, v := range into[2:] {
				f.Values = append(f.Values, v.(value).told())
			}
			if lines {
				f.Lines, err = b.dialect.ReadLines(shape)
			} else {
				f.Polygons, err = b.dialect.ReadPolygons(shape)
			}
			if err != nil {
				return err
			}
			return do(f)
		}, q.String(), q.values...)
	})
}

// A value is what a column is read into; told is nil for NULL.
type value interface{ told() any }

func newValue(kind book.Kind) any {
	switch kind {
	case book.Integer:
		return &nullable[int64]{}
	case book.Real:
		return &nullable[float64]{}
	case book.Truth:
		return &nullable[bool]{}
	case book.Moment:
		return &moment{}
	}
	return &nullable[string]{}
}

type nullable[T any] struct{ sql.Null[T] }

func (n *nullable[T]) told() any {
	if !n.Valid {
		return nil
	}
	return n.V
}

// A moment is a time that may be NULL, also one that was worked out of others: of that SQLite
// knows no more than its text.
type moment struct{ sql.NullTime }

func (m *moment) Scan(from any) error {
	text, ok := from.(string)
	if !ok {
		return m.NullTime.Scan(from)
	}
	at, err := time.Parse(time.RFC3339Nano, text)
	m.NullTime = sql.NullTime{Time: at, Valid: err == nil}
	return err
}

func (m *moment) told() any {
	if !m.Valid {
		return nil
	}
	return m.Time.UTC()
}

// Matched is [book.Featured]'s.
func (b *Book) Matched(ctx context.Context, of book.Selection) (n int, err error) {
	_, l, err := layerOf(of.Layer)
	if err != nil {
		return 0, err
	}
	of.After = 0
	q := &asked{}
	q.WriteString("SELECT count(*)")
	if err := b.from(q, &l, of, false); err != nil {
		return 0, err
	}
	err = b.Read(ctx, func(db Asker) error { return db.QueryRowContext(ctx, q.String(), q.values...).Scan(&n) })
	return n, err
}

// Reach is [book.Featured]'s.
func (b *Book) Reach(ctx context.Context, layer string) (r book.Reach, err error) {
	_, l, err := layerOf(layer)
	if err != nil {
		return book.Reach{}, err
	}
	times := fmt.Sprintf("SELECT min(%s), max(%s) FROM %s t%s", l.first, l.last, l.table, l.with)
	if layer == "fields" {
		times = "SELECT min(first_work), max(last_work) FROM assessments"
	}
	err = b.Read(ctx, func(db Asker) error {
		var side [4]sql.NullFloat64
		if err := db.QueryRowContext(ctx, b.dialect.Reach(strings.Trim(l.table, `"`))).Scan(&side[0], &side[1], &side[2], &side[3]); err != nil {
			return err
		}
		if side[0].Valid {
			r.Box = &geo.Extent{West: side[0].Float64, South: side[1].Float64, East: side[2].Float64, North: side[3].Float64}
		}
		var first, last moment
		if err := db.QueryRowContext(ctx, times).Scan(&first, &last); err != nil || !first.Valid {
			return err
		}
		r.First, r.Last = first.Time.UTC(), last.Time.UTC()
		return nil
	})
	return r, err
}

// mostDrawn is how many shapes a tile has at most, the newest: some ten seasons of the fields
// that fit on a screen.
const mostDrawn = 2000

// Tile is [book.Featured]'s.
func (b *Book) Tile(ctx context.Context, of book.Selection, z, x, y int) ([]byte, error) {
	layer, l, err := layerOf(of.Layer)
	at := tile.Tile{Z: z, X: x, Y: y}
	switch {
	case err != nil:
		return nil, err
	case !at.Exists():
		return nil, book.ErrNotFound
	case z < layer.FromZoom:
		return nil, nil
	}
	box := at.Box()
	of.Box = &box
	if of.Most <= 0 || of.Most > mostDrawn {
		of.Most = mostDrawn
	}
	points := z < book.ShapesFrom
	var drawn []book.Property
	for _, p := range layer.Properties {
		if p.Drawn {
			drawn = append(drawn, p)
		}
	}
	if b.dialect.Tile == nil {
		return b.draw(ctx, layer, &l, drawn, of, at, points)
	}
	from := &asked{}
	if err := b.from(from, &l, of, true); err != nil {
		return nil, err
	}
	columns := "t.id AS fid"
	for _, p := range drawn {
		columns += fmt.Sprintf(`, %s AS "%s"`, l.value(p.Name), p.Name)
	}
	if !points {
		from.WriteString(" ORDER BY t.id DESC LIMIT " + from.mark(of.Most))
	}
	query := b.dialect.Tile(layer.Name, columns, from.String(), at, points)
	var drawing []byte
	err = b.Read(ctx, func(db Asker) error { return db.QueryRowContext(ctx, query, from.values...).Scan(&drawing) })
	return drawing, err
}

// draw draws a tile where the database does not.
func (b *Book) draw(ctx context.Context, layer book.Layer, l *layerTable, drawn []book.Property, of book.Selection, at tile.Tile, points bool) ([]byte, error) {
	q := b.rows(l, drawn)
	if err := b.from(q, l, of, true); err != nil {
		return nil, err
	}
	if points {
		q.WriteString(" ORDER BY t.id")
	} else {
		q.WriteString(" ORDER BY t.id DESC LIMIT " + q.mark(of.Most))
	}
	var features []tile.Feature
	err := b.eachFeature(ctx, q, layer.Lines, drawn, func(f book.Feature) error {
		shown := tile.Feature{ID: f.ID, Polygons: f.Polygons, Lines: f.Lines, Properties: map[string]any{}}
		if points {
			shown.Polygons, shown.At = nil, middle(f.Polygons)
		}
		for i, p := range drawn {
			if f.Values[i] != nil {
				shown.Properties[p.Name] = f.Values[i]
			}
		}
		features = append(features, shown)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return tile.Encode(layer.Name, at, features)
}

// middle is the middle of the box around polygons.
func middle(polygons []geo.Polygon) *geo.LonLat {
	west, east, south, north := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range polygons {
		for _, at := range p.Shell {
			west, east, south, north = min(west, at.Lon), max(east, at.Lon), min(south, at.Lat), max(north, at.Lat)
		}
	}
	return &geo.LonLat{Lon: (west + east) / 2, Lat: (south + north) / 2}
}
