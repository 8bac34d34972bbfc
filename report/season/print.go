package season

import (
	_ "embed"
	"fmt"
	"io"

	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// PrintFile is the season for paper: a cover, and a page for each field. At the address
// of one field it is that page alone.
const PrintFile = "season-print.html"

//go:embed print.html
var printHTML string

var printPage = page.NewTemplate(printHTML)

// mostOnCover is how many fields the cover has room for.
const mostOnCover = 24

// Print writes season-print.html.
func (s *Book) Print(w io.Writer) error {
	p := &printContents{Base: page.New(s.Units, s.title(), "for paper", s.run()), Answer: s.sentences(s.answer)}
	p.Book = PageFile
	for i, y := range s.seasons() {
		if i == 0 {
			p.Block, p.Fields = y.titleBlock(), y.coverTable()
			if n := len(y.entries) - mostOnCover; n > 0 {
				p.More = words.Capital(words.Count(n, "more field")) + " follow in this order, each on its page."
			}
		}
		for _, entry := range y.entries {
			if entry.sketch.Leaf != nil {
				p.Leaves = append(p.Leaves, numberedLeaf{entry.sketch.Leaf, entry.Number, y.name(), i > 0})
			}
		}
	}
	p.Notes = []string{"Printed whole, this is the last season; the pages of earlier ones are printed from the season book, one by one."}
	return printPage.Execute(w, p)
}

// The printContents are everything on season-print.html as it is to be read.
type printContents struct {
	page.Base
	Answer words.Text
	Block  []page.Entry
	Fields page.Table
	More   string
	Leaves []numberedLeaf
}

type numberedLeaf struct {
	*page.Leaf
	Number int
	Season string
	Past   bool // of an earlier season: printed alone only
}

// printed is where an entry is printed, from the season's page; "" where it is not.
func (s *Entry) printed() string {
	if s.sketch.Leaf == nil {
		return ""
	}
	return fmt.Sprintf("%s#field-%d", PrintFile, s.Number)
}

// coverTable is the list of what needs attention as far as it fits the cover.
func (y *year) coverTable() page.Table {
	m := measureOf(y.entries)
	t := page.Table{
		Empty: "No fields.", Caption: m.says(),
		Columns: []page.Column{
			page.Words("No."), page.Names("Field", "name"), page.Classed("Worked", "when"), page.Figures("Area"), page.Figures(m.name()),
			page.Figures("Skips"), page.Figures("Edge open"), page.Figures("Worked twice"),
		},
	}
	area := func(m2 float64) words.Text {
		return words.Both(y.Units, func(u quantity.Units) string { return u.SquareMetres(m2) })
	}
	for _, entry := range y.entries[:min(mostOnCover, len(y.entries))] {
		t.Add(words.Same(fmt.Sprint(entry.Number)), words.Same(words.Plain(entry.Name(), 34)), words.Same(entry.days()), area(entry.Field.Area.Float()),
			words.Both(y.Units, func(u quantity.Units) string { return m.text(u, entry) }), words.Same(fmt.Sprint(entry.skips())),
			words.Both(y.Units, func(u quantity.Units) string { return u.Metres(entry.open()) }), area(entry.Ground.Excess.Float()))
	}
	return t
}
