package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/inspect"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/report/facts"
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
` + facts.Formats(disk.Formats),
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
		if err := facts.Describe(&out, found, units); err != nil {
			return err
		}
	}
	_, err := io.WriteString(stdout, out.String())
	return err
}
