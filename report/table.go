package report

import (
	"strconv"

	"lapwing/report/words"
)

// A table is ruled, with a caption that says what is in it. The template
// "table" places it.
type table struct {
	ID      string // of the element, "" for none
	Label   string // what a reader hears of the box it scrolls in; "" lets it not scroll
	Caption string
	Empty   string // said where there are no rows
	Columns []column
	Rows    []row
	Sorts   bool // its heads sort it
}

// A column has its head, with the unit of its figures where they are bare.
type column struct {
	Name   string
	Unit   words.Text
	Figure bool // to the right, digits under digits
	Class  string
}

type row struct {
	Class string
	Cells []cell
}

// A cell is a text; a link or a button that leads to the plat where it has one.
type cell struct {
	Head  bool // names its row
	Class string
	Text  words.Text
	Go    string // key of the shape on the plat
	Says  string // of that button, for who cannot see it
	Link  string
	Sort  string // what it sorts by, where that is not its text
}

// wordsColumn and figures are columns of texts and of numbers; classed lays a column
// of texts out by a class of the style.
func wordsColumn(name string) column    { return column{Name: name} }
func classed(name, class string) column { return column{Name: name, Class: class} }
func figures(name string) column        { return column{Name: name, Figure: true, Class: "fig"} }
func figuresIn(name string, unit words.Text) column {
	return column{Name: name, Figure: true, Class: "fig", Unit: unit}
}

// add appends a row of texts, the first of which names it.
func (t *table) add(texts ...words.Text) *row {
	cells := make([]cell, len(texts))
	for i, text := range texts {
		cells[i] = cell{Head: i == 0, Class: t.Columns[i].Class, Text: text}
	}
	t.Rows = append(t.Rows, row{Cells: cells})
	return &t.Rows[len(t.Rows)-1]
}

// by lets the cell at i of a row sort by a number.
func (w *row) by(i int, v float64) { w.Cells[i].Sort = strconv.FormatFloat(v, 'g', -1, 64) }

// goes makes the cell that names a row a button that leads to the plat.
func (w *row) goes(key, says string) { w.Cells[0].Go, w.Cells[0].Says = key, says }
