package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/inspect"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/report/look"
)

func newInspect() *cobra.Command {
	var units, zone string
	c := &cobra.Command{
		Use:   "inspect FILE ...",
		Short: "Say what a log, a boundary or a task set holds, without assessing",
		Long: `inspect says what lapwing sees in a log or a boundary: the kind, the fixes and
their time span, the usual logging interval, silences, how each column was
understood, and the extent. Of a task set of ISO 11783-10 it says which fields,
devices, tasks and logs there are, of SET#TSK1 those of that task. "-" is standard input, and a pipe is read as
that is where the call names it.

What lapwing reads is told by content, whatever the file is called, and may be
packed by gzip:
` + formatList(),
		Example: `  lapwing inspect day1.csv field.geojson`,
		Args:    cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return &callError{"found no file, want a log or a boundary to inspect"}
			}
			u, err := unitsOf(units)
			if err != nil {
				return err
			}
			at := time.UTC
			if zone != "" {
				if at, err = time.LoadLocation(zone); err != nil || zone == "Local" {
					return &callError{fmt.Sprintf(`--time-zone: found %q, want a name such as "America/Denver"`, zone)}
				}
			}
			return inspectAll(disk.Inputs(c.InOrStdin(), args...), c.OutOrStdout(), args, at, u)
		},
	}
	c.Flags().StringVar(&units, "units", "us", "us or metric")
	c.Flags().StringVar(&zone, "time-zone", "", "for times without a zone (default UTC)")
	return c
}

// inspectAll looks at every file before it prints anything, so that one wrong
// file gives one line and nothing else.
func inspectAll(in job.Inputs, stdout io.Writer, paths []string, zone *time.Location, units quantity.Units) error {
	var out strings.Builder
	for i, path := range paths {
		found, err := inspect.File(in, path, zone)
		if err != nil {
			return err
		}
		if i > 0 {
			out.WriteByte('\n')
		}
		if err := describe(&out, found, units); err != nil {
			return err
		}
	}
	_, err := io.WriteString(stdout, out.String())
	return err
}

// describe says in words what a file holds.
func describe(w *strings.Builder, in *inspect.Facts, units quantity.Units) error {
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
			b.Parts, plural(b.Parts, "part"), b.Holes, plural(b.Holes, "hole"))
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

func plural(n int, word string) string {
	if n == 1 {
		return word
	}
	return word + "s"
}
