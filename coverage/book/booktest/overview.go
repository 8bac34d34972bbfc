package booktest

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/coverage/figure"
	"lapwing/geo"
)

// A Scattered is a book with many fields, and what it is to say of them.
type Scattered struct {
	*Crowd
	Atlas  book.Atlas
	fields []scatteredField
}

type scatteredField struct {
	at                            book.MapPlace
	box                           book.MapBox
	attention                     book.Attention
	farm                          int64
	name, crop, machine, operator string
	last                          time.Time
}

// apartKM is how far the fields of a scattered book lie from one another, in km: they are 400 m
// by 300 m, turned.
const apartKM = 0.8

// seasonOfMany is the year of a scattered book, in which the crowd's own fields are not.
const seasonOfMany = 2027

// crops are those of a scattered book, one after the other.
var crops = []string{"winter rye", "spring barley", "", "linseed", "oats"}

// Scatter opens a book of so many fields to people: one stored shape, moved and turned, on a
// square grid. Every third is Birch's. Each of four needs another attention; twenty machines and
// ten operators take turns, day after day, on four crops; of a fifth of the fields no job says it.
func Scatter(t testing.TB, c *Crowd, n int) *Scattered {
	t.Helper()
	const each = 500 // parts of a job
	atlas, is := c.Book.(book.Atlas)
	require.True(t, is)
	s := &Scattered{Crowd: c, Atlas: atlas}
	shape := north.part(t)
	wide := int(math.Ceil(math.Sqrt(float64(n))))
	for _, farm := range []struct {
		id int64
		is func(i int) bool
	}{{c.Aspen, func(i int) bool { return i%3 != 0 }}, {c.Birch, func(i int) bool { return i%3 == 0 }}} {
		var parts []*book.Part
		jobs := 0
		put := func() {
			if len(parts) > 0 {
				// By who owns the book, as a season does that is put for a farm.
				name := fmt.Sprintf("many %d %d", farm.id, jobs)
				job, owner := sought(name), at(t, 0, farm.id)
				require.NoError(t, c.Owner.AddFile(owner, job.Files[0], reading(bytesOf(name))))
				require.NoError(t, c.Owner.Put(owner, place(farm.id, name), job, parts))
				parts, jobs = nil, jobs+1
			}
		}
		for i := range n {
			if !farm.is(i) {
				continue
			}
			f := scatteredField{farm: farm.id, name: fmt.Sprintf("Field %d", i), machine: fmt.Sprintf("drill %d", i%20), operator: fmt.Sprintf("driver %d", i%10)}
			f.attention, f.crop = book.Attention(i%4), crops[i/2%len(crops)]
			f.last = time.Date(seasonOfMany, 4, 1, 15, 0, 0, 0, time.UTC).AddDate(0, 0, i%60)
			p := moved(shape, home(apartKM*float64(i%wide), apartKM*float64(i/wide)), float64(i)*0.7)
			dress(p, &f)
			f.at = book.OnMap(geo.LonLat{Lon: float64(p.Field.Lon), Lat: float64(p.Field.Lat)})
			f.box, _ = book.BoxOnMap(p.Boundary)
			s.fields = append(s.fields, f)
			if parts = append(parts, p); len(parts) == each {
				put()
			}
		}
		put()
	}
	return s
}

// moved is a part somewhere else, turned by so many radians; only its boundary and its
// skips have shapes there.
func moved(p *book.Part, to geo.LonLat, turn float64) *book.Part {
	from := geo.NewFrame(geo.LonLat{Lon: float64(p.Field.Lon), Lat: float64(p.Field.Lat)})
	frame := geo.NewFrame(to)
	sin, cos := math.Sincos(turn)
	place := func(at geo.LonLat) geo.LonLat {
		b, _ := from.ToPlane(at)
		x, y := b.X.Metres(), b.Y.Metres()
		return frame.FromMetres(x*cos-y*sin, x*sin+y*cos)
	}
	polygons := func(list []geo.Polygon) (out []geo.Polygon) {
		for _, q := range list {
			var m geo.Polygon
			for _, at := range q.Shell {
				m.Shell = append(m.Shell, place(at))
			}
			for _, h := range q.Holes {
				hole := make([]geo.LonLat, len(h))
				for i, at := range h {
					hole[i] = place(at)
				}
				m.Holes = append(m.Holes, hole)
			}
			out = append(out, m)
		}
		return out
	}
	sum := *p.Summary
	out := *p
	out.Summary, out.Stored = &sum, []byte("a stand-in")
	sum.Field.Lon, sum.Field.Lat = figure.DegreesOf(to.Lon), figure.DegreesOf(to.Lat)
	sum.Passes, sum.Overlaps, out.PassLines, out.OverlapShapes = nil, nil, nil, nil
	out.Boundary = polygons(p.Boundary)
	out.SkipShapes = nil
	for _, s := range p.SkipShapes {
		out.SkipShapes = append(out.SkipShapes, polygons(s))
	}
	return &out
}

// dress gives a part the name, machine, time and need of a field.
func dress(p *book.Part, f *scatteredField) {
	p.Field.Name, p.Field.Crop = f.name, f.crop
	p.Machines = append(p.Machines[:0:0], p.Machines...)
	for i := range p.Machines {
		p.Machines[i].Name, p.Machines[i].Operator = f.machine, f.operator
	}
	p.First, p.Last = f.last.Add(-5*time.Hour), f.last
	tenth := p.Field.Area / 10
	p.Ground.Skip, p.Ground.Remainder, p.Ground.Excess, p.Ground.Outlined, p.Ground.Yards = 0, 0, 0, 0, 0
	switch f.attention {
	case book.Skips:
		p.Ground.Skip = tenth
	case book.Laps:
		p.Ground.Excess = tenth
	case book.Unfinished:
		p.Ground.Skip, p.Ground.Remainder = tenth, tenth
	}
}

// all is a view of the whole map.
func all(fields []scatteredField) book.View {
	v := book.View{Wide: 1000, High: 800, MapBox: fields[0].box}
	for _, f := range fields {
		v.Least = book.MapPlace{X: min(v.Least.X, f.box.Least.X), Y: min(v.Least.Y, f.box.Least.Y)}
		v.Most = book.MapPlace{X: max(v.Most.X, f.box.Most.X), Y: max(v.Most.Y, f.box.Most.Y)}
	}
	return v
}

// part of a view, around its middle.
func part(v book.View, share float64) book.View {
	x, y := (v.Least.X+v.Most.X)/2, (v.Least.Y+v.Most.Y)/2
	w, h := (v.Most.X-v.Least.X)/2*share, (v.Most.Y-v.Least.Y)/2*share
	v.MapBox = book.MapBox{Least: book.MapPlace{X: x - w, Y: y - h}, Most: book.MapPlace{X: x + w, Y: y + h}}
	return v
}

// counted are the squares of fields that are let through, counted one by one.
func counted(fields []scatteredField, size float64, lets func(*scatteredField) bool) map[[2]int]book.Square {
	out := map[[2]int]book.Square{}
	for i := range fields {
		f := &fields[i]
		if !lets(f) {
			continue
		}
		k := [2]int{int(math.Floor((f.at.X + 180) / size)), int(math.Floor((f.at.Y + 180) / size))}
		s := out[k]
		s.X, s.Y, s.Fields = k[0], k[1], s.Fields+1
		switch f.attention {
		case book.Skips:
			s.Skips++
		case book.Laps:
			s.Laps++
		case book.Unfinished:
			s.Unfinished++
		}
		out[k] = s
	}
	return out
}

func inSquares(list []book.Square) map[[2]int]book.Square {
	out := map[[2]int]book.Square{}
	for _, s := range list {
		out[[2]int{s.X, s.Y}] = s
	}
	return out
}

// TryMap tries the map of a scattered book against counting one by one.
func (s *Scattered) TryMap(t *testing.T) {
	sieve := book.Sieve{Season: seasonOfMany}
	whole := all(s.fields)
	everybody := as(t, s.Max)
	look := func(ctx context.Context, of book.Sieve, v book.View) *book.Overview {
		t.Helper()
		o, err := s.Atlas.Overview(ctx, of, v)
		require.NoError(t, err)
		require.LessOrEqual(t, len(o.Fields), max(50, min(1000, v.Wide*v.High/900)))
		require.LessOrEqual(t, len(o.Squares), (v.Wide/28+2)*(v.High/28+2))
		return o
	}
	day := func(n int) time.Time { return time.Date(seasonOfMany, 4, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n) }
	for name, c := range map[string]struct {
		ctx  context.Context
		of   book.Sieve
		lets func(*scatteredField) bool
	}{
		"all":                     {everybody, sieve, func(*scatteredField) bool { return true }},
		"one farm's people":       {as(t, s.Bo), sieve, func(f *scatteredField) bool { return f.farm == s.Birch }},
		"one farm":                {everybody, book.Sieve{Season: seasonOfMany, Farm: s.Aspen}, func(f *scatteredField) bool { return f.farm == s.Aspen }},
		"all, one by one":         {everybody, book.Sieve{Season: seasonOfMany, First: day(-9)}, func(*scatteredField) bool { return true }},
		"days":                    {everybody, book.Sieve{Season: seasonOfMany, First: day(5), Last: day(40)}, func(f *scatteredField) bool { return !f.last.Before(day(5)) && f.last.Before(day(41)) }},
		"a part of a name":        {everybody, book.Sieve{Season: seasonOfMany, Named: "fIELD 1"}, func(f *scatteredField) bool { return f.name[:7] == "Field 1" }},
		"a crop":                  {everybody, book.Sieve{Season: seasonOfMany, Crop: "oats"}, func(f *scatteredField) bool { return f.crop == "oats" }},
		"a crop and a machine":    {everybody, book.Sieve{Season: seasonOfMany, Crop: "oats", Machine: "drill 8"}, func(f *scatteredField) bool { return f.crop == "oats" && f.machine == "drill 8" }},
		"a machine and operators": {as(t, s.Ada), book.Sieve{Season: seasonOfMany, Machine: "drill 3", Operator: "driver 3"}, func(f *scatteredField) bool { return f.farm == s.Aspen && f.machine == "drill 3" }},
	} {
		v := whole
		v.Wide, v.High = 200, 160 // of which even the fewest are more than fit
		o := look(c.ctx, c.of, v)
		n := 0
		for i := range s.fields {
			if c.lets(&s.fields[i]) {
				n++
			}
		}
		require.Greater(t, n, 50, name)
		require.NotZero(t, o.Size, name)
		assert.Equal(t, counted(s.fields, o.Size, c.lets), inSquares(o.Squares), name)
	}
	for _, nobody := range []context.Context{as(t, s.Cy), t.Context()} {
		assert.Equal(t, &book.Overview{}, look(nobody, sieve, whole))
	}
	assert.Equal(t, &book.Overview{}, look(everybody, book.Sieve{Season: 1999}, whole))

	// Nearer: the fields whose boxes meet the view, and no others.
	share := math.Sqrt(300 / float64(len(s.fields)))
	v := part(whole, share)
	o := look(everybody, sieve, v)
	var want, got []string
	need := map[string]book.Attention{}
	for _, f := range s.fields {
		if f.box.Least.X <= v.Most.X && f.box.Most.X >= v.Least.X && f.box.Least.Y <= v.Most.Y && f.box.Most.Y >= v.Least.Y {
			want, need[f.name] = append(want, f.name), f.attention
		}
	}
	for i, f := range o.Fields {
		got = append(got, f.Name)
		assert.Equal(t, need[f.Name], f.Attention)
		assert.Regexp(t, `^\[\[-?\d+,\d+(,-?\d+){4,}\](,\[.*\])*\]$`, f.Outline)
		if i > 0 {
			assert.LessOrEqual(t, o.Fields[i-1].Attention, f.Attention, "what needs most is drawn last")
		}
	}
	assert.ElementsMatch(t, want, got)
	assert.Greater(t, len(got), 200)
	assert.Empty(t, o.Skips, "too far for skips")

	// Near: with skips; and in the midst of a field, whose middle is not in view.
	one := s.fields[len(s.fields)/2]
	v.MapBox = one.box
	o = look(everybody, sieve, v)
	require.NotEmpty(t, o.Fields)
	require.NotEmpty(t, o.Skips)
	assert.False(t, o.SkipsLeft || o.FieldsLeft)
	edge := (one.box.Most.X - one.box.Least.X) / 50
	v.MapBox = book.MapBox{Least: book.MapPlace{X: one.box.Least.X, Y: one.box.Least.Y}, Most: book.MapPlace{X: one.box.Least.X + edge, Y: one.box.Most.Y}}
	o = look(everybody, sieve, v)
	assert.Contains(t, namesOf(o.Fields), one.name)

	id := o.Fields[slices.IndexFunc(o.Fields, func(f book.FieldOnMap) bool { return f.Name == one.name })].ID
	f, err := s.Atlas.FieldFigures(everybody, id)
	require.NoError(t, err)
	assert.Equal(t, []any{one.name, one.attention, one.crop, []string{one.machine}, one.last, one.box}, []any{f.Name, f.Attention, f.Crop, f.Machines, f.Last, f.Box})
	for _, other := range []int64{s.Cy, map[int64]int64{s.Aspen: s.Bo, s.Birch: s.Ada}[one.farm]} {
		_, err = s.Atlas.FieldFigures(as(t, other), id)
		require.ErrorIs(t, err, book.ErrNotFound)
	}

	c, err := s.Atlas.Chooser(everybody, -1)
	require.NoError(t, err)
	assert.Equal(t, []int{seasonOfMany, 2026}, c.Seasons)
	assert.Equal(t, len(s.fields), c.Fields)
	assert.Equal(t, []string{"linseed", "oats", "spring barley", "winter rye"}, c.Crops)
	assert.LessOrEqual(t, c.Box.Least.X, whole.Least.X+1e-9)
	assert.GreaterOrEqual(t, c.Box.Most.Y, whole.Most.Y-1e-9)
	c, err = s.Atlas.Chooser(as(t, s.Bo), 2026)
	require.NoError(t, err)
	assert.Equal(t, 1, c.Fields)
	assert.True(t, c.Some)
	assert.Equal(t, []book.Farm{{ID: s.Birch, Name: "Birch", May: book.MayWork}}, c.Farms)
	c, err = s.Atlas.Chooser(as(t, s.Cy), -1)
	require.NoError(t, err)
	assert.Equal(t, book.Chooser{}, c)
}

func namesOf(fields []book.FieldOnMap) (names []string) {
	for _, f := range fields {
		names = append(names, f.Name)
	}
	return names
}

// mapOfFew: what leaves the book leaves the map, and what changes changes there; more fields
// on one place than there is room for are not all drawn, and that is said.
func mapOfFew(t *testing.T, c *Crowd) {
	shape := north.part(t)
	field := func(i int, at geo.LonLat, need book.Attention) *book.Part {
		f := scatteredField{name: fmt.Sprint("Field ", i), machine: "drill", operator: "Ada", attention: need, last: time.Date(seasonOfMany, 5, 1, 9, 0, 0, 0, time.UTC)}
		p := moved(shape, at, float64(i))
		dress(p, &f)
		return p
	}
	atlas, is := c.Book.(book.Atlas)
	require.True(t, is)
	var many []*book.Part
	for i := range 60 {
		many = append(many, field(i, home(0, 30), book.Skips))
	}
	c.putParts(t, c.Ada, c.Aspen, "many", many...)
	box, _ := book.BoxOnMap(many[0].Boundary)
	v := book.View{MapBox: box, Wide: 100, High: 100}
	o, err := atlas.Overview(as(t, c.Ada), book.Sieve{Season: seasonOfMany}, v)
	require.NoError(t, err)
	assert.True(t, o.FieldsLeft)
	assert.Len(t, o.Fields, 50)

	wide := book.View{MapBox: book.MapBox{Least: book.MapPlace{X: -120, Y: 0}, Most: book.MapPlace{X: -60, Y: 80}}, Wide: 390, High: 120}
	squares := func() (fields, skips, laps, unfinished int) {
		t.Helper()
		o, err := atlas.Overview(as(t, c.Ada), book.Sieve{Season: seasonOfMany}, wide)
		require.NoError(t, err)
		for _, s := range o.Squares {
			fields, skips, laps, unfinished = fields+s.Fields, skips+s.Skips, laps+s.Laps, unfinished+s.Unfinished
		}
		return fields, skips, laps, unfinished
	}
	for i := range 120 {
		many = append(many, field(100+i, home(float64(i%20), 40+float64(i/20)), book.Attention(i%4)))
	}
	put := func(name string, parts ...*book.Part) {
		job := sought(name)
		require.NoError(t, c.Book.AddFile(at(t, c.Ada, c.Aspen), job.Files[0], reading(bytesOf(name))))
		require.NoError(t, c.Book.Put(at(t, c.Ada, c.Aspen), place(c.Aspen, "many"), job, parts))
	}
	put("more", many...)
	fields, skips, laps, unfinished := squares()
	assert.Equal(t, []int{180, 90, 30, 30}, []int{fields, skips, laps, unfinished})
	put("fewer", many[60:160]...)
	fields, skips, laps, unfinished = squares()
	assert.Equal(t, []int{100, 25, 25, 25}, []int{fields, skips, laps, unfinished})
	wide.MapBox = box
	for named, want := range map[string]int{"ÖSTER_1%": 1, "öster": 1, "oster": 0, "%": 1, "_": 1, "x": 0} {
		q := field(1, home(0, 30), book.Laps)
		q.Field.Name = "Mellan Öster_1%"
		put("letters", q)
		o, err := atlas.Overview(as(t, c.Ada), book.Sieve{Season: seasonOfMany, Named: named}, wide)
		require.NoError(t, err)
		assert.Len(t, o.Fields, want, named)
	}
	q := field(1, home(0, 30), book.Laps)
	q.Field.Name = "Another"
	put("letters", q)
	o, err = atlas.Overview(as(t, c.Ada), book.Sieve{Season: seasonOfMany, Named: "another"}, wide)
	require.NoError(t, err)
	assert.Len(t, o.Fields, 1, "it is called otherwise now")
	wide.MapBox = book.MapBox{Least: book.MapPlace{X: -120, Y: 0}, Most: book.MapPlace{X: -60, Y: 80}}
	put("none", north.part(t))
	o, err = atlas.Overview(as(t, c.Ada), book.Sieve{Season: seasonOfMany}, wide)
	require.NoError(t, err)
	assert.Equal(t, &book.Overview{}, o)
	ch, err := atlas.Chooser(as(t, c.Ada), -1)
	require.NoError(t, err)
	assert.Equal(t, []int{2026}, ch.Seasons)
}

// ManyFields tries the map on 2,000 fields, or in its long version on 100,000, and prints how
// long each view takes, for one who looks and for eight at a time.
func ManyFields(t *testing.T, long bool, owner book.Owned, serve func() book.Served) {
	n := 2000
	if long {
		n = 100_000
	}
	c := NewCrowd(t, owner, serve)
	t.Cleanup(func() { c.Book.Close() })
	began := time.Now()
	s := Scatter(t, c, n)
	t.Logf("%d fields put in %.0f s", n, time.Since(began).Seconds())
	s.TryMap(t)
	s.time(t)
	s.timeYears(t)
}

// timeYears prints how long the questions over years take.
func (s *Scattered) timeYears(t *testing.T) {
	y := s.years(t)
	questions := []question{
		{"nitrogen wasted", func(ctx context.Context, _ int) error { _, err := y.Wasted(ctx); return err }},
		{"skips that come back", func(ctx context.Context, _ int) error { _, _, err := y.Returns(ctx, 100); return err }},
		{"widths", func(ctx context.Context, _ int) error { _, err := y.Widths(ctx); return err }},
		{"hours of operators", func(ctx context.Context, _ int) error { _, err := y.Hours(ctx); return err }},
		{"what sections save", func(ctx context.Context, _ int) error { _, err := y.Sections(ctx); return err }},
	}
	times := 1
	if len(s.fields) > 10_000 {
		times = 3
	}
	for _, clients := range []int{1, 8} {
		for _, q := range questions {
			s.ask(t, q, clients, times)
		}
	}
}

// promised is within what a view is there at p95.
const promised = 200 * time.Millisecond

// time prints how long views take.
func (s *Scattered) time(t *testing.T) {
	whole := all(s.fields)
	sieve := book.Sieve{Season: seasonOfMany}
	with := func(change func(*book.Sieve)) book.Sieve {
		of := sieve
		change(&of)
		return of
	}
	shares := func(fields float64) float64 { return min(1, math.Sqrt(fields/float64(len(s.fields)))) }
	type view struct {
		name string
		of   book.Sieve
		view book.View
	}
	views := []view{
		{"all of it", sieve, whole},
		{"a quarter of its width", sieve, part(whole, 0.25)},
		{"3,000 fields", sieve, part(whole, shares(3000))},
		{"800 fields", sieve, part(whole, shares(800))},
		{"50 fields with skips", sieve, part(whole, shares(50))},
		{"4 fields with skips", sieve, part(whole, shares(4))},
		{"all, one farm", with(func(f *book.Sieve) { f.Farm = s.Birch }), whole},
		{"all, one crop", with(func(f *book.Sieve) { f.Crop = "oats" }), whole},
		{"a quarter, one crop", with(func(f *book.Sieve) { f.Crop = "oats" }), part(whole, 0.25)},
		{"800 fields, one crop", with(func(f *book.Sieve) { f.Crop = "oats" }), part(whole, shares(800))},
		{"all, one machine", with(func(f *book.Sieve) { f.Machine = "drill 7" }), whole},
		{"all, one operator", with(func(f *book.Sieve) { f.Operator = "driver 7" }), whole},
		{"all, ten days", with(func(f *book.Sieve) {
			f.First = time.Date(seasonOfMany, 4, 10, 0, 0, 0, 0, time.UTC)
			f.Last = f.First.AddDate(0, 0, 9)
		}), whole},
		{"all, a name", with(func(f *book.Sieve) { f.Named = "99" }), whole},
	}
	var questions []question
	for _, v := range views {
		questions = append(questions, question{v.name, func(ctx context.Context, i int) error {
			look := v.view
			shift := float64(i%7-3) / 100 * (look.Most.X - look.Least.X) // no two look at quite the same
			look.Least.X, look.Most.X = look.Least.X+shift, look.Most.X+shift
			_, err := s.Atlas.Overview(ctx, v.of, look)
			return err
		}})
	}
	page := func(of book.Selection) func(context.Context, int) error {
		return func(ctx context.Context, _ int) error {
			if _, err := s.Book.Matched(ctx, of); err != nil {
				return err
			}
			return s.Book.Features(ctx, of, func(book.Feature) error { return nil })
		}
	}
	box := geo.Extent{West: home(0, 0).Lon, South: home(0, 0).Lat, East: home(20, 20).Lon, North: home(20, 20).Lat}
	questions = append(questions,
		question{"the list of fields", func(ctx context.Context, _ int) error {
			_, _, err := s.Book.Standing(ctx, book.Choice{Most: 200})
			return err
		}},
		question{"the list, a name", func(ctx context.Context, _ int) error {
			_, _, err := s.Book.Standing(ctx, book.Choice{Named: "99", Most: 200})
			return err
		}},
		question{"100 features", page(book.Selection{Layer: "ground", Most: 100})},
		question{"100 features in a box", page(book.Selection{Layer: "ground", Box: &box, Most: 100})},
	)
	long := len(s.fields) > 10_000
	times := 1
	if long {
		times = 40
	}
	for _, clients := range []int{1, 8} {
		for _, q := range questions {
			p95 := s.ask(t, q, clients, times)
			if long && clients == 1 && slices.ContainsFunc(views, func(v view) bool { return v.name == q.name }) {
				assert.Less(t, p95, promised, q.name)
			}
		}
	}
}

// A question is asked for the i-th time.
type question struct {
	name string
	ask  func(ctx context.Context, i int) error
}

// ask asks a question so many times by each of so many at a time, and prints how long it took:
// half of the times, and 95 of 100, which it returns.
func (s *Scattered) ask(t *testing.T, q question, clients, times int) time.Duration {
	t.Helper()
	var took []time.Duration
	var mu sync.Mutex
	var all sync.WaitGroup
	for k := range clients {
		all.Go(func() {
			for i := range times {
				began := time.Now()
				err := q.ask(as(t, s.Max), k*times+i)
				d := time.Since(began)
				if !assert.NoError(t, err) {
					return
				}
				mu.Lock()
				took = append(took, d)
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if len(took) == 0 {
		return 0
	}
	slices.Sort(took)
	p := func(share float64) time.Duration { return took[int(share*float64(len(took)-1))] }
	t.Logf("%d at a time, %-24s p50 %6.1f ms, p95 %6.1f ms", clients, q.name+":", p(0.5).Seconds()*1e3, p(0.95).Seconds()*1e3)
	return p(0.95)
}
