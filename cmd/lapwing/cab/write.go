package cab

import (
	"context"
	"fmt"
	"io"
	"maps"
	"slices"
	"time"

	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/assess"
	"lapwing/coverage/figure"
	"lapwing/coverage/job/spec"
	"lapwing/report"
	fieldreport "lapwing/report/field"
)

// reports are the files that assess writes.
var reports = fieldreport.Files

// A Summary is cab.json.
type Summary struct {
	Schema   string           `json:"schema"`
	Run      string           `json:"run"`
	Fixes    int              `json:"fixes"`
	Refused  int              `json:"refused"`
	Latency  LatencySummary   `json:"latency_us"`
	Machines []MachineSummary `json:"machines"`
	Shared   SharedSummary    `json:"shared"`
}

// LatencySummary is what fixes took, in microseconds, from their arrival until the engine had
// seen them.
type LatencySummary struct {
	P50  int64 `json:"p50"`
	P99  int64 `json:"p99"`
	Most int64 `json:"most"`
}

// A MachineSummary is what was heard of one machine, and what of it is not on the disk.
type MachineSummary struct {
	Machine string `json:"machine"`
	Journal string `json:"journal"`
	Fixes   int    `json:"fixes"`
	Refused int    `json:"refused"` // sentences that were not believed
	Waiting int    `json:"waiting"` // fixes that are not on the disk, for want of room
	Lost    int    `json:"lost"`
}

// finish writes the answer: what assess writes on the job with the journals, that job,
// and cab.json.
func (k *Cab) finish(ctx context.Context) error {
	journals := maps.Clone(k.earlier)
	sum := Summary{Schema: "lapwing/cab/1", Refused: k.refused, Machines: []MachineSummary{},
		Latency: LatencySummary{k.took.at(0.5).Microseconds(), k.took.at(0.99).Microseconds(), k.took.most.Microseconds()}}
	for _, s := range k.sources {
		err := s.journal.Sync()
		status := s.journal.Status()
		if err != nil {
			fmt.Fprintf(k.stderr, "cab: %s: %v\n", s.path, err)
		}
		refused := s.status.Counts.Refused()
		sum.Fixes, sum.Refused = sum.Fixes+status.Records, sum.Refused+refused
		sum.Machines = append(sum.Machines, MachineSummary{s.machine, s.path, status.Records, refused, status.Waiting, status.Lost})
		if status.Records > 0 {
			journals[s.machine] = append(slices.Clone(journals[s.machine]), s.path)
		}
	}
	sum.Shared = k.addCopies(journals)
	a, err := k.engine.Ask().Assess(assess.Options{Units: k.opt.Units, OffRates: true})
	if err != nil && sum.Fixes == 0 {
		fmt.Fprintf(k.stderr, "cab: no fix came; nothing was written (%v)\n", err)
		return nil
	} else if err != nil {
		return err
	}
	sum.Run = a.Run
	text, err := k.text(a.Run, spec.Crew{Guests: guestsOf(k.crew.bound), Logs: journals, Without: k.comesFromOthers()})
	if err != nil {
		return err
	}
	files := slices.Concat(reports.Of(&fieldreport.Document{Assessment: a}), []report.File{
		{Name: JobFile, Write: func(w io.Writer) error { _, err := w.Write(text); return err }},
		{Name: SummaryFile, Write: func(w io.Writer) error { return figure.WriteJSON(w, sum) }},
	})
	if err := output.Write(ctx, k.out, files); err != nil {
		return err
	}
	fmt.Fprintf(k.stderr, "cab: %d fixes, %d refused; %s has the answer\n", sum.Fixes, sum.Refused, k.opt.Out)
	return nil
}

// A SharedSummary is what came from other cabs, and the warnings about what did not.
type SharedSummary struct {
	Journals []CopySummary `json:"journals"`
	Warnings []string      `json:"warnings"`
}

// A CopySummary is what came of one journal of another cab.
type CopySummary struct {
	Cab     string `json:"cab"`
	Machine string `json:"machine"` // as cab-job.yaml has it
	Journal string `json:"journal"`
	Fixes   int    `json:"fixes"`
	Until   string `json:"until"`   // the time of the last one
	Waiting int    `json:"waiting"` // fixes that are not on the disk, for want of room
}

// addCopies adds the copies of other cabs' journals to the logs of their machines, and syncs
// them to the disk.
func (k *Cab) addCopies(journals map[string][]string) SharedSummary {
	out := SharedSummary{Journals: []CopySummary{}, Warnings: slices.Concat([]string{}, k.crew.wrong)}
	for i, s := range k.engineSources()[len(k.sources):] {
		if k.engine.Count(len(k.sources)+i) == 0 {
			continue
		}
		c := k.crew.copies[slices.IndexFunc(k.crew.copies, func(c *copyOf) bool { return c.path == s.Journal })]
		if err := c.journal.Sync(); err != nil {
			fmt.Fprintf(k.stderr, "cab: %s: %v\n", c.path, err)
		}
		status := c.journal.Status()
		journals[s.Machine] = append(slices.Clone(journals[s.Machine]), c.path)
		out.Journals = append(out.Journals, CopySummary{c.Cab, s.Machine, c.path, status.Records, c.until.Time().Format(time.RFC3339Nano), status.Waiting})
	}
	for _, s := range k.crew.sharers {
		of := "--share " + s.client.Address().String() + ": "
		for _, line := range slices.Sorted(maps.Keys(s.said)) {
			out.Warnings = append(out.Warnings, of+line)
		}
		if s.trouble != "" {
			out.Warnings = append(out.Warnings, of+s.trouble)
		}
	}
	return out
}
