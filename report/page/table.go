package page

import (
	"strconv"

	"lapwing/report/words"
)

// A Table is ruled, with a caption that says what is in it. The template
// "table" places it.
type Table struct {
	ID      string // of the element, "" for none
	Label   string // what a reader hears of the box it scrolls in; "" lets it not scroll
	Caption string
	Empty   string // said where there are no rows
	Columns []Column
	Rows    []Row
	Sorts   bool // its heads sort it
}

// A Column has its head, with the unit of its figures where they are bare.
type Column struct {
	Name   string
	Unit   words.Text
	Figure bool // to the right, digits under digits
	Named  bool // of names, each in its own direction
	Class  string
}

// A Row is one line of a table.
type Row struct {
	Class string
	Cells []Cell
}

// A Cell is a text; a link or a button that leads to the map where it has one.
type Cell struct {
	Head  bool // names its row
	Named bool // its text is a name
	Class string
	Text  words.Text
	Go    string // key of the shape on the map
	Says  string // of that button, for who cannot see it
	Link  string
	Place *Place
	Sort  string // what it sorts by, where that is not its text
}

// Words is a column of texts.
func Words(name string) Column { return Column{Name: name} }

// Names is a column of names from files, of machines, products and the like,
// laid out by a class of the style or by none.
func Names(name, class string) Column { return Column{Name: name, Class: class, Named: true} }

// Classed is a column of texts laid out by a class of the style.
func Classed(name, class string) Column { return Column{Name: name, Class: class} }

// Figures is a column of numbers, each with its unit.
func Figures(name string) Column { return Column{Name: name, Figure: true, Class: "fig"} }

// FiguresIn is a column of bare numbers, headed by their unit.
func FiguresIn(name string, unit words.Text) Column {
	return Column{Name: name, Figure: true, Class: "fig", Unit: unit}
}

// Add appends a row of texts, the first of which names it.
func (t *Table) Add(texts ...words.Text) *Row {
	cells := make([]Cell, len(texts))
	for i, text := range texts {
		cells[i] = Cell{Head: i == 0, Named: t.Columns[i].Named, Class: t.Columns[i].Class, Text: text}
	}
	t.Rows = append(t.Rows, Row{Cells: cells})
	return &t.Rows[len(t.Rows)-1]
}

// By lets the cell at i of a row sort by a number.
func (w *Row) By(i int, v float64) { w.Cells[i].Sort = strconv.FormatFloat(v, 'g', -1, 64) }

// Leads puts a place into the cell at i of a row.
func (w *Row) Leads(i int, p *Place) { w.Cells[i].Place = p }

// Goes makes the cell that names a row a button that leads to the map.
func (w *Row) Goes(key, says string) { w.Cells[0].Go, w.Cells[0].Says = key, says }
