package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"lapwing/coverage"
	"lapwing/coverage/job"
	"lapwing/report"
)

// The files of an answer in the cab, in the order they get their names.
const (
	lastPage    = "last.html"
	lastSummary = "last.json"
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
		RunE: func(c *cobra.Command, args []string) error { return last(c, args, &f) },
	}
	f.add(c, "assessment", "print last.json instead of the answer in words")
	fs := c.Flags()
	fs.StringVar(&f.machine, "machine", "", "whose last pass (default each machine's)")
	fs.IntVar(&f.pass, "pass", 0, "the number of a pass (default the last one)")
	return c
}

// last loads a job, measures it, and answers for the last passes.
func last(c *cobra.Command, args []string, f *lastFlags) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	say := progress(c.ErrOrStderr())
	say("reading")
	j, err := f.loadOne(c, args)
	if err != nil {
		return err
	}
	machine, err := machineOf(j.Machines, f.machine)
	if err != nil {
		return err
	}
	out, err := openOutput(f.out, lastPage, lastSummary)
	if err != nil {
		return err
	}
	defer out.discard()
	say("measuring")
	r, err := measure(j, j.Fields[0], units)
	if err != nil {
		return err
	}
	passes, err := askedAbout(r.Map, machine, f.pass, c.Flags().Changed("pass"))
	if err != nil {
		return err
	}
	l := report.NewLast(r, passes)
	say("writing")
	if err := write(c.Context(), out, []outputFile{{lastPage, l.Page}, {lastSummary, l.Summary}}); err != nil {
		return err
	}
	say("")
	warn(c, r.Map.Warnings)
	if f.json {
		return l.Summary(c.OutOrStdout())
	}
	return l.Text(c.OutOrStdout())
}

// askedAbout returns the IDs of the passes asked about: the one named, or the
// last of a machine, or of each, the latest first.
func askedAbout(m *coverage.Map, machine, pass int, named bool) ([]int, error) {
	if named {
		if pass < 1 || pass > len(m.Passes) {
			return nil, &job.InputError{Where: "--pass", Found: fmt.Sprintf("found %d", pass), Want: fmt.Sprintf("1 to %d, the passes of this field", len(m.Passes))}
		}
		if p := &m.Passes[pass-1]; machine >= 0 && p.Machine != machine {
			return nil, &job.InputError{Where: "--pass", Found: fmt.Sprintf("found %d, a pass of %s", pass, m.Machines[p.Machine].Name), Want: "a pass of " + m.Machines[machine].Name}
		}
		return []int{pass}, nil
	}
	var ids []int
	latest := m.LastAtWork()
	for i := range m.Machines {
		if machine >= 0 && i != machine {
			continue
		}
		p := m.LastPass(i)
		switch {
		case p == nil:
		case i == latest:
			ids = append([]int{p.ID}, ids...)
		default:
			ids = append(ids, p.ID)
		}
	}
	return ids, nil
}
