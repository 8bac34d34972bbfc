package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/report"
	fieldreport "lapwing/report/field"
	"lapwing/report/words"
)

// runFields assesses each of several fields that the same logs are of, and each
// operation on them, into a directory of its own in the one that was asked for.
func (f *assessFlags) runFields(c *cobra.Command, j *job.Job, opt assess.Options) error {
	say := opt.Progress
	opt.Elsewhere = assess.OffFields(j, opt.Units)
	common := len(j.Warnings) + len(opt.Elsewhere)
	var rows []fieldreport.Row
	var crossed []field.Warning // of fields that were not worked
	for _, one := range j.Works() {
		of := one.Fields[0]
		opt.Progress = func(step string) { say(step + " " + of.Name) }
		a, err := assess.Do(one, of, opt)
		if err != nil {
			return err
		}
		if len(a.Map.Passes) == 0 {
			crossed = append(crossed, assess.NotWorked(of.Name))
			continue
		}
		dir := fieldreport.DirName(of.Name+" "+one.Operation, func(dir string) bool {
			return slices.ContainsFunc(rows, func(r fieldreport.Row) bool { return r.Dir == filepath.Join(f.out, dir) })
		})
		rows = append(rows, fieldreport.Row{Document: &fieldreport.Document{Assessment: a}, Dir: filepath.Join(f.out, dir)})
	}
	if len(rows) == 0 {
		return assess.NoneWorked("", len(crossed))
	}
	say("writing")
	if err := writeFields(c.Context(), f.out, rows, f.files()); err != nil {
		return err
	}
	say("")
	if err := f.print(c, fieldreport.List(rows), slices.Concat(j.Warnings, opt.Elsewhere)); err != nil {
		return err
	}
	warn(c, crossed)
	for _, r := range rows {
		if n := len(r.Warnings) - common; n > 0 {
			fmt.Fprintf(c.ErrOrStderr(), "%s: %d more %s in its report\n", r.Dir, n, words.Plural(n, "warning"))
		}
	}
	return nil
}

// writeFields writes the files of all fields, or none: they get their places as
// one set, in a directory for each field.
func writeFields(ctx context.Context, dir string, rows []fieldreport.Row, files report.Table[*fieldreport.Document]) error {
	var all []report.File
	var names []string
	for _, r := range rows {
		for _, f := range files.Of(r.Document) {
			f.Name = filepath.Base(r.Dir) + "/" + f.Name
			all, names = append(all, f), append(names, f.Name)
		}
	}
	out, err := output.Open(dir, names...)
	if err != nil {
		return err
	}
	defer out.Discard()
	return output.Write(ctx, out, all)
}
