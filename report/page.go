package report

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

//go:embed html
var pageFiles embed.FS

var pageTemplate = template.Must(template.New("page.html").ParseFS(pageFiles, "html/page.html"))

// Page writes report.html: the plat of the field with its tables, one file
// that loads nothing from elsewhere.
func (r *Report) Page(w io.Writer) error {
	p, err := r.page()
	if err != nil {
		return err
	}
	return pageTemplate.Execute(w, p)
}

// A page is everything on report.html as it is to be read: the template only
// places it.
type page struct {
	CSS                       template.CSS
	JS                        template.JS
	Units                     string // "us" or "metric": what is shown first
	Run                       string
	Field                     string
	Answer                    dual
	Block                     []entry // the title block
	Plat                      plat
	Ground                    []groundLine
	Depths                    []groundLine
	Headland                  []entry
	Strips                    []strip
	Skips                     []patchLine
	Overlaps                  []patchLine
	SmallSkips, SmallOverlaps dual // how many are too small to list
	Passes                    []passLine
	Products                  []productLine
	Machines                  []machineLine
	Warnings                  []string
	Notes                     []string
	Cautions                  []string
	Ammonia                   []string
}

// A dual is a text in both systems of units. The page shows one of them and
// can change over.
type dual struct{ Shown, US, Metric string }

// both writes a text in both systems of units.
func (r *Report) both(write func(u Units) string) dual {
	d := dual{US: typeset(write(US)), Metric: typeset(write(Metric))}
	d.Shown = d.US
	if r.Units == Metric {
		d.Shown = d.Metric
	}
	return d
}

// typeset puts the raised 2 that terminals may lack, and keeps a number on one
// line with its unit.
func typeset(s string) string {
	words := strings.Split(s, " ")
	var b strings.Builder
	for i, word := range words {
		if i > 0 {
			if isNumber(words[i-1]) {
				b.WriteString("\u00a0")
			} else {
				b.WriteByte(' ')
			}
		}
		if strings.TrimRight(word, ".,;") == "m2" {
			word = "m²" + word[2:]
		}
		b.WriteString(word)
	}
	return b.String()
}

func (r *Report) bothAreas(a plane.Area) dual {
	return r.both(func(u Units) string { return u.area(a) })
}

func (r *Report) bothLengths(ticks float64) dual {
	return r.both(func(u Units) string { return u.length(ticks) })
}

func same(s string) dual { return dual{s, s, s} }

type entry struct {
	Name string
	Text dual
}

type groundLine struct {
	Name  string
	Area  dual
	Share string
	Class string // the swatch, "" for none
}

// A patchLine is one row of the lists of skips and overlaps.
type patchLine struct {
	Key    string // of the shape on the plat
	Number int
	Area   dual
	Size   dual
	Depth  int
	Cause  string
	Place  dual
}

type passLine struct {
	ID                 int
	Machine, Kind      string
	Start              string
	Length             dual
	Swept, New, Lapped dual
}

type productLine struct {
	Name                         string
	Part                         bool
	Rate, Applied, Wasted, Short dual
	Cost                         string
}

type machineLine struct {
	Name, Operator, Implement string
	Width                     dual
	Openers                   dual
	Hitch                     string
	Sections                  int
	Logs                      string
}

func (r *Report) page() (*page, error) {
	css, err := pageFiles.ReadFile("html/page.css")
	if err != nil {
		return nil, err
	}
	js, err := pageFiles.ReadFile("html/page.js")
	if err != nil {
		return nil, err
	}
	p := &page{
		CSS: template.CSS(css), JS: template.JS(js),
		Units: [...]string{"us", "metric"}[r.Units], Run: r.Run,
		Field:  r.fieldName(),
		Answer: r.both(func(u Units) string { return strings.Join(r.answer(u), " ") }),
		Plat:   r.plat(), Strips: r.strips(),
		Passes: r.passLines(), Products: r.productLines(), Machines: r.machineLines(),
	}
	p.Block = r.titleBlock()
	p.Ground, p.Depths = r.groundLines(), r.depthLines()
	p.Headland = r.headlandEntries()
	p.Skips, p.Overlaps = r.patchLines()
	p.SmallSkips, p.SmallOverlaps = r.tooSmall(r.skips()), r.tooSmall(r.overlaps())
	for _, w := range r.warnings() {
		p.Warnings = append(p.Warnings, warningWords(w))
	}
	p.Notes, p.Cautions, p.Ammonia = r.notes(), cautions(), r.ammoniaCautions()
	return p, nil
}

func (r *Report) fieldName() string {
	if r.Map.Field.Name == "" {
		return "Field without a name"
	}
	return r.Map.Field.Name
}

func (r *Report) titleBlock() []entry {
	centre := r.Map.Field.Frame.Centre
	block := []entry{
		{"Area", r.bothAreas(r.Map.Ground.Field)},
		{"Worked", same(r.dates())},
		{"Machines", same(strings.Join(r.machineNames(indices(len(r.Map.Machines))), ", "))},
		{"Middle", same(lonLat(centre.Lon, centre.Lat))},
	}
	return slices.DeleteFunc(block, func(e entry) bool { return e.Text.Shown == "" })
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// dates gives the first and the last day of work.
func (r *Report) dates() string {
	const layout = "2 January 2006"
	var first, last time.Time
	for i := range r.Map.Passes {
		p := &r.Map.Passes[i]
		if !r.clock(p) {
			continue
		}
		if start := p.Start.Time(); first.IsZero() || start.Before(first) {
			first = start
		}
		if end := p.End.Time(); end.After(last) {
			last = end
		}
	}
	switch {
	case first.IsZero():
		return ""
	case first.Format(layout) == last.Format(layout):
		return first.Format(layout) + " (UTC)"
	}
	return first.Format(layout) + " to " + last.Format(layout) + " (UTC)"
}

func (r *Report) groundLines() []groundLine {
	g := r.Map.Ground
	classes := []string{"", "skip", "unworked", "unlogged", "overlap", "overreach"}
	lines := []groundLine{{Name: "Field", Area: r.bothAreas(g.Field)}}
	for i, row := range r.groundRows() {
		lines = append(lines, groundLine{row.Name, r.bothAreas(row.Area), share(float64(row.Area), float64(g.Field)), classes[i]})
	}
	return lines
}

func (r *Report) depthLines() []groundLine {
	g := r.Map.Ground
	var lines []groundLine
	for depth, a := range byDepth(g) {
		name := [...]string{"Not at all", "Once", "Twice"}[min(depth, 2)]
		if depth > 2 {
			name = fmt.Sprintf("%d times", depth)
		}
		if depth > 2 && a == 0 {
			continue
		}
		lines = append(lines, groundLine{Name: name, Area: r.bothAreas(a), Share: share(float64(a), float64(g.Field))})
	}
	return lines
}

func (r *Report) headlandEntries() []entry {
	h := r.Map.Headland
	entries := []entry{
		{"Width", r.bothLengths(float64(h.Width))},
		{"Area", r.bothAreas(h.Area)},
		{"Covered", same(share(float64(h.Covered), float64(h.Area-h.Unlogged)))},
	}
	if e := h.Edge; e.Length > 0 && !r.Map.Field.Worked {
		entries = append(entries,
			entry{"Boundary", r.bothLengths(e.Length)},
			entry{"Reached", r.bothLengths(e.Reached)},
			entry{"Open", r.bothLengths(e.Open)},
			entry{"Unlogged", r.bothLengths(e.Unlogged)},
			entry{"Stand-off, average", r.bothLengths(e.Mean)},
			entry{"Stand-off, most", r.bothLengths(e.Max)})
	}
	return entries
}

func (r *Report) patchLines() (skips, overlaps []patchLine) {
	ls, lo := r.skips(), r.overlaps()
	for n, i := range ls.order[:ls.listed] {
		s := &r.Map.Skips[i]
		skips = append(skips, patchLine{
			Key: fmt.Sprintf("s%d", n+1), Number: n + 1, Area: r.bothAreas(s.Area),
			Size:  r.both(func(u Units) string { return u.length(s.Length) + " by " + u.length(s.Width) }),
			Cause: causeWords(s.Cause), Place: r.both(func(u Units) string { return r.place(u, s.Place, s.At) }),
		})
	}
	for n, i := range lo.order[:lo.listed] {
		o := &r.Map.Overlaps[i]
		overlaps = append(overlaps, patchLine{
			Key: fmt.Sprintf("o%d", n+1), Number: n + 1, Area: r.bothAreas(o.Area), Depth: o.Depth,
			Cause: causeWords(o.Cause), Place: r.both(func(u Units) string { return r.place(u, o.Place, o.At) }),
		})
	}
	return skips, overlaps
}

// tooSmall says how many patches a list leaves out; nothing if there are none.
func (r *Report) tooSmall(l listing) dual {
	small := len(l.order) - l.listed
	if small == 0 {
		return dual{}
	}
	return r.both(func(u Units) string {
		return fmt.Sprintf("%s too small to list; the totals hold them.", count(small, "patch"))
	})
}

func (r *Report) passLines() []passLine {
	lines := make([]passLine, len(r.Map.Passes))
	for i := range r.Map.Passes {
		p := &r.Map.Passes[i]
		start := "no clock"
		if r.clock(p) {
			start = p.Start.Time().Format("2006-01-02 15:04")
		}
		lines[i] = passLine{
			ID: p.ID, Machine: r.machineName(p.Machine), Kind: passKind(p), Start: start,
			Length: r.bothLengths(p.Length), Swept: r.bothAreas(p.Swept), New: r.bothAreas(p.New), Lapped: r.bothAreas(p.Overlap),
		}
	}
	return lines
}

func (r *Report) productLines() []productLine {
	var lines []productLine
	for i := range r.Accounts {
		a := &r.Accounts[i]
		us, metric := productRows(US, a), productRows(Metric, a)
		for k := range us {
			pick := func(of func(productRow) string) dual {
				return r.both(func(u Units) string {
					if u == Metric {
						return of(metric[k])
					}
					return of(us[k])
				})
			}
			line := productLine{
				Name: us[k].Name, Part: us[k].Part, Cost: us[k].Cost,
				Applied: pick(func(p productRow) string { return p.Applied }),
				Wasted:  pick(func(p productRow) string { return p.Wasted }),
				Short:   pick(func(p productRow) string { return p.Short }),
			}
			if !us[k].Part {
				line.Rate = r.both(func(u Units) string { return u.rate(&a.Product) })
			}
			lines = append(lines, line)
		}
	}
	return lines
}

func (r *Report) machineLines() []machineLine {
	lines := make([]machineLine, len(r.Map.Machines))
	for i := range r.Map.Machines {
		m := &r.Map.Machines[i]
		im := &m.Implement
		files := make([]string, len(m.Tracks))
		for k := range m.Tracks {
			files[k] = m.Tracks[k].File
		}
		lines[i] = machineLine{
			Name: m.Name, Operator: m.Operator, Implement: im.Name, Width: r.bothLengths(float64(im.Width)),
			Hitch: "mounted", Sections: max(1, len(im.Sections)), Logs: strings.Join(files, ", "),
		}
		if im.Towed {
			lines[i].Hitch = "towed"
		}
		if im.Openers > 0 {
			lines[i].Openers = r.both(func(u Units) string {
				if im.RowSpacing == 0 {
					return fmt.Sprint(im.Openers)
				}
				return fmt.Sprintf("%d at %s", im.Openers, u.spacing(im.RowSpacing))
			})
		}
	}
	return lines
}

// warningWords writes a warning in one line: day1.csv:412: text (12 times).
func warningWords(w coverage.Warning) string {
	s := w.Text
	switch {
	case w.File != "" && w.Line > 0:
		s = fmt.Sprintf("%s:%d: %s", w.File, w.Line, s)
	case w.File != "":
		s = w.File + ": " + s
	}
	if w.Count > 1 {
		s += fmt.Sprintf(" (%s times)", number(float64(w.Count), 0))
	}
	return s
}
