package tables

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/cause"
)

// Put is [book.Store]'s.
func (b *Book) Put(ctx context.Context, source string, job *book.Sought, parts []*book.Part) error {
	if err := b.may(ctx, book.MayWork); err != nil {
		return err
	}
	return b.Update(ctx, func(tx *sql.Tx) error {
		if err := b.dialect.begin(ctx, tx); err != nil {
			return err
		}
		if err := b.put(ctx, tx, stand{source, book.AskedBy(ctx).Farm}, job, parts); err != nil || b.dialect.End == "" {
			return err
		}
		_, err := tx.ExecContext(ctx, b.dialect.End)
		return err
	})
}

// A stand is a source of a farm.
type stand struct {
	source string
	farm   int64
}

func (b *Book) put(ctx context.Context, tx *sql.Tx, at stand, job *book.Sought, parts []*book.Part) error {
	if err := store(ctx, tx, job, parts); err != nil || at.source == "" {
		return err
	}
	var before string // the job that stood there
	farm := at.farm   // that it stood there for
	err := one(ctx, tx, "SELECT job, farm FROM sources WHERE source = $1", []any{at.source}, &before, &farm)
	if err != nil && !errors.Is(err, book.ErrNotFound) {
		return err
	}
	if at.farm == book.WholeBook {
		at.farm = farm
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO sources (source, job, farm) VALUES ($1, $2, $3) ON CONFLICT (source) DO UPDATE SET job = excluded.job, farm = excluded.farm", at.source, job.Key, at.farm)
	if err != nil {
		return err
	}
	shown, err := list[int64](ctx, tx, "SELECT id FROM assessments WHERE job = $1 AND farm = $2", job.Key, at.farm)
	if err != nil {
		return err
	}
	for i, p := range parts {
		if len(shown) == 0 {
			err = b.show(ctx, tx, shownJob{job.Key, i, at.farm}, p)
		} else {
			err = call(ctx, tx, shownJob{job.Key, i, at.farm}, p)
		}
		if err != nil {
			return err
		}
	}
	// Only now, so that a field that both are of stays the one that it was.
	if before != "" && (before != job.Key || farm != at.farm) {
		return hide(ctx, tx, before, farm)
	}
	return nil
}

// A shownJob is a part of a job, as it is shown to a farm.
type shownJob struct {
	key  string
	part int
	farm int64
}

// store keeps a job and its assessments, unless they are kept already.
func store(ctx context.Context, tx *sql.Tx, job *book.Sought, parts []*book.Part) error {
	done, err := tx.ExecContext(ctx, "INSERT INTO jobs (key, program, question) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING", job.Key, job.Program, job.Question)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return err
	}
	files := newInsert("job_files (job, place, name, sha256)")
	for i, f := range job.Files {
		files.row(job.Key, i, f.Name, f.SHA256)
	}
	if err := files.do(ctx, tx); err != nil {
		return err
	}
	for i, p := range parts {
		if _, err := tx.ExecContext(ctx, "INSERT INTO stored (job, part, assessment) VALUES ($1, $2, $3)", job.Key, i, p.Stored); err != nil {
			return err
		}
	}
	return nil
}

// hide takes what a job shows a farm out of the tables where it stands at no source of the
// farm any more.
func hide(ctx context.Context, tx *sql.Tx, job string, farm int64) error {
	elsewhere, err := list[string](ctx, tx, "SELECT source FROM sources WHERE job = $1 AND farm = $2", job, farm)
	if err != nil || len(elsewhere) > 0 {
		return err
	}
	fields, err := list[int64](ctx, tx, "SELECT DISTINCT field FROM assessments WHERE job = $1 AND farm = $2", job, farm)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "DELETE FROM assessments WHERE job = $1 AND farm = $2", job, farm); err != nil {
		return err
	}
	for _, field := range fields {
		if err := settle(ctx, tx, field); err != nil {
			return err
		}
	}
	for _, unused := range []string{
		"DELETE FROM machines WHERE farm = $1 AND NOT EXISTS (SELECT 1 FROM assessment_machines WHERE machine = machines.id)",
		"DELETE FROM operators WHERE farm = $1 AND NOT EXISTS (SELECT 1 FROM assessment_machines WHERE operator = operators.id)",
		"DELETE FROM crops WHERE farm = $1 AND NOT EXISTS (SELECT 1 FROM assessments WHERE crop = crops.id)",
	} {
		if _, err := tx.ExecContext(ctx, unused, farm); err != nil {
			return err
		}
	}
	return nil
}

// show writes a part into the tables for people and GIS programs.
func (b *Book) show(ctx context.Context, tx *sql.Tx, job shownJob, p *book.Part) error {
	field, err := b.fieldOf(ctx, tx, job.farm, p)
	if err != nil {
		return err
	}
	id, err := b.showAssessment(ctx, tx, job, field, p)
	if err != nil {
		return err
	}
	if err := settle(ctx, tx, field); err != nil {
		return err
	}
	if err := showMachines(ctx, tx, job.farm, id, p); err != nil {
		return err
	}
	if err := showWastes(ctx, tx, job.farm, id, p); err != nil {
		return err
	}
	return b.showShapes(ctx, tx, job.farm, id, p)
}

// call gives a part that is shown the name that it has now: a job that gives its field none
// stands under that of its file, which may be another one elsewhere.
func call(ctx context.Context, tx *sql.Tx, job shownJob, p *book.Part) error {
	var id, field int64
	err := tx.QueryRowContext(ctx, "UPDATE assessments SET name = $1, run = $2, called = $3 WHERE job = $4 AND part = $5 AND farm = $6 AND (name <> $1 OR run <> $2) RETURNING id, field",
		p.Field.Name, p.Run, strings.ToLower(p.Field.Name), job.key, job.part, job.farm).Scan(&id, &field)
	if errors.Is(err, sql.ErrNoRows) {
		return nil // it is called so
	}
	if err != nil {
		return err
	}
	for _, table := range []string{"skips", `"overlaps"`, "passes"} {
		if _, err := tx.ExecContext(ctx, "UPDATE "+table+" SET field = $1 WHERE assessment = $2", p.Field.Name, id); err != nil {
			return err
		}
	}
	return settle(ctx, tx, field)
}

// showAssessment writes the figures of a part, and returns its number.
func (b *Book) showAssessment(ctx context.Context, tx *sql.Tx, job shownJob, field int64, p *book.Part) (id int64, err error) {
	var crop any
	if p.Field.Crop != "" {
		if crop, err = named(ctx, tx, "crops", job.farm, p.Field.Crop); err != nil {
			return 0, err
		}
	}
	nitrogen, cost, currency := wasted(p.Products)
	columns := []column{
		{"farm", job.farm}, {"job", job.key}, {"part", job.part}, {"field", field}, {"name", p.Field.Name}, {"operation", orNull(p.Field.Operation)}, {"crop", crop}, {"run", p.Run},
		{"year", orNull(p.Year())},
		{"area_m2", p.Field.Area.Float()}, {"covered_m2", p.Ground.Covered.Float()}, {"skip_m2", p.Ground.Skip.Float()},
		{"remainder_m2", p.Ground.Remainder.Float()}, {"overlap_m2", p.Ground.Overlap.Float()}, {"excess_m2", p.Ground.Excess.Float()},
		{"overreach_m2", p.Ground.OverReach.Float()}, {"unlogged_m2", p.Ground.Unlogged.Float()}, {"swept_m2", p.Ground.Swept.Float()},
		{"headland_completion", number(p.Headland.Completion)}, {"edge_open_m", number(p.Headland.Edge.Open)},
		{"wasted_n_kg", nitrogen}, {"wasted_cost", cost}, {"currency", currency},
		{"skips", len(p.Skips)}, {"passes", len(p.Passes)}, {"warnings", len(p.Warnings)},
	}
	if !p.First.IsZero() {
		columns = append(columns, column{"first_work", b.dialect.Time(p.First)}, column{"last_work", b.dialect.Time(p.Last)})
	}
	columns = append(columns, column{"called", strings.ToLower(p.Field.Name)})
	for i, value := range mapFigures(p) {
		columns = append(columns, column{mapColumns[i], value})
	}
	names, marks, values := []string{}, []string{}, []any{}
	for i, c := range columns {
		names, marks, values = append(names, c.name), append(marks, fmt.Sprintf("$%d", i+1)), append(values, c.value)
	}
	names, marks = append(names, "geom"), append(marks, b.dialect.Shape(fmt.Sprintf("$%d", len(columns)+1)))
	values = append(values, b.dialect.Polygons(p.Boundary))
	err = tx.QueryRowContext(ctx, "INSERT INTO assessments ("+strings.Join(names, ", ")+") VALUES ("+strings.Join(marks, ", ")+") RETURNING id", values...).Scan(&id)
	return id, err
}

type column struct {
	name  string
	value any
}

// wasted sums what products were wasted; null where none tells, or the costs are in
// several currencies.
func wasted(products []assess.ProductSummary) (nitrogen, cost, currency any) {
	var kg, money float64
	var currencies []string
	for i := range products {
		p := &products[i]
		if n := p.Nitrogen.Wasted; n != nil {
			kg += float64(*n)
			nitrogen = kg
		}
		if c := p.WastedCost; c != nil {
			money += float64(*c)
			currencies = append(currencies, p.Currency)
		}
	}
	if slices.Sort(currencies); len(slices.Compact(currencies)) == 1 {
		cost, currency = money, currencies[0]
	}
	return nitrogen, cost, currency
}

func orNull[T comparable](v T) any {
	var zero T
	if v == zero {
		return nil
	}
	return v
}

// showMachines writes which machines worked, and who drove them.
func showMachines(ctx context.Context, tx *sql.Tx, farm, assessment int64, p *book.Part) error {
	rows := newInsert("assessment_machines (farm, assessment, place, machine, operator, width_m, " + machineColumns + ")")
	for i, m := range p.Machines {
		machine, err := named(ctx, tx, "machines", farm, m.Name)
		if err != nil {
			return err
		}
		var operator any
		if m.Operator != "" {
			if operator, err = named(ctx, tx, "operators", farm, m.Operator); err != nil {
				return err
			}
		}
		rows.row(append([]any{farm, assessment, i, machine, operator, number(m.Width)}, machineFigures(p, i)...)...)
	}
	return rows.do(ctx, tx)
}

// named returns the number of a name of a farm in a table, which has it from then on.
func named(ctx context.Context, tx *sql.Tx, table string, farm int64, name string) (id int64, err error) {
	if _, err := tx.ExecContext(ctx, "INSERT INTO "+table+" (farm, name) VALUES ($1, $2) ON CONFLICT DO NOTHING", farm, name); err != nil {
		return 0, err
	}
	err = tx.QueryRowContext(ctx, "SELECT id FROM "+table+" WHERE farm = $1 AND name = $2", farm, name).Scan(&id)
	return id, err
}

// showShapes writes skips, overlaps and passes. A shape too small for the ninth decimal
// of a degree is left out with its row.
func (b *Book) showShapes(ctx context.Context, tx *sql.Tx, farm, assessment int64, p *book.Part) error {
	skips := newInsert("skips (farm, assessment, field, number, area_m2, length_m, width_m, cause, mistake, place, geom)")
	skips.shape = b.dialect.Shape
	for i := range p.Skips {
		s := &p.Skips[i]
		mistake := 1
		if s.Cause == cause.Unworked || s.Outlined {
			mistake = 0
		}
		if shape := p.SkipShapes[i]; len(shape) > 0 {
			skips.row(farm, assessment, p.Field.Name, s.ID, s.Area.Float(), number(s.Length), number(s.Width), string(s.Cause), mistake, s.Place, b.dialect.Polygons(shape))
		}
	}
	overlaps := newInsert(`"overlaps" (farm, assessment, field, number, area_m2, depth, cause, place, geom)`)
	overlaps.shape = b.dialect.Shape
	for i := range p.Overlaps {
		o := &p.Overlaps[i]
		if shape := p.OverlapShapes[i]; len(shape) > 0 {
			overlaps.row(farm, assessment, p.Field.Name, o.ID, o.Area.Float(), o.Depth, string(o.Cause), o.Place, b.dialect.Polygons(shape))
		}
	}
	passes := newInsert("passes (farm, assessment, field, number, machine, kind, start_time, end_time, length_m, swept_m2, new_m2, overlap_m2, geom)")
	passes.shape = b.dialect.Shape
	for i := range p.Passes {
		s := &p.Passes[i]
		start, end := b.timeOf(s.Start), b.timeOf(s.End)
		if line := p.PassLines[i]; len(line) > 0 {
			passes.row(farm, assessment, p.Field.Name, s.ID, s.Machine, s.Kind, start, end, number(s.Length), s.Swept.Float(), s.New.Float(), s.Overlap.Float(), b.dialect.Lines(line))
		}
	}
	for _, rows := range []*insert{skips, overlaps, passes} {
		if err := rows.do(ctx, tx); err != nil {
			return err
		}
	}
	return nil
}
