package mend

import (
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// Says is whether to go back, with its sum, in a sentence or two.
func (d *Document) Says() words.Text {
	return d.both(func(u quantity.Units) string {
		said := d.answer(u)
		return strings.TrimSpace(strings.Join(said[:min(2, len(said))], " "))
	})
}
