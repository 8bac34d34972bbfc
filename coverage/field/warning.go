package field

import "fmt"

// A Warning is something the reader of a result should know about the input
// it came from. Warnings are data: they ride with the result to every report,
// and nothing is dropped or mended without one.
type Warning struct {
	File  string // "" where it concerns no single file
	Line  int    // 0 where it concerns no single line
	Count int    // how many fixes or rings it concerns; 0 where that has no meaning
	Text  string
}

// String is the warning in one line: file:line: text (n times).
func (w Warning) String() string {
	s := w.Text
	if w.Count > 1 {
		s += fmt.Sprintf(" (%d times)", w.Count)
	}
	switch {
	case w.File != "" && w.Line > 0:
		return fmt.Sprintf("%s:%d: %s", w.File, w.Line, s)
	case w.File != "":
		return w.File + ": " + s
	}
	return s
}

// Once returns warnings that say the same of one file as one, with how often it holds.
func Once(warnings []Warning) (out []Warning) {
	type said struct{ file, text string }
	at := map[said]int{}
	for _, w := range warnings {
		i, known := at[said{w.File, w.Text}]
		if !known {
			at[said{w.File, w.Text}] = len(out)
			out = append(out, w)
			continue
		}
		out[i].Count = max(1, out[i].Count) + max(1, w.Count)
	}
	return out
}
