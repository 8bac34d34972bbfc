package words

import (
	"fmt"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
)

// Headland says whether the headland of a field is closed.
func Headland(u quantity.Units, m *coverage.Map) string {
	e := m.Headland.Edge
	switch {
	case m.Field.Worked:
		return "No boundary given: the outer edge of the worked ground stands in for it."
	case e.Length == 0:
		return "No headland to speak of."
	case e.Reached == 0 && e.Unlogged == 0:
		return "Headland open all the way round, " + u.Length(e.Open) + "."
	case e.Open == 0 && e.Unlogged == 0:
		return "Headland closed all the way round."
	case e.Open == 0:
		return fmt.Sprintf("Headland closed as far as the log tells; it is silent along %s of the boundary.", u.Length(e.Unlogged))
	}
	return fmt.Sprintf("Headland open in %s, %s.", Count(max(1, len(e.Openings)), "place"), u.Length(e.Open))
}

// Warning writes a warning in one line: day1.csv:412: text (12 times).
func Warning(w field.Warning) string {
	s := w.Text
	switch {
	case w.File != "" && w.Line > 0:
		s = fmt.Sprintf("%s:%d: %s", w.File, w.Line, s)
	case w.File != "":
		s = w.File + ": " + s
	}
	if w.Count > 1 {
		s += fmt.Sprintf(" (%s times)", quantity.Number(float64(w.Count), 0))
	}
	return s
}
