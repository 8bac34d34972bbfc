package main

import (
	"slices"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/assess"
	"lapwing/report/last"
	"lapwing/report/mend"
)

// lastFlags are the flags of last.
type lastFlags struct {
	jobFlags
	machine, hour string
	pass          int
}

func newLast() *cobra.Command {
	var f lastFlags
	c := &cobra.Command{
		Use:   "last JOB.yaml",
		Short: "Say whether the last pass joined its neighbour, and what is open",
		Long: `last looks at the last pass of each machine and says what to do: carry on, go
back (for what, and how long it takes), or that it cannot say. Then whether the pass
joined its neighbour, where it did not, whether the headland is closed, and what is
still to do. It writes last.html, which fits a phone, and last.json; and the drive that
mends the skips, as mend writes it, since the one page leads to the other.`,
		Example: `  lapwing last field.yaml
  lapwing last field.yaml --pass 14`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	f.add(c, "assessment", "print last.json instead of the answer in words")
	fs := c.Flags()
	fs.StringVar(&f.machine, "machine", "", "whose last pass (default each machine's)")
	fs.StringVar(&f.hour, "hour", "", `what an hour of going back costs, such as "180 USD": weighs each skip against the job's crop`)
	fs.IntVar(&f.pass, "pass", 0, "the number of a pass (default the last one)")
	return c
}

// run loads a job, measures its field, and answers for the last passes.
func (f *lastFlags) run(c *cobra.Command, args []string) error {
	j, opt, err := f.loadOne(c, args)
	if err != nil {
		return err
	}
	back, err := goingBack(j, f.hour)
	if err != nil {
		return err
	}
	opt.Last = &assess.LastQuestion{GoingBack: back}
	if opt.Last.Machine, err = machineOf(j, f.machine); err != nil {
		return err
	}
	if c.Flags().Changed("pass") {
		opt.Last.Pass = &f.pass
	}
	opt.Mend = &assess.MendQuestion{Machine: opt.Last.Machine, GoingBack: back}
	out, err := output.Open(f.out, slices.Concat(last.Files.Names(), mend.Files.Names())...)
	if err != nil {
		return err
	}
	defer out.Discard()
	opt.Once = true
	a, err := assess.Do(j, j.Fields[0], opt)
	if err != nil {
		return err
	}
	d := last.New(a)
	opt.Progress("writing")
	if err := output.Write(c.Context(), out, slices.Concat(last.Files.Of(d), mend.Files.Of(&mend.Document{Assessment: a, Last: true}))); err != nil {
		return err
	}
	opt.Progress("")
	return f.print(c, d, a.Warnings)
}
