//go:build !js

package book

import (
	"context"
	"fmt"

	"lapwing/coverage/assess"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
)

// What is asked of a job.
const (
	Season = "season"  // its measures and their price, and the drive that mends its skips
	Waste  = "waste"   // how sure it is what was put down twice or outside
	WhatIf = "what if" // how sure it is, and what other laps and sections would have cost
)

// A Question is what a command asks of a job. A book has one answer to each question for each
// job, whichever command or worker asked. In a queue it stands as JSON.
type Question struct {
	Of            string         `json:"of"`
	Units         quantity.Units `json:"units"`
	MinArea       string         `json:"min_area,omitempty"`
	MinWidth      string         `json:"min_width,omitempty"`
	EdgeTolerance string         `json:"edge_tolerance,omitempty"`
	MaxGap        string         `json:"max_gap,omitempty"`
	Runs          int            `json:"runs,omitempty"` // of waste: how often a field is measured again
}

// Ask returns a question whose answer is told in units. over is what the call sets in place of
// the job files.
func Ask(of string, units quantity.Units, over job.Overrides) Question {
	return Question{Of: of, Units: units, MinArea: over.MinArea, MinWidth: over.MinWidth, EdgeTolerance: over.EdgeTolerance, MaxGap: over.MaxGap}
}

// String is a text that no other question has.
func (q Question) String() string {
	said := []string{q.MinArea, q.MinWidth, q.EdgeTolerance, q.MaxGap}
	if q.Of == Waste {
		return fmt.Sprintf("%s %v %q %d", q.Of, q.Units, said, q.Runs)
	}
	return fmt.Sprintf("%s %v %q", q.Of, q.Units, said)
}

// Each answers the question for the job at a path: it calls begin with the number of parts of
// the job, and then add with the assessment of each, so that one at a time is in memory. say,
// unless nil, is called with the name of each step that begins.
func (q Question) Each(ctx context.Context, in job.Inputs, path string, say func(step string), begin func(parts int) error, add func(i int, a *assess.Assessment) error) error {
	j, err := job.Load(in, path, job.Overrides{MinArea: q.MinArea, MinWidth: q.MinWidth, EdgeTolerance: q.EdgeTolerance, MaxGap: q.MaxGap, ManyFields: true})
	if err != nil {
		return err
	}
	works := j.Works()
	if err := begin(len(works)); err != nil {
		return err
	}
	for i, one := range works {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		opt := q.options(one)
		opt.Progress, opt.Once = say, len(works) == 1
		a, err := assess.Do(one, one.Fields[0], opt)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		if err := add(i, a); err != nil {
			return err
		}
	}
	return nil
}

// options are what the question is of a part of a job.
func (q Question) options(one *job.Job) assess.Options {
	opt := assess.Options{Units: q.Units}
	switch q.Of {
	case Season:
		opt.OffRates, opt.Mend = true, &assess.MendQuestion{Machine: -1, GoingBack: one.GoingBack}
	case WhatIf:
		opt.OffRates, opt.WhatIf = true, &assess.WhatIfOptions{}
	case Waste:
		if q.Runs > 0 {
			opt.WhatIf = &assess.WhatIfOptions{Runs: q.Runs, OwnGround: true}
		}
	}
	return opt
}

// Assess answers the question for all parts of the job at a path.
func (q Question) Assess(ctx context.Context, in job.Inputs, path string, say func(step string)) (found []*assess.Assessment, err error) {
	err = q.Each(ctx, in, path, say, func(int) error { return nil }, func(_ int, a *assess.Assessment) error {
		found = append(found, a)
		return nil
	})
	return found, err
}
