package gnsslog

import (
	"fmt"

	"lapwing/geo"
	"lapwing/geo/gnsslog/naming"
)

// isCut reports whether a column is known by the beginning of its name alone.
func (p *plan) isCut(column int) bool {
	name := p.names[column]
	short, unit := naming.Normal(name)
	r, _, _ := naming.Of(short, unit)
	_, may := naming.MayBeCut(name)
	return r == naming.Roles && may
}

// explainCutSpeed fills in what a speed's column whose name is cut was taken for.
func (p *plan) explainCutSpeed(column, line int) {
	stem, _ := naming.MayBeCut(p.names[column])
	_, _, word := naming.OfStem(stem)
	p.perUnit = naming.UnitCalled(word).MPS
	if word == "" {
		word = "m/s"
		p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q: its name is cut, and a unit perhaps with it; taken as m/s", p.names[column])})
	}
	p.understood[column].As = "speed in " + word
}
