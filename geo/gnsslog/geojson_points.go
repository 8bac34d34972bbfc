package gnsslog

import (
	"fmt"
	"slices"
	"time"

	"lapwing/geo/geojson"
)

// A pointTable holds Point features as rows: longitude and latitude first,
// then the properties, each by the name it had first.
type pointTable struct {
	names  []string
	byName map[string]int
	rows   []pointRow
}

type pointRow struct {
	line   int
	fields [][]byte
}

// add takes one feature. Properties named lat or lon give way to the
// coordinates.
func (t *pointTable) add(coordinates, properties geojson.Value, line int) {
	if t.byName == nil {
		t.names = []string{"longitude", "latitude"}
		t.byName = map[string]int{}
	}
	row := pointRow{line, make([][]byte, 2, max(2, len(t.names)))}
	if position := slices.Collect(coordinates.Elements()); len(position) >= 2 {
		row.fields[0], row.fields[1] = plainValue(position[0]), plainValue(position[1])
	}
	for name, value := range properties.Members() {
		at := t.column(name)
		if at < 0 {
			continue
		}
		for len(row.fields) <= at {
			row.fields = append(row.fields, nil)
		}
		row.fields[at] = plainValue(value)
	}
	t.rows = append(t.rows, row)
}

// column is the place of a property; -1 for one that is not read.
func (t *pointTable) column(name string) int {
	at, ok := t.byName[name]
	if !ok {
		at = -1
		short, unit := normal(name)
		r, _ := new(plan).roleOf(0, name, short, unit)
		if r > roleLon && len(t.names) < mostNames {
			at = len(t.names)
			t.names = append(t.names, name)
		}
		t.byName[name] = at
	}
	return at
}

// readPoints makes fixes of the rows, by the rules of CSV columns, and a log
// of them and of the lines read before.
func (r *geojsonReader) readPoints() (*Log, error) {
	p, err := planColumns(r.name, r.table.rows[0].line, ',', r.table.names, r.opt)
	if err != nil {
		return nil, err
	}
	if len(r.log.Fixes) > 0 {
		return nil, &SyntaxError{File: r.name, Line: r.table.rows[0].line,
			Found: fmt.Sprintf("Point features beside a track of %d positions", len(r.log.Fixes)), Want: "one or the other"}
	}
	rows := &part{plan: p, clock: clock{zone: r.opt.zone()}, columns: make([]interner, len(p.keep))}
	rows.clock.dayFirst = r.table.dayFirst(p, &rows.troubles)
	if p.timeIsUTC {
		rows.clock.zone = time.UTC
	}
	for _, row := range r.table.rows {
		rows.row(row.fields, len(row.fields), nil, row.line)
	}
	r.join(&rows.troubles)
	if err := r.verdict(r.name, len(rows.fixes), r.points+len(r.table.rows)); err != nil {
		return nil, err
	}
	return &Log{
		Format: "GeoJSON", Fixes: rows.fixes, Lines: rows.lines,
		Columns: joinColumns(p, []*part{rows}), NoClock: !p.has(roleTime), Zoneless: rows.zoneless,
		Understood: p.understood, Notes: append(p.notes, r.notes()...),
	}, nil
}

// dayFirst tells the order of dates such as 4/5/2026, as for CSV.
func (t *pointTable) dayFirst(p *plan, bad *troubles) bool {
	order := dateOrder{column: p.dateColumn()}
	for _, row := range t.rows {
		if order.column < 0 || order.decided {
			break
		}
		if order.column < len(row.fields) {
			order.see(row.fields[order.column], row.line)
		}
	}
	return order.dayFirst(p, bad)
}
