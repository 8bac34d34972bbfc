package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"slices"

	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/assess"
	"lapwing/report"
	fieldreport "lapwing/report/field"
)

// cabReports are the files that assess writes.
var cabReports = fieldreport.Files

// A cabSummary is cab.json.
type cabSummary struct {
	Schema   string            `json:"schema"`
	Run      string            `json:"run"`
	Fixes    int               `json:"fixes"`
	Refused  int               `json:"refused"`
	Latency  latencySummary    `json:"latency_us"`
	Machines []cabMachineWords `json:"machines"`
}

type latencySummary struct {
	P50  int64 `json:"p50"`
	P99  int64 `json:"p99"`
	Most int64 `json:"most"`
}

// cabMachineWords are what was heard of one machine, and what of it is not on the disk.
type cabMachineWords struct {
	Machine string `json:"machine"`
	Journal string `json:"journal"`
	Fixes   int    `json:"fixes"`
	Refused int    `json:"refused"` // sentences that were not believed
	Waiting int    `json:"waiting"` // fixes that are not on the disk, for want of room
	Lost    int    `json:"lost"`
}

// finish writes the answer: what assess writes on the job with the journals, that job,
// and cab.json.
func (k *cab) finish(ctx context.Context) error {
	journals := maps.Clone(k.earlier)
	sum := cabSummary{Schema: "lapwing/cab/1", Refused: k.refused, Machines: []cabMachineWords{},
		Latency: latencySummary{k.took.at(0.5).Microseconds(), k.took.at(0.99).Microseconds(), k.took.most.Microseconds()}}
	for _, s := range k.sources {
		err := s.journal.Sync()
		status := s.journal.Status()
		if err != nil {
			fmt.Fprintf(k.stderr, "cab: %s: %v\n", s.path, err)
		}
		refused := s.status.Counts.Refused()
		sum.Fixes, sum.Refused = sum.Fixes+status.Records, sum.Refused+refused
		sum.Machines = append(sum.Machines, cabMachineWords{s.machine, s.path, status.Records, refused, status.Waiting, status.Lost})
		if status.Records > 0 {
			journals[s.machine] = append(slices.Clone(journals[s.machine]), s.path)
		}
	}
	a, err := k.engine.Ask().Assess(assess.Options{Units: k.flags.unitsOf, OffRates: true})
	if err != nil && sum.Fixes == 0 {
		fmt.Fprintf(k.stderr, "cab: no fix came; nothing was written (%v)\n", err)
		return nil
	} else if err != nil {
		return err
	}
	sum.Run = a.Run
	text, err := k.text(a.Run, journals)
	if err != nil {
		return err
	}
	files := slices.Concat(cabReports.Of(&fieldreport.Document{Assessment: a}), []report.File{
		{Name: cabJobFile, Write: func(w io.Writer) error { _, err := w.Write(text); return err }},
		{Name: cabFile, Write: func(w io.Writer) error { return assess.WriteJSON(w, sum) }},
	})
	if err := output.Write(ctx, k.out, files); err != nil {
		return err
	}
	fmt.Fprintf(k.stderr, "cab: %d fixes, %d refused; %s has the answer\n", sum.Fixes, sum.Refused, k.flags.out)
	return nil
}
