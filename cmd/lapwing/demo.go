package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/job"
	"lapwing/report"
	"lapwing/report/season"
	"lapwing/samples"
)

func newDemo() *cobra.Command {
	var units string
	var noOpen bool
	c := &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Assess the sample fields that come with the program",
		Long: `demo writes the sample jobs that are in the program into DIR (default
lapwing-demo), binds them into a season book as season does, and opens it where
there is a screen. The samples' about.md says what is wrong with the fields on
purpose.`,
		Example: `  lapwing demo
  lapwing demo there --no-open`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			dir := "lapwing-demo"
			if len(args) > 1 {
				return &callError{fmt.Sprintf("found %q after the directory, want nothing there", args[1])}
			}
			if len(args) == 1 {
				dir = args[0]
			}
			return demo(c, dir, units, !noOpen)
		},
	}
	c.Flags().StringVar(&units, "units", "us", "us or metric")
	c.Flags().BoolVar(&noOpen, "no-open", false, "open nothing, only say where the book is")
	return c
}

// demo writes the samples out and binds them.
func demo(c *cobra.Command, dir, units string, show bool) error {
	if _, err := unitsOf(units); err != nil {
		return err
	}
	if err := copySamples(c.Context(), dir); err != nil {
		return err
	}
	book := filepath.Join(dir, "book")
	if err := bind(c, []string{dir}, &seasonFlags{out: book, units: units}); err != nil {
		return err
	}
	fmt.Fprintf(c.OutOrStdout(), "The samples are in %s; lapwing assess %s does one of them.\n", dir, filepath.Join(dir, "tern-bank", "job.yaml"))
	if show {
		showPage(filepath.Join(book, season.PageFile))
	}
	return nil
}

// copySamples writes the samples into dir, all that are missing or none. It
// leaves those that are there already, and writes nothing where a sample's name
// is taken.
func copySamples(ctx context.Context, dir string) error {
	out, err := output.Open(dir)
	if err != nil {
		return err
	}
	defer out.Discard()
	if err := out.HoldOrSay(ctx, output.Patience); err != nil {
		return err
	}
	var missing []report.File
	err = fs.WalkDir(samples.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := samples.Files.ReadFile(name)
		if err != nil {
			return err
		}
		path := out.Path(name)
		if !disk.Exists(path) {
			missing = append(missing, report.File{Name: name, Write: func(w io.Writer) error {
				_, err := w.Write(text)
				return err
			}})
			return nil
		}
		if there, err := os.ReadFile(path); err != nil || !bytes.Equal(there, text) {
			return &job.InputError{File: path, Found: "found something else than the sample of that name", Want: "another directory"}
		}
		return nil
	})
	if err != nil || len(missing) == 0 {
		return err
	}
	return output.WriteNew(ctx, out, missing...)
}

// showPage shows a page to the person before the screen, if there is one. That it
// cannot be shown is no error: where it is has been said.
func showPage(path string) {
	if path, err := filepath.Abs(path); err == nil {
		serve.Show(path)
	}
}
