// Package overview is the page of the map of all fields of a season, and what it is sent:
// squares with counts from afar, boundaries nearer, skips near. A book knows them
// ([book.Atlas]); the page draws them by itself, and loads nothing from elsewhere.
//
//	GET .        the page
//	GET view     what is drawn of a view: JSON of [View]
//	GET field    what is said of a field: JSON of [Field]
//	GET chosen   where the fields of a season are: JSON of [Start]
package overview

import (
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/book"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed overview.html overview.css overview.js
var files embed.FS

func file(name string) string {
	text, err := files.ReadFile(name)
	if err != nil {
		panic(err) // not embedded: the program is built wrong
	}
	return string(text)
}

var overviewPage = page.NewTemplate(file("overview.html"))

// A Document is the page.
type Document struct {
	Units   quantity.Units
	Back    string // the address that it leads back to; "" for none
	Chooser book.Chooser
	Season  int // shown first
}

// An option is one of a list to choose from.
type option struct {
	Value, Name string
	Here        bool
}

type contents struct {
	page.Base
	Back                       string
	Some                       bool
	None                       string
	Seasons, Farms             []option
	Crops, Machines, Operators []string
	Start                      Start
}

// A Start is where the fields of a season are on the map: west, south, east, north.
type Start struct {
	Box *[4]float64 `json:"box"`
}

// StartOf is where the fields of a chooser are; no box where there are none.
func StartOf(c *book.Chooser) Start {
	if !c.Some {
		return Start{}
	}
	return Start{boxOf(c.Box)}
}

func boxOf(b book.MapBox) *[4]float64 { return &[4]float64{b.Least.X, b.Least.Y, b.Most.X, b.Most.Y} }

// base makes the base of the page: it may ask its own server, and nobody else.
func base(u quantity.Units) page.Base {
	b := page.New(u, "All fields", "map", "")
	b.CSS += template.CSS(file("overview.css"))
	b.JS += template.JS(file("overview.js"))
	b.Policy = template.HTMLAttr(`content="default-src 'none'; style-src ` + page.Hash(string(b.CSS)) + "; script-src " + page.Hash(string(b.JS)) +
		`; connect-src 'self'; img-src data:; base-uri 'none'; form-action 'none'"`)
	return b
}

// Policy is the Content-Security-Policy of the page.
func Policy() string {
	b := base(quantity.US)
	return b.PolicyText()
}

// Page writes the page.
func (d *Document) Page(w io.Writer) error {
	p := &contents{Base: base(d.Units), Back: d.Back, Crops: d.Chooser.Crops, Machines: d.Chooser.Machines, Operators: d.Chooser.Operators, Start: StartOf(&d.Chooser),
		Some: d.Chooser.Some, None: "Nothing stands in the book that you may see: once fields are put into it, they are on this map."}
	for _, s := range d.Chooser.Seasons {
		name := strconv.Itoa(s)
		if s == 0 {
			name = "no clock"
		}
		p.Seasons = append(p.Seasons, option{strconv.Itoa(s), name, s == d.Season})
	}
	for _, f := range d.Chooser.Farms {
		if f.ID != book.WholeBook {
			p.Farms = append(p.Farms, option{strconv.FormatInt(f.ID, 10), words.Clean(f.Name), false})
		}
	}
	if len(p.Farms) < 2 {
		p.Farms = nil
	}
	p.Notes = notes
	return overviewPage.Execute(w, p)
}

var notes = []string{
	"A field stands here once for each work that the book has of it in the season: harrowed and drilled, it lies there twice, and counts twice in a square.",
	"What a field needs is judged by shares of it: skips by mistake over 0.2 %, else more than 5 % worked twice, else more than 2 % not worked yet. Its own page tells what is behind that.",
	"The map is Mercator's, of the sphere: shapes are true and sizes are not; nothing is measured on it. From afar a boundary is drawn to 8 m.",
	"One view draws what a screen has room for, 1,000 fields and 1,500 skips at most; it says so where there are more.",
	"What can be chosen as crop, machine or operator are the first 1,000 names.",
}

// A View is what is drawn of a view.
type View struct {
	Says    string      `json:"says"`
	Size    float64     `json:"size,omitempty"`    // of a square, in degrees of the map
	Squares [][6]int    `json:"squares,omitempty"` // x, y, fields, and those with skips, with laps, unfinished
	Fields  []OnMap     `json:"fields,omitempty"`
	Skips   []SkipOnMap `json:"skips,omitempty"`
}

// An OnMap is a field of a [View]. Its number is a text: JavaScript's numbers end before those
// of a database do.
type OnMap struct {
	ID      string          `json:"id"`
	Name    string          `json:"name"`
	Need    int             `json:"need"` // a [book.Attention]
	Outline json.RawMessage `json:"outline"`
}

// A SkipOnMap is a skip of a [View].
type SkipOnMap struct {
	Field   string          `json:"field"`
	Number  int             `json:"number"`
	Outline json.RawMessage `json:"outline"`
}

// ViewOf writes what is drawn.
func ViewOf(o *book.Overview) *View {
	v := &View{Size: o.Size, Says: says(o)}
	for _, s := range o.Squares {
		v.Squares = append(v.Squares, [6]int{s.X, s.Y, s.Fields, s.Skips, s.Laps, s.Unfinished})
	}
	for i := range o.Fields {
		f := &o.Fields[i]
		v.Fields = append(v.Fields, OnMap{strconv.FormatInt(f.ID, 10), nameOf(f.Name), int(f.Attention), json.RawMessage(f.Outline)})
	}
	for i := range o.Skips {
		s := &o.Skips[i]
		v.Skips = append(v.Skips, SkipOnMap{strconv.FormatInt(s.Field, 10), s.Number, json.RawMessage(s.Outline)})
	}
	return v
}

func nameOf(name string) string {
	if name = words.Clean(name); strings.TrimSpace(name) == "" {
		return "field without a name"
	}
	return name
}

// says says what is drawn, in a sentence or two.
func says(o *book.Overview) string {
	if o.Size > 0 {
		var all book.Square
		for _, s := range o.Squares {
			all.Fields, all.Skips, all.Laps, all.Unfinished = all.Fields+s.Fields, all.Skips+s.Skips, all.Laps+s.Laps, all.Unfinished+s.Unfinished
		}
		return fmt.Sprintf("%s in the squares in view%s. Come nearer to see boundaries.", words.Capital(words.Count(all.Fields, "field")), needed(all))
	}
	if len(o.Fields) == 0 {
		return "No fields in view."
	}
	var all book.Square
	for _, f := range o.Fields {
		switch f.Attention {
		case book.Skips:
			all.Skips++
		case book.Laps:
			all.Laps++
		case book.Unfinished:
			all.Unfinished++
		}
	}
	text := fmt.Sprintf("%s in view%s.", words.Capital(words.Count(len(o.Fields), "field")), needed(all))
	if o.FieldsLeft {
		text = fmt.Sprintf("There are more fields here than there is room for: %s are drawn. Come nearer, or choose fewer.", words.Count(len(o.Fields), "field"))
	}
	switch {
	case o.SkipsLeft:
		text += fmt.Sprintf(" The largest %s are drawn; there are more.", words.Count(len(o.Skips), "skip"))
	case len(o.Skips) > 0:
		text += fmt.Sprintf(" %s drawn.", words.Capital(words.Count(len(o.Skips), "skip")))
	}
	return text
}

// needed says what fields need.
func needed(of book.Square) string {
	var parts []string
	for _, p := range []struct {
		n    int
		what string
	}{{of.Skips, "with skips"}, {of.Laps, "with laps"}, {of.Unfinished, "not finished"}} {
		if p.n > 0 {
			parts = append(parts, quantity.Number(float64(p.n), 0)+" "+p.what)
		}
	}
	if len(parts) == 0 {
		return ", none of which needs anything"
	}
	return ": " + strings.Join(parts, ", ")
}

// A Field is what is said of a field.
type Field struct {
	Name  string      `json:"name"`
	Lines []Line      `json:"lines"`
	Link  string      `json:"link,omitempty"`
	Box   *[4]float64 `json:"box"`
}

// A Line is a name and a text, in both systems of units.
type Line struct {
	Name string `json:"name"`
	Text Both   `json:"text"`
}

// Both is a text in both systems of units.
type Both struct {
	US     string `json:"us"`
	Metric string `json:"metric"`
}

// FieldOf writes what is said of a field, whose page is at an address.
func FieldOf(f *book.FieldFigures, link string) *Field {
	out := &Field{Name: nameOf(f.Name), Link: link, Box: boxOf(f.Box)}
	line := func(name string, write func(u quantity.Units) string) {
		t := words.Both(quantity.US, write)
		out.Lines = append(out.Lines, Line{name, Both{t.US, t.Metric}})
	}
	same := func(name, text string) {
		if text != "" {
			out.Lines = append(out.Lines, Line{name, Both{words.Clean(text), words.Clean(text)}})
		}
	}
	area := func(name string, m2 float64) {
		line(name, func(u quantity.Units) string {
			if m2 == 0 {
				return "none"
			}
			return u.SquareMetres(m2)
		})
	}
	same("Farm", f.Farm)
	same("Operation", f.Operation)
	same("Crop", f.Crop)
	area("Area", f.Area)
	line("Skips", func(u quantity.Units) string {
		if f.Skips == 0 && f.Skipped == 0 {
			return "none"
		}
		return fmt.Sprintf("%d, %s", f.Skips, u.SquareMetres(f.Skipped))
	})
	area("Worked twice", f.Excess)
	if f.Unworked > 0 {
		area("Not worked yet", f.Unworked)
	}
	if f.Open > 0 {
		line("Edge open", func(u quantity.Units) string { return u.Metres(f.Open) })
	}
	same("Machines", strings.Join(f.Machines, ", "))
	if !f.Last.IsZero() {
		same("Last worked", f.Last.Format("2 Jan 2006")+" (UTC)")
	}
	return out
}

// SieveOf reads what is chosen, as the page asks for it.
func SieveOf(get func(name string) string) (s book.Sieve, err error) {
	if s.Season, err = strconv.Atoi(get("season")); err != nil {
		return s, fmt.Errorf("season: found %q, want a year", get("season"))
	}
	if farm := get("farm"); farm != "" {
		if s.Farm, err = strconv.ParseInt(farm, 10, 64); err != nil {
			return s, fmt.Errorf("farm: found %q, want a number", farm)
		}
	}
	s.Crop, s.Machine, s.Operator, s.Named = get("crop"), get("machine"), get("operator"), get("named")
	for name, day := range map[string]*time.Time{"first": &s.First, "last": &s.Last} {
		if text := get(name); text != "" {
			if *day, err = time.Parse(time.DateOnly, text); err != nil {
				return s, fmt.Errorf("%s: found %q, want a day such as 2026-05-04", name, text)
			}
		}
	}
	return s, nil
}

// The widest drawing that is answered, in pixels.
const mostPixels = 8192

// BoxOf reads a view, as the page asks for it: west, south, east and north in degrees of the map,
// and the size of the drawing.
func BoxOf(get func(name string) string) (v book.View, err error) {
	var n [4]float64
	parts := strings.Split(get("box"), ",")
	if len(parts) != len(n) {
		return v, fmt.Errorf("box: found %q, want west,south,east,north", get("box"))
	}
	for i, p := range parts {
		if n[i], err = strconv.ParseFloat(p, 64); err != nil || !(n[i] >= -1e4 && n[i] <= 1e4) {
			return v, fmt.Errorf("box: found %q, want degrees of the map", p)
		}
	}
	v.MapBox = book.MapBox{Least: book.MapPlace{X: max(n[0], -180), Y: max(n[1], -180)}, Most: book.MapPlace{X: min(n[2], 180), Y: min(n[3], 180)}}
	wide, high, found := strings.Cut(get("size"), ",")
	v.Wide, err = strconv.Atoi(wide)
	if err == nil && found {
		v.High, err = strconv.Atoi(high)
	}
	if err != nil || !found || v.Wide < 1 || v.High < 1 || v.Wide > mostPixels || v.High > mostPixels {
		return v, fmt.Errorf("size: found %q, want width,height in pixels, up to %d", get("size"), mostPixels)
	}
	if !(v.Most.X > v.Least.X && v.Most.Y > v.Least.Y) {
		return v, fmt.Errorf("box: found %q, want some ground", get("box"))
	}
	return v, nil
}
