// Package facts says in words what a file holds, for a person who asks what lapwing sees in
// it, and which formats there are.
package facts

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"lapwing/coverage/inspect"
	"lapwing/coverage/quantity"
	"lapwing/report/look"
	"lapwing/report/words"
)

// Describe says in words what a file holds.
func Describe(w io.Writer, in *inspect.Facts, units quantity.Units) error {
	fmt.Fprintf(w, "%s: %s\n", in.File, in.Format)
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	row := func(name, format string, args ...any) {
		fmt.Fprintf(table, "  %s\t%s\n", name, fmt.Sprintf(format, args...))
	}
	if log := in.Log; log != nil {
		describeLog(row, log, units)
	}
	for _, b := range in.Boundaries {
		name := strings.TrimSpace(b.ID + " " + b.Name)
		if name == "" {
			name = "no name"
		}
		stated := ""
		if b.Stated > 0 {
			stated = ", which the set says is " + units.SquareMetres(b.Stated)
		}
		row("field", "%s: %s%s, edge %s, %d %s, %d %s", name, units.SquareMetres(b.Area), stated, units.Metres(b.Perimeter),
			b.Parts, words.Plural(b.Parts, "part"), b.Holes, words.Plural(b.Holes, "hole"))
	}
	if set := in.Set; set != nil {
		describeSet(row, set, units)
	}
	if in.Extent.West <= in.Extent.East {
		row("extent", "%.6f to %.6f east, %.6f to %.6f north", in.Extent.West, in.Extent.East, in.Extent.South, in.Extent.North)
	}
	for _, warning := range in.Warnings {
		row("warning", "%s", warning)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	if in.Log == nil {
		return nil
	}
	if err := look.Sketch(w, in.Log.Places, 60, 20, units); err != nil || in.Log.Working >= 0 || len(in.Log.Passes) == 0 {
		return err
	}
	fmt.Fprintf(w, "  worked, as far as the motion tells, with a bar of %s; \"working:\" in a job file says otherwise:\n", units.Metres(in.Log.Bar))
	return look.Sketch(w, in.Log.Worked, 60, 20, units)
}

// describeLog says what a log holds.
func describeLog(row func(name, format string, args ...any), log *inspect.Log, units quantity.Units) {
	row("fixes", "%d", log.Fixes)
	if log.NoClock {
		row("time", "none: the order of the file stands in for it")
	} else {
		row("time", "%s to %s UTC", log.From.UTC().Format("2006-01-02 15:04:05"), log.To.UTC().Format("2006-01-02 15:04:05"))
	}
	if log.Interval > 0 {
		row("interval", "%s between fixes, as a rule", log.Interval.Round(time.Millisecond))
	}
	var quality []string
	for _, q := range log.Qualities {
		quality = append(quality, fmt.Sprintf("%s %d", q.Quality, q.Fixes))
	}
	row("fix quality", "%s", strings.Join(quality, ", "))
	for i, s := range log.Silences {
		if i == 5 {
			row("silence", "and %d more, shorter", len(log.Silences)-i)
			break
		}
		row("silence", "%s from %s UTC, line %d", s.Duration.Round(100*time.Millisecond), s.From.UTC().Format("2006-01-02 15:04:05"), s.Line)
	}
	for _, c := range log.Columns {
		as := c.As
		if as == "" {
			as = "not used"
		}
		row("column", "%s: %s", c.Column, as)
	}
	if len(log.Machines) > 0 {
		row("machines", "%s", strings.Join(log.Machines, ", "))
	}
	switch {
	case log.Working < 0:
		row("working", "the log does not say; it would be worked out from the motion")
	default:
		row("working", "%d of %d fixes", log.Working, log.Fixes)
	}
	var total float64
	for _, p := range log.Passes {
		total += p.Length
	}
	row("passes", "%d, %s in all", len(log.Passes), units.Metres(total))
}
