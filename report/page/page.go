package page

import (
	"embed"
	"html/template"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

//go:embed html/base.html html/parts.html html/*.css html/*.js
var pageFiles embed.FS

// Parsed returns the template of one page: main defines "main", which base.html
// places among what all pages share, with the parts of parts.html.
func Parsed(main string) *template.Template {
	shared := template.Must(template.New("base.html").ParseFS(pageFiles, "html/base.html", "html/parts.html"))
	return template.Must(shared.Parse(main))
}

// A Base is what every page has.
type Base struct {
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

// MapScript is the script of a map: it moves and zooms, and what is chosen there
// is read out.
const MapScript = "map.js"

// New makes the base of a page about what (the window names it), with the scripts
// it needs after base.js, which changes units and sorts tables.
func New(u quantity.Units, title, what, run string, scripts ...string) Base {
	return Base{
		CSS: template.CSS(pageFile("base.css")), JS: template.JS(pageFile(append([]string{"base.js"}, scripts...)...)),
		Units: [...]string{"us", "metric"}[u], Window: title + " - " + what, Title: title, Run: run,
		Cautions: cautions(),
	}
}

// OfField makes the base of a page about one field, with its map, its warnings and
// the cautions that its products ask for.
func OfField(a *assess.Assessment, what string) Base {
	b := New(a.Units, a.FieldName(), what, a.Run, MapScript)
	for _, w := range a.AllWarnings() {
		b.Warnings = append(b.Warnings, words.Warning(w))
	}
	if a.HasAmmonia() {
		b.Ammonia = AmmoniaCautions()
	}
	return b
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

// An Entry is one line of a title block.
type Entry struct {
	Name string
	Text words.Text
}
