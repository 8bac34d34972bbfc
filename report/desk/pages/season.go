package pages

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
	"lapwing/report"
	"lapwing/report/desk/store"
	fieldreport "lapwing/report/field"
	"lapwing/report/mend"
	"lapwing/report/season"
	"lapwing/report/waste"
	"lapwing/report/words"
)

// sketchFile is what a season wants to find again of an entry.
const sketchFile = "season.kept"

// An entrySketch is a sketch, and of which run it is.
type entrySketch struct {
	Run    string         `json:"run"`
	Sketch *season.Sketch `json:"sketch"`
}

// each does something for each job, and says how far it is. A job that fails is noted, and
// the others go on.
func (m *Maker) each(jobs []string, do func(part *Maker, name string) error, failed func(name, why string)) error {
	for i, name := range jobs {
		part := *m
		part.Told = func(text string, share float64) {
			m.Told(fmt.Sprintf("%d of %d: %s", i+1, len(jobs), text), (float64(i)+share)/float64(len(jobs)))
		}
		err := do(&part, name)
		if stopped := m.Context.Err(); stopped != nil {
			return stopped
		}
		if err != nil {
			failed(name, spec.OneLine(err.Error()))
		}
	}
	return nil
}

// Season binds jobs into a season book.
func (m *Maker) Season(jobs []string) (*Answer, error) {
	bound := &season.Book{Units: m.Units}
	var names []string
	err := m.each(jobs, func(part *Maker, name string) error {
		entries, files, err := part.entries(name)
		bound.Entries, names = append(bound.Entries, entries...), append(names, files...)
		return err
	}, func(name, why string) { bound.Failed = append(bound.Failed, season.Failure{Job: name, Why: why}) })
	if err != nil {
		return nil, err
	}
	shapes := func(e *season.Entry) (io.ReadCloser, error) {
		return m.In.Open(path.Join(Dir, e.Dir, fieldreport.GeoJSONFile))
	}
	if err := bound.FindReturns(shapes); err != nil {
		return nil, err
	}
	bound.Order()
	m.Told("writing", 1)
	out := &Answer{Page: path.Join(Dir, season.PageFile)}
	files, err := m.write("", append(season.Files.Of(bound), bound.OperatorFiles()...))
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
		out.Failed = append(out.Failed, Failure{Path: f.Job, Why: f.Why})
	}
	return out, nil
}

// firstOf is the first paragraph of a text, on one line.
func firstOf(text string) string {
	first, _, _ := strings.Cut(text, "\n\n")
	return words.Typeset(strings.Join(strings.Fields(first), " "))
}

// entries are a job's part of a season, with the names of their files below pages.
func (m *Maker) entries(name string) (entries []*season.Entry, names []string, err error) {
	rec, _, err := m.pages(name, m.whatIf(name))
	if err != nil {
		return nil, nil, err
	}
	for i, e := range rec.Entries {
		dir := path.Join(Folder(name), e.Dir)
		drawn := m.sketchIn(dir, e.Run)
		if drawn == nil {
			results, _, err := m.Results(name)
			if err != nil {
				return nil, nil, err
			}
			if drawn, err = m.entry(results[i], dir, name); err != nil {
				return nil, nil, err
			}
		}
		summary, err := m.In.Open(path.Join(Dir, dir, fieldreport.SummaryFile))
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
func (m *Maker) sketchIn(dir, run string) *season.Sketch {
	text, err := fs.ReadFile(m.In.FS, path.Join(Dir, dir, sketchFile))
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
func (m *Maker) entry(r Result, dir, name string) (*season.Sketch, error) {
	s, err := spec.Read(m.In.Files, name)
	if err != nil {
		return nil, err
	}
	asked, err := r.Asked(assess.Options{OffRates: true, Mend: &assess.MendQuestion{Machine: -1, GoingBack: s.GoingBack}})
	if err != nil {
		return nil, err
	}
	d := &fieldreport.Document{Assessment: asked, Book: "../" + upFrom(dir) + season.PageFile, Mend: mend.PageFile}
	plan := &mend.Document{Assessment: asked, Book: d.Book, Field: fieldreport.PageFile}
	shapes, err := m.In.Open(path.Join(Dir, dir, fieldreport.GeoJSONFile))
	if err != nil {
		return nil, err
	}
	defer shapes.Close()
	drawn, err := season.Draw(shapes)
	if err != nil {
		return nil, err
	}
	drawn.Note(asked, d.Leaf(), mend.PageFile, plan.Says())
	text, err := json.Marshal(entrySketch{r.Run, drawn})
	if err != nil {
		return nil, err
	}
	files := append(fieldreport.Files.Of(d), mend.Files.Of(plan)...)
	_, err = m.write(dir, append(files, store.FileOf(sketchFile, text)))
	return drawn, err
}

// wasteDir is the folder, in the pages of a job, of what was wasted there.
const wasteDir = "waste"

// UsualRuns is how often waste measures a field again.
const UsualRuns = 200

// Waste tells what jobs put down twice or outside. Each field is measured again so many
// times, to tell how sure that is; 0 leaves that out.
func (m *Maker) Waste(jobs []string, runs int) (*Answer, error) {
	if runs < 0 || runs > 10_000 {
		return nil, wrong(fmt.Sprintf("found %d runs", runs), "0 to 10000")
	}
	var fields []waste.Field
	var failed []waste.Failure
	err := m.each(jobs, func(part *Maker, name string) error {
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
	d, err := waste.New(m.Units, fields, failed)
	if err != nil {
		return nil, err
	}
	out := &Answer{Page: path.Join(Dir, waste.PageFile)}
	if out.Files, err = m.write("", waste.Files.Of(d)); err != nil {
		return nil, err
	}
	for _, f := range failed {
		out.Failed = append(out.Failed, Failure{Path: f.Job, Why: f.Why})
	}
	return out, out.tell(d.Text, d.JSON)
}

// wasted is what a job wasted on its fields, found before or now.
func (m *Maker) wasted(name string, runs int) (fields []waste.Field, err error) {
	dir := path.Join(Dir, Folder(name), wasteDir)
	var before *book.Record
	if folder, err := fs.Sub(m.Store, dir); err == nil {
		before = book.Read(folder, nil)
	}
	flags := fmt.Sprint("waste ", m.Units, " ", runs)
	now, err := book.Look(m.In, name, m.Program, flags, before)
	if err == nil && before.Same(now) {
		if fields, ok := wastedIn(before, name); ok {
			if kept, err := m.hasWaste(name, runs, now); err != nil || kept {
				return fields, err
			}
		}
	}
	m.Told("reading "+name, 0)
	found, err := m.askWaste(name, runs, now)
	if err != nil {
		return nil, err
	}
	for _, a := range found {
		if len(a.Map.Passes) > 0 || len(found) == 1 {
			fields = append(fields, waste.FieldOf(a, name))
		}
	}
	if len(fields) == 0 {
		return nil, assess.NoneWorked("", len(found))
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
	return fields, m.Store.Put(m.Context, []report.File{{Name: path.Join(dir, book.RecordFile), Write: now.Write}})
}

// measureWaste measures all parts of the job at a path for what was wasted.
func (m *Maker) measureWaste(name string, runs int) (found []*assess.Assessment, err error) {
	j, err := job.Load(m.In, name, job.Overrides{ManyFields: true})
	if err != nil {
		return nil, err
	}
	opt := assess.Options{Units: m.Units, Progress: func(step string) { m.Told(step, 0.1) }}
	if runs > 0 {
		opt.WhatIf = &assess.WhatIfOptions{Runs: runs, OwnGround: true}
	}
	for _, one := range j.Works() {
		if err := m.Context.Err(); err != nil {
			return nil, err
		}
		a, err := assess.Do(one, one.Fields[0], opt)
		if err != nil {
			return nil, err
		}
		found = append(found, a)
	}
	return found, nil
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
