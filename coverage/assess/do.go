package assess

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/coverage/track"
)

// Options say what is asked of a field beside its measures and their price, and
// in which units it is told. The zero value asks nothing more.
type Options struct {
	Units    quantity.Units
	OffRates bool           // find the ground that turns put off its rate, for the map
	Last     *LastQuestion  // did the last passes join their neighbours
	Mend     *MendQuestion  // which drive mends the skips
	WhatIf   *WhatIfOptions // how sure it is, and what other laps and sections would have cost
	// Once says that nobody asks the job for its fixes again: they, most of the memory that
	// it takes, are let go when their paths are made.
	Once bool
	// Elsewhere is said of the field beside the job's warnings, see [OffFields].
	Elsewhere []field.Warning
	// Progress, unless nil, is called with the name of each step that begins.
	Progress func(step string)
}

func (o *Options) say(step string) {
	if o.Progress != nil {
		o.Progress(step)
	}
}

// OffFields warns of the travel that lies in none of a job's fields.
func OffFields(j *job.Job, u quantity.Units) []field.Warning {
	fixes, metres := track.Travel(j.Fields, j.Machines, j.Options)
	if fixes == 0 {
		return nil
	}
	return []field.Warning{{Count: fixes, Text: fmt.Sprintf("a fix lies in none of the fields: %s of travel, left out", u.Metres(metres))}}
}

// Do measures a field of a job, prices it, and answers what opt asks. What is
// wrong with the input is a [*job.InputError].
func Do(j *job.Job, field field.Field, opt Options) (*Assessment, error) {
	opt.say("measuring")
	logged := j.Machines
	if opt.Once {
		j.Machines = nil
	}
	m, err := coverage.Measure(field, logged, j.Options)
	if err != nil {
		return nil, &job.InputError{Found: err.Error(), Reason: err}
	}
	reckoning, err := agronomy.ReckonOwn(m, j.Products, j.Own, j.Crop, j.Options)
	if err != nil {
		return nil, &job.InputError{Found: err.Error()}
	}
	a := &Assessment{
		Reckoning: reckoning, Warnings: slices.Concat(j.Warnings, opt.Elsewhere, m.Warnings),
		Operation: j.Operation,
		Units:     opt.Units, Zone: j.Zone, RainAt: j.RainAt,
		MinArea: j.MinArea, MinWidth: j.MinWidth, EdgeTolerance: m.Headland.Edge.Tolerance, HeadlandLap: j.Options.Lap,
	}
	a.Stated = a.stated(j.Stated)
	a.Laps = a.keptLaps(j.GNSS)
	if opt.OffRates {
		a.OffRates = m.OffRates()
	}
	if err := a.answer(opt); err != nil {
		return nil, err
	}
	if opt.WhatIf != nil {
		opt.say("asking what if")
		a.WhatIf = a.ask(j, opt.WhatIf)
	}
	a.Run, err = a.run()
	return a, err
}

// Asked returns the assessment as [Do] would have made it for what opt asks of the last
// passes, of a drive and of rates off. Nothing is measured again; a stays as it is. Of
// rates off it knows only what a does.
func (a *Assessment) Asked(opt Options) (*Assessment, error) {
	out := *a
	if !opt.OffRates {
		out.OffRates = nil
	}
	return &out, out.answer(opt)
}

// answer answers what opt asks of the last passes and of a drive.
func (a *Assessment) answer(opt Options) (err error) {
	if opt.Last != nil {
		if a.Last, err = a.LastPasses(*opt.Last); err != nil {
			return err
		}
		if a.Verdict, err = a.Judge(*opt.Last); err != nil {
			return err
		}
	}
	if opt.Mend != nil {
		opt.say("planning")
		a.Mend, err = a.PlanDrive(*opt.Mend)
	}
	return err
}

// run returns the run of the assessment: it tells measures and prices apart and what was
// asked of them with what if, where that was; drives and last passes are told of in
// files of their own.
func (a *Assessment) run() (string, error) {
	bare := *a
	bare.Run, bare.OffRates, bare.Last, bare.Verdict, bare.Mend, bare.WhatIf = "", nil, nil, Verdict{}, nil, nil
	run, err := bare.runID()
	if err != nil || a.WhatIf == nil {
		return run, err
	}
	more := *a
	more.Run = run
	return more.runID()
}

// runID returns a short name for what was found and how it is told. The same
// input gives the same one, so that files of different runs can be told apart
// and a run can be repeated to the byte.
func (a *Assessment) runID() (string, error) {
	var b bytes.Buffer
	if err := a.WriteSummary(&b); err != nil {
		return "", err
	}
	fmt.Fprint(&b, int(a.Units), a.Zone)
	sum := sha256.Sum256(b.Bytes())
	return hex.EncodeToString(sum[:6]), nil
}
