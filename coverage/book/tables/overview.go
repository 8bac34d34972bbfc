package tables

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/book"
)

// What a screen has, at most.
const (
	mostFields = 1000 // fields; one of 30 by 30 pixels is one to be seen
	fieldRoom  = 900  // pixels²
	leastMost  = 50
	mostSkips  = 1500
	// nearFields is up to how many fields are drawn with all their corners, and with their
	// skips where a pixel is nearPixel metres or less.
	nearFields = 60
	nearPixel  = 8
	squareRoom = 28 // pixels that a square is wide at least
)

// levels are the squares of the map: the widest is 16 degrees, each level half of that before.
const (
	widest    = 16.0
	lastLevel = 10
)

// reach is how far, in degrees of the map, from the middle of a field its ground may lie:
// 14 km at the equator, seven at 60 degrees. Wider fields are drawn once their middle comes
// that near.
const reach = 1.0 / stripsPerDegree

// level is that of the squares which a view is drawn in.
func level(v book.View) int {
	for l := lastLevel; l > 0; l-- {
		if widest/float64(int(1)<<l) >= squareRoom*v.Pixel() {
			return l
		}
	}
	return 0
}

// most is how many fields a view has room for.
func most(v book.View) int { return min(max(v.Wide*v.High/fieldRoom, leastMost), mostFields) }

// A clause is a condition with its values, which are counted from $1.
type clause struct {
	text   []string
	values []any
}

// and adds a condition, in which each ? is the next value.
func (c *clause) and(text string, values ...any) {
	for _, v := range values {
		c.values = append(c.values, v)
		text = strings.Replace(text, "?", "$"+strconv.Itoa(len(c.values)), 1)
	}
	c.text = append(c.text, text)
}

func (c *clause) String() string { return strings.Join(c.text, " AND ") }

// sift is the condition of what a sieve lets through, in a box of the map that holds it.
func (b *Book) sift(of book.Sieve, box book.MapBox) *clause {
	c := &clause{}
	c.and("season = ?", of.Season)
	if of.Farm != book.WholeBook {
		c.and("farm = ?", of.Farm)
	}
	if of.Crop != "" {
		c.and("crop IN (SELECT id FROM crops WHERE name = ?)", of.Crop)
	}
	if of.Machine != "" || of.Operator != "" {
		c.and("id IN (SELECT assessment FROM assessment_machines WHERE ")
		last := &c.text[len(c.text)-1]
		driven := driven(of, box, c.values)
		*last += driven.String() + ")"
		c.values = driven.values
	}
	b.called(c, of.Named)
	if !of.First.IsZero() {
		c.and("last_work >= ?", b.dialect.Time(of.First.UTC()))
	}
	if !of.Last.IsZero() {
		c.and("last_work < ?", b.dialect.Time(of.Last.UTC().AddDate(0, 0, 1)))
	}
	return c
}

// called adds the condition that the name of a field has a part, in small letters or large.
func (b *Book) called(c *clause, part string) {
	if part = strings.TrimSpace(part); part != "" {
		c.and(b.dialect.Holds("called")+" > 0", strings.ToLower(part))
	}
}

// driven is the condition of what a machine did that an operator drove, near a box of the
// map, after so many values.
func driven(of book.Sieve, box book.MapBox, values []any) *clause {
	c := &clause{values: values}
	c.and("season = ?", of.Season)
	if of.Machine != "" {
		c.and("machine IN (SELECT id FROM machines WHERE name = ?)", of.Machine)
	}
	if of.Operator != "" {
		c.and("operator IN (SELECT id FROM operators WHERE name = ?)", of.Operator)
	}
	if of.Farm != book.WholeBook {
		c.and("farm = ?", of.Farm)
	}
	c.and("x BETWEEN ? AND ?", box.Least.X-reach, box.Most.X+reach)
	c.and("y BETWEEN ? AND ?", box.Least.Y-reach, box.Most.Y+reach)
	return c
}

// Up to how many strips a view is looked for strip by strip: beyond few of them the days that
// are asked for narrow more.
const fewStrips, manyStrips = 8, 40

// within is sift, in a box. Conditions are of plain numbers, and not of shapes: where rows
// are kept apart, PostgreSQL asks an index by place only after it has looked at every row,
// for what compares shapes might tell of rows that one may not see.
func (b *Book) within(of book.Sieve, box book.MapBox) *clause {
	c := b.sift(of, box)
	from, to := stripOf(box.Least.X-reach), stripOf(box.Most.X+reach)
	if to-from > fewStrips && (of.Crop != "" || !of.First.IsZero() || !of.Last.IsZero()) { // by the index of crops, or of days
		c.and("x BETWEEN ? AND ?", box.Least.X-reach, box.Most.X+reach)
	} else if to-from < manyStrips { // each of them by itself, so that the index narrows y too
		strips := make([]string, 0, manyStrips)
		for s := from; s <= to; s++ {
			strips = append(strips, strconv.Itoa(s))
		}
		c.and("strip IN (" + strings.Join(strips, ", ") + ")")
	} else {
		c.and("strip BETWEEN ? AND ?", from, to)
	}
	c.and("y BETWEEN ? AND ?", box.Least.Y-reach, box.Most.Y+reach)
	return c
}

// Overview is [book.Atlas]'.
func (b *Book) Overview(ctx context.Context, of book.Sieve, view book.View) (o *book.Overview, err error) {
	err = b.Read(ctx, func(db Asker) error {
		o, err = b.overview(ctx, db, of, view)
		return err
	})
	return o, err
}

func (b *Book) overview(ctx context.Context, db Asker, of book.Sieve, view book.View) (*book.Overview, error) {
	at, room := level(view), most(view)
	size := widest / float64(int(1)<<at)
	// A square as wide as the view tells nothing: then fields are drawn, as many as there is
	// room for.
	tells := view.Most.X-view.Least.X > 2*size
	var squares []book.Square
	if tells { // what is counted is read sooner than what is drawn
		var err error
		if squares, err = b.squaresOf(ctx, db, of, view.MapBox, at); err != nil {
			return nil, err
		}
		if inside(squares, view.MapBox, size) > room {
			return &book.Overview{Size: size, Squares: squares}, nil
		}
	}
	fields, err := b.fieldsIn(ctx, db, of, view.MapBox, room+1)
	if err != nil {
		return nil, err
	}
	if len(fields) > room && tells {
		return &book.Overview{Size: size, Squares: squares}, nil
	}
	o := &book.Overview{Fields: fields}
	if len(fields) > room {
		o.Fields, o.FieldsLeft = fields[:room], true
	}
	slices.SortFunc(o.Fields, func(a, b book.FieldOnMap) int {
		return cmp.Or(cmp.Compare(a.Attention, b.Attention), cmp.Compare(a.ID, b.ID))
	})
	if len(o.Fields) > 0 && len(o.Fields) <= nearFields {
		err = b.near(ctx, db, o, view)
	}
	return o, err
}

// inside counts what lies in squares that are in a box as a whole.
func inside(squares []book.Square, box book.MapBox, size float64) (n int) {
	for _, s := range squares {
		x, y := float64(s.X)*size-180, float64(s.Y)*size-180
		if x >= box.Least.X && y >= box.Least.Y && x+size <= box.Most.X && y+size <= box.Most.Y {
			n += s.Fields
		}
	}
	return n
}

// squaresOf are the squares of a level.
func (b *Book) squaresOf(ctx context.Context, db Asker, of book.Sieve, box book.MapBox, at int) ([]book.Square, error) {
	if of.IsWhole() {
		return b.countedSquares(ctx, db, of, box, at)
	}
	return b.squaresIn(ctx, db, of, box, widest/float64(int(1)<<at))
}

// countedSquares are the squares of all fields of a season, as the triggers count them.
func (b *Book) countedSquares(ctx context.Context, db Asker, of book.Sieve, box book.MapBox, at int) ([]book.Square, error) {
	c := &clause{}
	c.and("season = ?", of.Season)
	c.and("level = ?", at)
	if of.Farm != book.WholeBook {
		c.and("farm = ?", of.Farm)
	}
	number := func(v float64) int { return int(math.Floor((v + 180) * float64(int(1)<<at) / widest)) }
	c.and("x BETWEEN ? AND ?", number(box.Least.X), number(box.Most.X))
	c.and("y BETWEEN ? AND ?", number(box.Least.Y), number(box.Most.Y))
	return squares(ctx, db, "SELECT x, y, sum(fields), sum(skips), sum(laps), sum(unfinished) FROM squares WHERE "+c.String()+" GROUP BY x, y", c.values...)
}

// squaresIn are the squares of what a sieve lets through.
func (b *Book) squaresIn(ctx context.Context, db Asker, of book.Sieve, box book.MapBox, size float64) ([]book.Square, error) {
	from, c := "assessments", b.within(of, box)
	if who := (book.Sieve{Season: of.Season, Farm: of.Farm, Machine: of.Machine, Operator: of.Operator}); who == of && (of.Machine != "" || of.Operator != "") {
		c = driven(of, box, nil) // what machines did has all that is counted
		from = "(SELECT DISTINCT assessment, x, y, attention FROM assessment_machines WHERE " + c.String() + ") AS driven"
	} else {
		from += " WHERE " + c.String()
	}
	times := fmt.Sprintf(" * %g", 1/size) // a power of two, so that it is exact
	return squares(ctx, db, "SELECT "+b.dialect.Floor("(x + 180)"+times)+", "+b.dialect.Floor("(y + 180)"+times)+`, count(*),
		sum(CASE WHEN attention = 3 THEN 1 ELSE 0 END), sum(CASE WHEN attention = 2 THEN 1 ELSE 0 END), sum(CASE WHEN attention = 1 THEN 1 ELSE 0 END)
		FROM `+from+" GROUP BY 1, 2", c.values...)
}

func squares(ctx context.Context, db Asker, query string, args ...any) (list []book.Square, err error) {
	err = each(ctx, db, func(scan scanner) error {
		var s book.Square
		err := scan(&s.X, &s.Y, &s.Fields, &s.Skips, &s.Laps, &s.Unfinished)
		list = append(list, s)
		return err
	}, query, args...)
	return list, err
}

// fieldsIn are the fields of a sieve whose boxes meet one, so many at most.
func (b *Book) fieldsIn(ctx context.Context, db Asker, of book.Sieve, box book.MapBox, limit int) (list []book.FieldOnMap, err error) {
	c := b.within(of, box)
	c.and("x_least <= ?", box.Most.X)
	c.and("x_most >= ?", box.Least.X)
	c.and("y_least <= ?", box.Most.Y)
	c.and("y_most >= ?", box.Least.Y)
	err = each(ctx, db, func(scan scanner) error {
		var f book.FieldOnMap
		err := scan(&f.ID, &f.Name, &f.Attention, &f.Outline)
		list = append(list, f)
		return err
	}, "SELECT id, name, attention, outline FROM assessments WHERE "+c.String()+" LIMIT "+strconv.Itoa(limit), c.values...)
	return list, err
}

// near gives few fields all corners that can be seen, and their skips.
func (b *Book) near(ctx context.Context, db Asker, o *book.Overview, view book.View) error {
	place := map[int64]int{}
	ids := make([]string, len(o.Fields))
	for i := range o.Fields {
		place[o.Fields[i].ID] = i
		ids[i] = strconv.FormatInt(o.Fields[i].ID, 10)
	}
	these := "(" + strings.Join(ids, ", ") + ")"
	half := view.Pixel() / 2 * float64(perDegree)
	draw := func(shape []byte) (string, error) {
		polygons, err := b.dialect.ReadPolygons(shape)
		return outline(polygons, half), err
	}
	err := each(ctx, db, func(scan scanner) error {
		var id int64
		var shape []byte
		if err := scan(&id, &shape); err != nil {
			return err
		}
		drawn, err := draw(shape)
		if drawn != "[]" { // smaller than a pixel
			o.Fields[place[id]].Outline = drawn
		}
		return err
	}, "SELECT id, "+b.dialect.ShapeOf("geom")+" FROM assessments WHERE id IN "+these)
	if err != nil {
		return err
	}
	middle := (view.Least.Y + view.Most.Y) / 2 * math.Pi / 180
	if metres := view.Pixel() * perDegree.Metres() / math.Cosh(middle); metres > nearPixel {
		return nil
	}
	return each(ctx, db, func(scan scanner) error {
		if len(o.Skips) == mostSkips {
			o.SkipsLeft = true
			return nil
		}
		var s book.SkipOnMap
		var shape []byte
		if err := scan(&s.Field, &s.Number, &shape); err != nil {
			return err
		}
		var err error
		s.Outline, err = draw(shape)
		o.Skips = append(o.Skips, s)
		return err
	}, "SELECT assessment, number, "+b.dialect.ShapeOf("geom")+" FROM skips WHERE assessment IN "+these+" AND mistake = 1 ORDER BY area_m2 DESC, id LIMIT "+strconv.Itoa(mostSkips+1))
}

// mostNames is how many crops, machines and operators are listed to be chosen.
const mostNames = 1000

// boxLevel is that of the squares which tell where all fields are: an eighth of a degree.
const boxLevel = 7

// Chooser is [book.Atlas]'.
func (b *Book) Chooser(ctx context.Context, season int) (c book.Chooser, err error) {
	if c.Farms, err = b.Farms(ctx); err != nil {
		return c, err
	}
	err = b.Read(ctx, func(db Asker) error {
		c.Seasons, err = list[int](ctx, db, "SELECT DISTINCT season FROM squares WHERE level = 0 ORDER BY season DESC")
		if err != nil || len(c.Seasons) == 0 {
			return err
		}
		for _, names := range []struct {
			of   string
			into *[]string
		}{{"crops", &c.Crops}, {"machines", &c.Machines}, {"operators", &c.Operators}} {
			if *names.into, err = list[string](ctx, db, "SELECT DISTINCT name FROM "+names.of+" ORDER BY name LIMIT "+strconv.Itoa(mostNames)); err != nil {
				return err
			}
		}
		if season < 0 {
			season = c.Seasons[0]
		}
		var least, most [2]sql.NullInt64
		var fields sql.NullInt64
		err := db.QueryRowContext(ctx, "SELECT min(x), max(x), min(y), max(y), sum(fields) FROM squares WHERE season = $1 AND level = $2", season, boxLevel).
			Scan(&least[0], &most[0], &least[1], &most[1], &fields)
		if err != nil || !fields.Valid {
			return err
		}
		const size = widest / (1 << boxLevel)
		corner := func(at [2]sql.NullInt64, more int64) book.MapPlace {
			return book.MapPlace{X: float64(at[0].Int64+more)*size - 180, Y: float64(at[1].Int64+more)*size - 180}
		}
		c.Some, c.Fields, c.Box = true, int(fields.Int64), book.MapBox{Least: corner(least, 0), Most: corner(most, 1)}
		if c.Fields > mostFields {
			return nil
		}
		return db.QueryRowContext(ctx, "SELECT min(x_least), min(y_least), max(x_most), max(y_most) FROM assessments WHERE season = $1 AND x IS NOT NULL", season).
			Scan(&c.Box.Least.X, &c.Box.Least.Y, &c.Box.Most.X, &c.Box.Most.Y)
	})
	return c, err
}

// FieldFigures is [book.Atlas]'.
func (b *Book) FieldFigures(ctx context.Context, id int64) (f *book.FieldFigures, err error) {
	f = &book.FieldFigures{}
	err = b.Read(ctx, func(db Asker) error {
		var first, last sql.NullTime
		var box [4]sql.NullFloat64
		err := one(ctx, db, `SELECT job, part, name, coalesce(operation, ''), coalesce((SELECT name FROM crops WHERE crops.id = assessments.crop), ''), coalesce((SELECT name FROM farms WHERE farms.id = assessments.farm), ''), first_work, last_work,
			area_m2, coalesce(skipped_m2, 0.0), excess_m2, coalesce(unworked_m2, 0.0), coalesce(edge_open_m, 0.0), (SELECT count(*) FROM skips WHERE assessment = assessments.id AND mistake = 1),
			attention, x_least, y_least, x_most, y_most FROM assessments WHERE id = $1`, []any{id},
			&f.Job, &f.Part, &f.Name, &f.Operation, &f.Crop, &f.Farm, &first, &last, &f.Area, &f.Skipped, &f.Excess, &f.Unworked, &f.Open, &f.Skips, &f.Attention, &box[0], &box[1], &box[2], &box[3])
		if err != nil {
			return err
		}
		if first.Valid && last.Valid {
			f.First, f.Last = first.Time.In(time.UTC), last.Time.In(time.UTC)
		}
		f.Box = book.MapBox{Least: book.MapPlace{X: box[0].Float64, Y: box[1].Float64}, Most: book.MapPlace{X: box[2].Float64, Y: box[3].Float64}}
		f.Machines, err = list[string](ctx, db, "SELECT DISTINCT name FROM machines JOIN assessment_machines ON machine = machines.id WHERE assessment = $1 ORDER BY name", id)
		return err
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}
