package main

import (
	"github.com/spf13/cobra"

	"lapwing/coverage/assess"
	"lapwing/report/last"
)

// lastFlags are the flags of last.
type lastFlags struct {
	jobFlags
	machine string
	pass    int
}

func newLast() *cobra.Command {
	var f lastFlags
	c := &cobra.Command{
		Use:   "last JOB.yaml",
		Short: "Say whether the last pass joined its neighbour, and what is open",
		Long: `last looks at the last pass of each machine: whether it joined its neighbour
along its whole length, where it did not, whether the headland is closed, and
what is left. It writes last.html, which fits a phone, and last.json.`,
		Example: `  lapwing last field.yaml
  lapwing last field.yaml --pass 14`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	f.add(c, "assessment", "print last.json instead of the answer in words")
	fs := c.Flags()
	fs.StringVar(&f.machine, "machine", "", "whose last pass (default each machine's)")
	fs.IntVar(&f.pass, "pass", 0, "the number of a pass (default the last one)")
	return c
}

// run loads a job, measures its field, and answers for the last passes.
func (f *lastFlags) run(c *cobra.Command, args []string) error {
	j, opt, err := f.loadOne(c, args)
	if err != nil {
		return err
	}
	opt.Last = &assess.LastQuestion{}
	if opt.Last.Machine, err = machineOf(j, f.machine); err != nil {
		return err
	}
	if c.Flags().Changed("pass") {
		opt.Last.Pass = &f.pass
	}
	out, err := openOutput(f.out, last.Files.Names()...)
	if err != nil {
		return err
	}
	defer out.discard()
	a, err := assess.Do(j, j.Field, opt)
	if err != nil {
		return err
	}
	d := last.New(a)
	opt.Progress("writing")
	if err := write(c.Context(), out, last.Files.Of(d)); err != nil {
		return err
	}
	opt.Progress("")
	warn(c, a.Warnings)
	return f.print(c, d)
}
