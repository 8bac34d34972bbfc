package report

import (
	"embed"
	"html/template"
	"strings"

	"lapwing/coverage/quantity"
)

//go:embed html
var pageFiles embed.FS

// parsed returns the template of one page: its own file defines "main", which
// base.html places among what all pages share, with the parts of parts.html.
func parsed(name string) *template.Template {
	return template.Must(template.New("base.html").ParseFS(pageFiles, "html/base.html", "html/parts.html", "html/"+name))
}

// A base is what every page has.
type base struct {
	CSS      template.CSS
	JS       template.JS
	Units    string // "us" or "metric": what is shown first
	Window   string // the title of the window
	Title    string
	Book     string // the season's page; "" where there is none to go back to
	Run      string
	Warnings []string
	Notes    []string
	Cautions []string
	Ammonia  []string // cautions, where a product is anhydrous ammonia
}

// newBase makes the base of a page about what (the window names it), with the scripts it needs after base.js,
// which changes units and sorts tables.
func newBase(u quantity.Units, title, what, run string, scripts ...string) base {
	return base{
		CSS: template.CSS(pageFile("base.css")), JS: template.JS(pageFile(append([]string{"base.js"}, scripts...)...)),
		Units: [...]string{"us", "metric"}[u], Window: title + " - " + what, Title: title, Run: run,
		Cautions: cautions(),
	}
}

// pageFile returns the text of embedded files, one after the other.
func pageFile(names ...string) string {
	var b strings.Builder
	for _, name := range names {
		text, err := pageFiles.ReadFile("html/" + name)
		if err != nil {
			panic(err) // not embedded: the program is built wrong
		}
		b.Write(text)
	}
	return b.String()
}

// A dual is a text in both systems of units. The page shows one of them and
// can change over.
type dual struct{ Shown, US, Metric string }

// both writes a text in both systems of units, u shown first.
func both(u quantity.Units, write func(u quantity.Units) string) dual {
	d := dual{US: typeset(write(quantity.US)), Metric: typeset(write(quantity.Metric))}
	d.Shown = d.US
	if u == quantity.Metric {
		d.Shown = d.Metric
	}
	return d
}

func (r *Report) both(write func(u quantity.Units) string) dual { return both(r.Units, write) }

// same is a text without a unit.
func same(s string) dual { return dual{s, s, s} }

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

// An entry is one line of a title block.
type entry struct {
	Name string
	Text dual
}
