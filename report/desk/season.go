package desk

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/report"
	fieldreport "lapwing/report/field"
	"lapwing/report/mend"
	"lapwing/report/season"
	"lapwing/report/waste"
)

// sketchFile is what a season wants to find again of an entry.
const sketchFile = "season.kept"

// An entrySketch is a sketch, and of which run it is.
type entrySketch struct {
	Run    string         `json:"run"`
	Sketch *season.Sketch `json:"sketch"`
}

// chosen are the jobs that a message names, or all that can be assessed.
func (a *ask) chosen(m message) ([]string, error) {
	if len(m.Jobs) > 0 {
		for i, name := range m.Jobs {
			if _, err := a.jobAt(name); err != nil {
				return nil, err
			}
			if slices.Contains(m.Jobs[:i], name) {
				return nil, wrong("found "+quoted(name)+" twice", "each job once")
			}
		}
		return m.Jobs, nil
	}
	jobs, err := a.jobFiles()
	if err != nil {
		return nil, err
	}
	var names []string
	for _, j := range jobs {
		names = append(names, j.path)
	}
	if len(names) == 0 {
		return nil, wrong("found no job", "a field with a log")
	}
	return names, nil
}

// each does something for each job, and says how far it is. What is wrong with a job is
// noted, and stops nothing.
func (a *ask) each(jobs []string, do func(part *ask, name string) error, failed func(name, why string)) error {
	for i, name := range jobs {
		part := *a
		part.told = func(text string, share float64) {
			a.told(fmt.Sprintf("%d of %d: %s", i+1, len(jobs), text), (float64(i)+share)/float64(len(jobs)))
		}
		err := do(&part, name)
		if stopped := a.ctx.Err(); stopped != nil {
			return stopped
		}
		if err != nil {
			failed(name, spec.OneLine(err.Error()))
		}
	}
	return nil
}

// season binds jobs into a season book.
func (a *ask) season(m message) (*Answer, error) {
	jobs, err := a.chosen(m)
	if err != nil {
		return nil, err
	}
	bound := &season.Book{Units: a.units()}
	var names []string
	err = a.each(jobs, func(part *ask, name string) error {
		entries, files, err := part.entries(name)
		bound.Entries, names = append(bound.Entries, entries...), append(names, files...)
		return err
	}, func(name, why string) { bound.Failed = append(bound.Failed, season.Failure{Job: name, Why: why}) })
	if err != nil {
		return nil, err
	}
	shapes := func(e *season.Entry) (io.ReadCloser, error) {
		return a.in.Open(path.Join(pagesDir, e.Dir, fieldreport.GeoJSONFile))
	}
	if err := bound.FindReturns(shapes); err != nil {
		return nil, err
	}
	bound.Order()
	a.told("writing", 1)
	out := &Answer{Page: path.Join(pagesDir, season.PageFile)}
	files, err := a.write("", season.Files.Of(bound))
	if err != nil {
		return nil, err
	}
	out.Files = append(files, names...)
	var text bytes.Buffer
	if err := bound.Text(&text); err != nil {
		return nil, err
	}
	out.Text, out.Verdict = text.String(), firstOf(text.String())
	for _, f := range bound.Failed {
		out.Failed = append(out.Failed, Left{Path: f.Job, Why: f.Why})
	}
	return out, nil
}

// firstOf is the first paragraph of a text, on one line.
func firstOf(text string) string {
	first, _, _ := strings.Cut(text, "\n\n")
	return strings.Join(strings.Fields(first), " ")
}

// entries are a job's part of a season, with the names of their files below pages.
func (a *ask) entries(name string) (entries []*season.Entry, names []string, err error) {
	rec, _, err := a.pages(name, a.whatIf(name))
	if err != nil {
		return nil, nil, err
	}
	for i, e := range rec.Entries {
		dir := path.Join(pageName(name), e.Dir)
		drawn := a.sketchIn(dir, e.Run)
		if drawn == nil {
			results, _, err := a.results(name)
			if err != nil {
				return nil, nil, err
			}
			if drawn, err = a.entry(results[i], dir, name); err != nil {
				return nil, nil, err
			}
		}
		summary, err := a.in.Open(path.Join(pagesDir, dir, fieldreport.SummaryFile))
		if err != nil {
			return nil, nil, err
		}
		e, err := season.ReadEntry(name, dir, summary, drawn)
		summary.Close()
		if err != nil {
			return nil, nil, err
		}
		entries = append(entries, e)
		for _, f := range slices.Concat(fieldreport.Files.Names(), mend.Files.Names()) {
			names = append(names, path.Join(dir, f))
		}
	}
	return entries, names, nil
}

// sketchIn is the sketch of a run in a folder of pages; nil where there is none.
func (a *ask) sketchIn(dir, run string) *season.Sketch {
	text, err := fs.ReadFile(a.in.FS, path.Join(pagesDir, dir, sketchFile))
	if err != nil {
		return nil
	}
	var kept entrySketch
	if json.Unmarshal(text, &kept) != nil || kept.Run != run {
		return nil
	}
	return kept.Sketch
}

// entry writes what a season has of a field beside its assessment: the drive that mends
// its skips, a page that leads back to the season, a sketch.
func (a *ask) entry(r result, dir, name string) (*season.Sketch, error) {
	s, err := spec.Read(a.in.Files, name)
	if err != nil {
		return nil, err
	}
	asked, err := r.Asked(assess.Options{OffRates: true, Mend: &assess.MendQuestion{Machine: -1, GoingBack: s.GoingBack}})
	if err != nil {
		return nil, err
	}
	d, plan := &fieldreport.Document{Assessment: asked, Book: "../" + upFrom(dir) + season.PageFile}, &mend.Document{Assessment: asked}
	shapes, err := a.in.Open(path.Join(pagesDir, dir, fieldreport.GeoJSONFile))
	if err != nil {
		return nil, err
	}
	defer shapes.Close()
	drawn, err := season.Draw(shapes)
	if err != nil {
		return nil, err
	}
	drawn.Row = machine.FinestRows(asked.Map.Machines).Metres()
	drawn.Leaf, drawn.Mend = d.Leaf(), mend.PageFile
	drawn.Leaf.Says = drawn.Leaf.Says.And(plan.Says())
	text, err := json.Marshal(entrySketch{r.Run, drawn})
	if err != nil {
		return nil, err
	}
	files := append(fieldreport.Files.Of(d), mend.Files.Of(plan)...)
	_, err = a.write(dir, append(files, fileOf(sketchFile, text)))
	return drawn, err
}

// wasteDir is the folder, in the pages of a job, of what was wasted there.
const wasteDir = "waste"

// usualRuns is how often waste measures a field again.
const usualRuns = 200

// waste tells what jobs put down twice or outside.
func (a *ask) waste(m message) (*Answer, error) {
	jobs, err := a.chosen(m)
	if err != nil {
		return nil, err
	}
	runs := usualRuns
	if m.Runs != nil {
		runs = *m.Runs
	}
	if runs < 0 || runs > 10_000 {
		return nil, wrong(fmt.Sprintf("found %d runs", runs), "0 to 10000")
	}
	var fields []waste.Field
	var failed []waste.Failure
	err = a.each(jobs, func(part *ask, name string) error {
		its, err := part.wasted(name, runs)
		fields = append(fields, its...)
		return err
	}, func(name, why string) { failed = append(failed, waste.Failure{Job: name, Why: why}) })
	if err != nil {
		return nil, err
	}
	if len(fields) == 0 {
		if len(failed) == 1 {
			return nil, wrong(failed[0].Why, "")
		}
		return nil, wrong(fmt.Sprintf("found %d jobs, none of which can be assessed", len(jobs)), "one that can")
	}
	d, err := waste.New(a.units(), fields, failed)
	if err != nil {
		return nil, err
	}
	out := &Answer{Page: path.Join(pagesDir, waste.PageFile)}
	if out.Files, err = a.write("", waste.Files.Of(d)); err != nil {
		return nil, err
	}
	for _, f := range failed {
		out.Failed = append(out.Failed, Left{Path: f.Job, Why: f.Why})
	}
	return out, out.tell(d.Text, d.JSON)
}

// wasted is what a job wasted on its fields, found before or now.
func (a *ask) wasted(name string, runs int) (fields []waste.Field, err error) {
	dir := path.Join(pagesDir, pageName(name), wasteDir)
	var before *book.Record
	if folder, err := fs.Sub(a.store, dir); err == nil {
		before = book.Read(folder, nil)
	}
	flags := fmt.Sprint("waste ", a.units(), " ", runs)
	now, err := book.Look(a.in, name, a.opt.Program, flags, before)
	if err == nil && before.Same(now) {
		if fields, ok := wastedIn(before, name); ok {
			return fields, nil
		}
	}
	a.told("reading "+name, 0)
	j, err := job.Load(a.in, name, job.Overrides{ManyFields: true})
	if err != nil {
		return nil, err
	}
	opt := assess.Options{Units: a.units(), Progress: func(step string) { a.told(step, 0.1) }}
	if runs > 0 {
		opt.WhatIf = &assess.WhatIfOptions{Runs: runs, OwnGround: true}
	}
	works := j.Works()
	for _, one := range works {
		if err := a.ctx.Err(); err != nil {
			return nil, err
		}
		found, err := assess.Do(one, one.Fields[0], opt)
		if err != nil {
			return nil, err
		}
		if len(found.Map.Passes) > 0 || len(works) == 1 {
			fields = append(fields, waste.FieldOf(found, name))
		}
	}
	if len(fields) == 0 {
		return nil, noneWorked(len(works))
	}
	if now == nil {
		return fields, nil
	}
	for i := range fields {
		text, err := json.Marshal(&fields[i])
		if err != nil {
			return nil, err
		}
		now.Entries = append(now.Entries, book.Entry{Run: fields[i].Run, Sketch: text})
	}
	return fields, a.store.Put(a.ctx, []report.File{{Name: path.Join(dir, book.RecordFile), Write: now.Write}})
}

// wastedIn are the fields that a record keeps; false where it keeps no waste.
func wastedIn(r *book.Record, name string) (fields []waste.Field, ok bool) {
	for _, e := range r.Entries {
		var f waste.Field
		if json.Unmarshal(e.Sketch, &f) != nil {
			return nil, false
		}
		f.Job = name
		fields = append(fields, f)
	}
	return fields, true
}

// noneWorked is the error for a job of so many fields that no pass is on.
func noneWorked(fields int) error {
	return wrong(fmt.Sprintf("no pass on any of %d fields", fields), "work on one of them at least")
}
