package main

import (
	"fmt"
	"strings"
	"text/template"

	"lapwing/coverage/covertest"
)

// cell is the side of the cells in which the true areas are counted, metres:
// fine enough for the figures given, which are rounded to 10 m².
const cell = 0.2

// truth is what about.md says of the ground: counted cell by cell from where
// the bars really went, without the logs.
type truth struct {
	Field, Covered, Skip, Overlap, OverReach, Swept string
	Passes                                          int
}

// aboutText fills in the figures and places of a sample's about.md.
func (s *sample) aboutText() (string, error) {
	d := covertest.Raster(s.scene.Field, s.scene.Trails, cell)
	var field float64
	for _, p := range s.scene.Field.Boundary {
		field += p.Area().SquareMetres()
	}
	t, err := template.New("about.md").Funcs(template.FuncMap{"place": s.place}).Parse(strings.TrimLeft(s.about, "\n"))
	if err != nil {
		return "", err
	}
	var b strings.Builder
	err = t.Execute(&b, truth{
		Field: area(field), Covered: area(d.Covered()), Skip: area(d.Inside[0]), Overlap: area(d.Overlap()),
		OverReach: area(d.OverReach()), Swept: area(d.Swept()), Passes: len(s.scene.Trails),
	})
	return b.String(), err
}

// place writes where a mark is.
func (s *sample) place(mark string) (string, error) {
	at, ok := s.marks[mark]
	if !ok {
		return "", fmt.Errorf("no place is marked %q", mark)
	}
	p := s.scene.Field.Frame.FromMetres(at.X, at.Y)
	return fmt.Sprintf("longitude %.5f, latitude %.5f", p.Lon, p.Lat), nil
}

// area writes square metres to the nearest 10.
func area(m2 float64) string {
	s := fmt.Sprintf("%.0f", m2/10)
	if s == "0" {
		return "0 m²"
	}
	s += "0"
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s + " m²"
}
