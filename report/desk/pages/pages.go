package pages

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/report"
	"lapwing/report/desk/draw"
	"lapwing/report/desk/store"
	fieldreport "lapwing/report/field"
	"lapwing/report/season"
	"lapwing/report/words"
)

// A Maker makes pages for one who asks.
type Maker struct {
	Context context.Context
	In      job.Inputs // the files of the store
	Store   store.Store
	Program string // tells programs apart
	Units   quantity.Units
	Told    func(text string, share float64)
	Memo    *Memo
	Book    *Book // has what was found of jobs elsewhere or before, and gets what is found here; nil for none
}

// Dir is the folder of all pages.
const Dir = "pages"

// A Result is the assessment of one field of a job, and the folder of its pages below
// that of the job; "" for that itself.
type Result struct {
	*assess.Assessment
	dir string
}

// A Memo is what was measured last, and of what, so that a person who asks more of it at once
// waits for no second measuring. One is enough: a job is asked about until the next is.
// It is not written down: to read it back takes ten times as long as to measure again.
type Memo struct {
	source  string
	results []Result
}

// A sketch is what the record of a job's pages keeps of each field, so that the desk
// need not measure it to tell of it.
type sketch struct {
	Verdict  string     `json:"verdict"`
	Text     string     `json:"text"`
	Suspects *Suspected `json:"suspects,omitempty"`
	Outline  []string   `json:"outline,omitempty"`
}

// flags are what the pages of a job hang on beside its files.
func (m *Maker) flags(whatIf bool) string {
	return fmt.Sprint("desk ", UnitsName(m.Units), " ", whatIf)
}

// record is what the pages in a folder were made of; nil where they are not whole.
func (m *Maker) record(dir string) *book.Record {
	folder, err := fs.Sub(m.Store, dir)
	if err != nil {
		return nil
	}
	return book.Read(folder, fieldreport.Files.Names())
}

// pages sees to it that the pages of a job are there and of its files as they are now,
// and says what they were made of. same says that they were there.
func (m *Maker) pages(jobPath string, whatIf bool) (rec *book.Record, same bool, err error) {
	m.Told("reading "+jobPath, 0)
	dir := path.Join(Dir, Folder(jobPath))
	before := m.record(dir)
	now, err := book.Look(m.In, jobPath, m.Program, m.flags(whatIf), before)
	if err == nil && before.Same(now) {
		if stands, err := m.stands(jobPath, now); err != nil || stands {
			return before, true, err
		}
	}
	if now == nil { // loading the job tells what is wrong with it
		if _, err := m.load(jobPath); err != nil {
			return nil, false, err
		}
		if now, err = book.Look(m.In, jobPath, m.Program, m.flags(whatIf), nil); err != nil {
			return nil, false, err
		}
	}
	results, err := m.results(jobPath, whatIf, now)
	if err != nil {
		return nil, false, err
	}
	return now, false, m.writePages(dir, results, now)
}

// load reads a job and all that it names.
func (m *Maker) load(jobPath string) (*job.Job, error) {
	j, err := job.Load(m.In, jobPath, job.Overrides{ManyFields: true})
	if stopped := m.Context.Err(); stopped != nil {
		return nil, stopped
	}
	return j, err
}

// writePages writes the pages of a job in place of those that were there, and notes in
// the record what they tell.
func (m *Maker) writePages(dir string, results []Result, rec *book.Record) error {
	var files []report.File
	index := ""
	if _, err := fs.Stat(m.Store, path.Join(Dir, season.PageFile)); err == nil {
		index = season.PageFile
	}
	for _, r := range results {
		d := documentOf(r)
		if index != "" {
			d.Book = upFrom(path.Join(dir, r.dir)) + index
		}
		for _, f := range fieldreport.Files.Of(d) {
			f.Name = path.Join(dir, r.dir, f.Name)
			files = append(files, f)
		}
		var text bytes.Buffer
		if err := d.Text(&text); err != nil {
			return err
		}
		kept, err := json.Marshal(sketch{Verdict: firstOf(text.String()), Text: text.String(), Suspects: suspected(r.Assessment), Outline: words.Fit(m.Units, r.Map)})
		if err != nil {
			return err
		}
		rec.Entries = append(rec.Entries, book.Entry{Dir: r.dir, Run: r.Run, Sketch: kept})
	}
	files = append(files, report.File{Name: path.Join(dir, book.RecordFile), Write: rec.Write})
	m.Told("writing", 0.9)
	old := store.Below(m.Store, dir)
	if err := m.Store.Put(m.Context, files); err != nil {
		return err
	}
	var stale []string
	for _, name := range old {
		if !slices.ContainsFunc(files, func(f report.File) bool { return f.Name == name }) && !strings.HasPrefix(name, path.Join(dir, wasteDir)+"/") {
			stale = append(stale, name)
		}
	}
	return m.Store.Remove(stale...)
}

// upFrom leads from a folder to that of all pages.
func upFrom(dir string) string { return strings.Repeat("../", strings.Count(dir, "/")) }

// whatIf reports whether the pages of a job tell what if, so that who asks for something
// else of it leaves that as it is.
func (m *Maker) whatIf(jobPath string) bool {
	before := m.record(path.Join(Dir, Folder(jobPath)))
	return before != nil && before.Flags == m.flags(true)
}

// Results are the assessments of a job, measured now or just before.
func (m *Maker) Results(jobPath string) (results []Result, same bool, err error) {
	whatIf := m.whatIf(jobPath)
	rec, same, err := m.pages(jobPath, whatIf)
	if err != nil {
		return nil, false, err
	}
	if m.Memo.source == sourceOf(rec) {
		return m.Memo.results, same, nil
	}
	results, err = m.results(jobPath, whatIf, rec)
	return results, same, err
}

// sourceOf is what a record says of what was measured.
func sourceOf(r *book.Record) string {
	var b bytes.Buffer
	r.WriteSource(&b)
	return b.String()
}

// results are the assessments of a job, which a record says the source of; of several
// fields those alone that were worked.
func (m *Maker) results(jobPath string, whatIf bool, rec *book.Record) (results []Result, err error) {
	*m.Memo = Memo{} // the room is needed
	found, err := m.assess(jobPath, whatIf, rec)
	if err != nil {
		return nil, err
	}
	for _, a := range found {
		r := Result{Assessment: a}
		if len(found) > 1 {
			if len(a.Map.Passes) == 0 {
				continue
			}
			r.dir = fieldreport.DirName(a.Map.Field.Name+" "+a.Operation, func(dir string) bool {
				return slices.ContainsFunc(results, func(before Result) bool { return before.dir == dir })
			})
		}
		results = append(results, r)
	}
	if len(results) == 0 {
		return nil, assess.NoneWorked("", len(found))
	}
	*m.Memo = Memo{sourceOf(rec), results}
	return results, nil
}

// measure measures all parts of the job at a path.
func (m *Maker) measure(jobPath string, whatIf bool) (found []*assess.Assessment, err error) {
	j, err := m.load(jobPath)
	if err != nil {
		return nil, err
	}
	works := j.Works()
	opt := assess.Options{Units: m.Units, OffRates: true, Once: len(works) == 1}
	if whatIf {
		opt.WhatIf = &assess.WhatIfOptions{}
	}
	if len(works) > 1 {
		opt.Elsewhere = assess.OffFields(j, opt.Units)
	}
	for i, one := range works {
		if err := m.Context.Err(); err != nil {
			return nil, err
		}
		of := one.Fields[0]
		opt.Progress = func(step string) {
			if len(works) > 1 {
				step += " " + of.Name
			}
			m.Told(step, 0.1+0.8*float64(i)/float64(len(works)))
		}
		a, err := assess.Do(one, of, opt)
		if err != nil {
			return nil, err
		}
		found = append(found, a)
	}
	return found, nil
}

// documentOf is the report of a result.
func documentOf(r Result) *fieldreport.Document {
	return &fieldreport.Document{Assessment: r.Assessment}
}

// reportOf is the report of a job of one field.
func reportOf(jobPath string) string {
	return path.Join(Dir, Folder(jobPath), fieldreport.PageFile)
}

// suspected is how far the tracks of a field likely lie off its boundary; nil where they
// do not.
func suspected(a *assess.Assessment) *Suspected {
	fit := a.Map.Headland.Fit
	if fit == nil || fit.Shift == nil {
		return nil
	}
	s := &Suspected{East: fit.Shift.East, North: fit.Shift.North, By: draw.Tenth(fit.Shift.By.Metres()), Towards: fit.Shift.Towards}
	for _, w := range fit.Warnings() {
		s.Text = w.Text
	}
	return s
}

// Assess answers for a job: measured, told, and its pages written. With whatIf it also
// asks what if.
func (m *Maker) Assess(jobPath string, whatIf bool) (*Answer, error) {
	rec, same, err := m.pages(jobPath, whatIf)
	if err != nil {
		return nil, err
	}
	out := &Answer{Kept: same}
	var texts, verdicts []string
	var summaries []json.RawMessage
	dir := Folder(jobPath)
	for _, e := range rec.Entries {
		var s sketch
		if err := json.Unmarshal(e.Sketch, &s); err != nil {
			return nil, err
		}
		summary, err := fs.ReadFile(m.In.FS, path.Join(Dir, dir, e.Dir, fieldreport.SummaryFile))
		if err != nil {
			return nil, err
		}
		if len(rec.Entries) > 1 {
			s.Verdict = e.Dir + ": " + s.Verdict
		}
		texts, verdicts, summaries = append(texts, s.Text), append(verdicts, s.Verdict), append(summaries, summary)
		for _, name := range fieldreport.Files.Names() {
			out.Files = append(out.Files, path.Join(dir, e.Dir, name))
		}
	}
	out.Text, out.Verdict = strings.Join(texts, "\n"), strings.Join(verdicts, "\n")
	out.Page = path.Join(Dir, dir, rec.Entries[0].Dir, fieldreport.PageFile)
	out.Summary = summaries[0]
	if len(summaries) > 1 {
		out.Summary, err = json.Marshal(summaries)
	}
	return out, err
}

// A Telling is what the pages of a job say, in short.
type Telling struct {
	Verdict  string
	Run      string
	Stale    bool // the files of the job have changed since
	Page     string
	Outline  []string   // what speaks against the boundary as drawn
	Suspects *Suspected // where the pages are of one field, and not stale
}

// Telling says what the pages of a job say; nil where there are none.
func (m *Maker) Telling(jobPath string) *Telling {
	dir := path.Join(Dir, Folder(jobPath))
	before := m.record(dir)
	if before == nil {
		return nil
	}
	now, err := book.Look(m.In, jobPath, m.Program, before.Flags, before)
	out := &Telling{Run: before.Entries[0].Run, Page: path.Join(dir, before.Entries[0].Dir, fieldreport.PageFile)}
	out.Stale = err != nil || !before.Same(now) || before.Flags != m.flags(false) && before.Flags != m.flags(true)
	if !out.Stale { // what the book has not yet it gets with the next answer
		stands, err := m.stands(jobPath, now)
		out.Stale = err == nil && !stands
	}
	var said []string
	for _, e := range before.Entries {
		var s sketch
		if json.Unmarshal(e.Sketch, &s) == nil {
			said = append(said, s.Verdict)
			out.Outline = append(out.Outline, s.Outline...)
			out.Suspects = s.Suspects
		}
	}
	out.Verdict = strings.Join(said, "\n")
	if len(before.Entries) > 1 || out.Stale {
		out.Suspects = nil
	}
	return out
}
