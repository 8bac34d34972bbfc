package page

import (
	"lapwing/report/chart"
	"lapwing/report/words"
)

// A Leaf is one field on one printed page, letter or A4: the template "leaf" places it.
// What is on it is bounded, and the map takes the room that is left, so that it never
// runs over.
type Leaf struct {
	Name      string
	Says      words.Text // the verdict
	Block     []Entry
	Map       chart.SmallMap
	Skips     Table // the worst that fit
	MoreSkips words.Text
	Headland  []Entry
	Waste     []words.Text
	Notes     []words.Text
	Run       string
}
