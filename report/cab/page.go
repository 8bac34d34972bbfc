package cab

import (
	_ "embed"
	"html/template"
	"io"
	"sync"

	"lapwing/coverage/quantity"
	"lapwing/report/page"
)

//go:embed cab.html
var cabHTML string

//go:embed cab.css
var cabCSS string

//go:embed cab.js
var cabJS string

var cabPage = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("cab").Parse(cabHTML))
})

// A Page is the page without anything of the field: it asks for that.
type Page struct {
	CSS      template.CSS
	JS       template.JS
	Title    string
	Cautions []string
	Ammonia  []string
	Wider    int    // a gap that is wider gets a tone, once that is switched on
	Short    string // the unit of Wider
}

// New makes the page. Enter is the script that opens the door, and comes first.
func New(u quantity.Units, title, enter string, ammonia bool) *Page {
	base := page.New(u, title, "in the cab", "")
	p := &Page{CSS: base.CSS + template.CSS(cabCSS), JS: template.JS(enter + cabJS), Title: title, Wider: 10, Short: "cm"}
	if u == quantity.US {
		p.Wider, p.Short = 4, "in"
	}
	p.Cautions = append([]string{
		"It is no guidance and no safety device. It says where ground was worked, from positions that may be wrong, and commands no machine. Eyes on the field.",
	}, base.Cautions[1:]...)
	if ammonia {
		p.Ammonia = page.AmmoniaCautions()
	}
	return p
}

// Write writes the page.
func (p *Page) Write(w io.Writer) error { return cabPage().Execute(w, p) }
