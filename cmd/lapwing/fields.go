package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"lapwing/coverage"
	"lapwing/coverage/job"
	"lapwing/report"
)

// assessFields assesses each of several fields that the same logs are of, into
// a directory of its own in the one that was asked for.
func assessFields(c *cobra.Command, j *job.Job, f *assessFlags, units report.Units, say func(string)) error {
	fields := j.Fields
	common := j.Warnings
	if fixes, metres := coverage.Travel(fields, j.Machines, j.Options); fixes > 0 {
		j.Warnings = append(slices.Clip(j.Warnings), coverage.Warning{Count: fixes,
			Text: fmt.Sprintf("a fix lies in none of the fields: %s of travel, left out", units.Distance(metres))})
		common = j.Warnings
	}
	var rows []report.FieldRow
	var crossed []string // fields that were not worked
	for i := range fields {
		say("measuring " + fields[i].Name)
		r, err := measure(j, fields[i], units)
		if err != nil {
			return err
		}
		if len(r.Map.Passes) == 0 {
			crossed = append(crossed, fields[i].Name)
			continue
		}
		r.OffRates = r.Map.OffRates()
		if f.whatIf {
			if _, err := lookFurther(r, j, 0); err != nil {
				return err
			}
		}
		rows = append(rows, report.FieldRow{Report: r, Dir: filepath.Join(f.out, dirName(fields[i].Name, f.out, rows))})
	}
	if len(rows) == 0 {
		return &job.InputError{Found: fmt.Sprintf("no pass on any of %d fields", len(fields)), Want: "work on one of them at least"}
	}
	say("writing")
	if err := writeFields(c.Context(), rows, f.tables); err != nil {
		return err
	}
	say("")
	warn(c, common)
	for _, name := range crossed {
		warn(c, []coverage.Warning{{Text: fmt.Sprintf("no pass on %q; it is left out", name)}})
	}
	for _, r := range rows {
		if n := len(r.Map.Warnings) - len(common); n > 0 {
			fmt.Fprintf(c.ErrOrStderr(), "%s: %d more %s in its report\n", r.Dir, n, plural(n, "warning"))
		}
	}
	if f.json {
		return report.Summaries(c.OutOrStdout(), rows)
	}
	return report.Fields(c.OutOrStdout(), rows)
}

// writeFields writes the files of all fields, or none: none gets its name
// before all are complete.
func writeFields(ctx context.Context, rows []report.FieldRow, tables bool) error {
	var outs []*output
	defer func() {
		for _, out := range slices.Backward(outs) {
			out.discard()
		}
	}()
	for _, r := range rows {
		out, err := openOutput(r.Dir, assessmentNames(tables)...)
		if err != nil {
			return err
		}
		outs = append(outs, out)
	}
	for i, r := range rows {
		if err := outs[i].stage(ctx, assessment(r.Report, tables)); err != nil {
			return err
		}
	}
	for _, out := range outs {
		if err := out.commit(); err != nil {
			return err
		}
	}
	return nil
}

// dirName makes the name of a directory of a field's name: letters and digits,
// and dashes for all else. Of fields whose names come to the same the later
// ones get a number.
func dirName(field, in string, rows []report.FieldRow) string {
	words := strings.FieldsFunc(strings.ToLower(field), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	name := strings.Join(words, "-")
	if len(name) > 60 {
		name = strings.ToValidUTF8(name[:60], "")
	}
	if name == "" {
		name = "field"
	}
	taken := func(name string) bool {
		return slices.ContainsFunc(rows, func(r report.FieldRow) bool { return r.Dir == filepath.Join(in, name) })
	}
	for n, try := 2, name; ; n++ {
		if !taken(try) {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, n)
	}
}
