package field

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"lapwing/report/words"
)

// A Row is one field of several, or one operation there: what was found there, and where it was
// written.
type Row struct {
	*Document
	Dir string
}

// DirName makes the name of a directory of a field's name: letters and digits, and dashes
// for all else. Of fields whose names come to the same the later ones get a number.
func DirName(name string, taken func(dir string) bool) string {
	parts := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	name = strings.Join(parts, "-")
	if len(name) > 60 {
		name = strings.ToValidUTF8(name[:60], "")
	}
	if name == "" {
		name = "field"
	}
	for n, try := 2, name; ; n++ {
		if !taken(try) {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, n)
	}
}

// A List is several fields of one job.
type List []Row

// Text writes a line for each field.
func (rows List) Text(w io.Writer) error {
	var b bytes.Buffer
	of := "field"
	if slices.ContainsFunc(rows, func(r Row) bool { return r.Operation != "" }) {
		of = "assessment"
	}
	for i, r := range rows {
		if i == 0 {
			fmt.Fprintf(&b, "%s %9s %9s %10s %9s %12s  written to\n", words.Pad(words.Count(len(rows), of), 24), r.Units.AreaUnit(), "covered", "skips", "overlap", "edge open")
		}
		g, edge := r.Map.Totals, r.Map.Headland.Edge
		fmt.Fprintf(&b, "%s %9s %9s %10s %9s %12s  %s\n", words.Pad("  "+words.Plain(r.FieldName(), 22), 24),
			r.Units.AreaFigure(g.Field), words.Share(float64(g.Covered), float64(g.Field)),
			r.Units.Area(g.Skip-g.Remainder-g.Outlined), words.Share(float64(g.Overlap), float64(g.Field)), r.Units.Length(edge.Open), r.Dir)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// JSON writes the summaries of the fields as one array.
func (rows List) JSON(w io.Writer) error {
	var b bytes.Buffer
	for i, r := range rows {
		if i == 0 {
			b.WriteString("[\n")
		} else {
			b.WriteString(",\n")
		}
		var one bytes.Buffer
		if err := r.WriteSummary(&one); err != nil {
			return err
		}
		b.Write(bytes.TrimRight(one.Bytes(), "\n"))
	}
	b.WriteString("\n]\n")
	_, err := w.Write(b.Bytes())
	return err
}
