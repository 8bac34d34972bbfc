package desk

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"strings"
	"time"
	"unicode"

	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/job"
	"lapwing/report"
	fieldreport "lapwing/report/field"
	"lapwing/report/season"
	"lapwing/report/words"
)

// A result is the assessment of one field of a job, and the folder of its pages below
// that of the job; "" for that itself.
type result struct {
	*assess.Assessment
	dir string
}

// A memo is what was measured last, and of what, so that whoever asks more of it at once
// waits for no second measuring. One is enough: a job is asked about until the next is.
// It is not written down: to read it back takes ten times as long as to measure again.
type memo struct {
	source  string
	results []result
}

// A sketch is what the record of a job's pages keeps of each field, so that the desk
// need not measure it to tell of it.
type sketch struct {
	Verdict  string     `json:"verdict"`
	Text     string     `json:"text"`
	Suspects *Suspected `json:"suspects,omitempty"`
	Outline  []string   `json:"outline,omitempty"`
}

func (a *ask) modified(name string) (at time.Time) {
	if info, err := fs.Stat(a.store, name); err == nil {
		return info.ModTime()
	}
	return at
}

// flags are what the pages of a job hang on beside its files.
func (a *ask) flags(whatIf bool) string {
	return fmt.Sprint("desk ", unitsName(a.units()), " ", whatIf)
}

// record is what the pages in a folder were made of; nil where they are not whole.
func (a *ask) record(dir string) *book.Record {
	folder, err := fs.Sub(a.store, dir)
	if err != nil {
		return nil
	}
	return book.Read(folder, fieldreport.Files.Names())
}

// pages sees to it that the pages of a job are there and of its files as they are now,
// and says what they were made of. same says that they were there.
func (a *ask) pages(jobPath string, whatIf bool) (rec *book.Record, same bool, err error) {
	if _, err := a.jobAt(jobPath); err != nil {
		return nil, false, err
	}
	a.told("reading "+jobPath, 0)
	dir := path.Join(pagesDir, pageName(jobPath))
	before := a.record(dir)
	now, err := book.Look(a.in, jobPath, a.opt.Program, a.flags(whatIf), before)
	if err == nil && before.Same(now) {
		return before, true, nil
	}
	j, err := a.load(jobPath)
	if err != nil {
		return nil, false, err
	}
	if now == nil {
		if now, err = book.Look(a.in, jobPath, a.opt.Program, a.flags(whatIf), nil); err != nil {
			return nil, false, err
		}
	}
	results, err := a.measure(j, whatIf, now)
	if err != nil {
		return nil, false, err
	}
	return now, false, a.writePages(dir, results, now)
}

// load reads a job and all that it names.
func (a *ask) load(jobPath string) (*job.Job, error) {
	j, err := job.Load(a.in, jobPath, job.Overrides{ManyFields: true})
	if stopped := a.ctx.Err(); stopped != nil {
		return nil, stopped
	}
	return j, err
}

// writePages writes the pages of a job in place of those that were there, and notes in
// the record what they tell.
func (a *ask) writePages(dir string, results []result, rec *book.Record) error {
	var files []report.File
	index := ""
	if _, err := fs.Stat(a.store, path.Join(pagesDir, season.PageFile)); err == nil {
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
		kept, err := json.Marshal(sketch{Verdict: firstOf(text.String()), Text: text.String(), Suspects: suspected(r.Assessment), Outline: words.Fit(a.units(), r.Map)})
		if err != nil {
			return err
		}
		rec.Entries = append(rec.Entries, book.Entry{Dir: r.dir, Run: r.Run, Sketch: kept})
	}
	files = append(files, report.File{Name: path.Join(dir, book.RecordFile), Write: rec.Write})
	a.told("writing", 0.9)
	old := a.below(dir)
	if err := a.store.Put(a.ctx, files); err != nil {
		return err
	}
	var stale []string
	for _, name := range old {
		if !contains(files, name) && !strings.HasPrefix(name, path.Join(dir, wasteDir)+"/") {
			stale = append(stale, name)
		}
	}
	return a.store.Remove(stale...)
}

// upFrom leads from a folder to that of all pages.
func upFrom(dir string) string { return strings.Repeat("../", strings.Count(dir, "/")) }

// whatIf reports whether the pages of a job tell what if, so that who asks for something
// else of it leaves that as it is.
func (a *ask) whatIf(jobPath string) bool {
	before := a.record(path.Join(pagesDir, pageName(jobPath)))
	return before != nil && before.Flags == a.flags(true)
}

// results are the assessments of a job, measured now or just before.
func (a *ask) results(jobPath string) (results []result, same bool, err error) {
	whatIf := a.whatIf(jobPath)
	rec, same, err := a.pages(jobPath, whatIf)
	if err != nil {
		return nil, false, err
	}
	if a.memo.source == sourceOf(rec) {
		return a.memo.results, same, nil
	}
	j, err := a.load(jobPath)
	if err != nil {
		return nil, false, err
	}
	results, err = a.measure(j, whatIf, rec)
	return results, same, err
}

// sourceOf is what a record says of what was measured.
func sourceOf(r *book.Record) string {
	var b bytes.Buffer
	r.WriteSource(&b)
	return b.String()
}

func contains(files []report.File, name string) bool {
	for i := range files {
		if files[i].Name == name {
			return true
		}
	}
	return false
}

// measure assesses the fields of a job, which a record says the source of; of several
// those alone that were worked.
func (a *ask) measure(j *job.Job, whatIf bool, rec *book.Record) (results []result, err error) {
	works := j.Works()
	opt := assess.Options{Units: a.units(), OffRates: true}
	if whatIf {
		opt.WhatIf = &assess.WhatIfOptions{}
	}
	if len(works) > 1 {
		opt.Elsewhere = assess.OffFields(j, opt.Units)
	}
	a.Desk.memo = memo{} // the room is needed
	for i, one := range works {
		if err := a.ctx.Err(); err != nil {
			return nil, err
		}
		of := one.Fields[0]
		opt.Progress = func(step string) {
			if len(works) > 1 {
				step += " " + of.Name
			}
			a.told(step, 0.1+0.8*float64(i)/float64(len(works)))
		}
		found, err := assess.Do(one, of, opt)
		if err != nil {
			return nil, err
		}
		r := result{Assessment: found}
		if len(works) > 1 {
			if len(found.Map.Passes) == 0 {
				continue
			}
			r.dir = folderName(of.Name+" "+one.Operation, results)
		}
		results = append(results, r)
	}
	if len(results) == 0 {
		return nil, noneWorked(len(works))
	}
	a.Desk.memo = memo{sourceOf(rec), results}
	return results, nil
}

// folderName is the folder of one field of several, as assess calls it.
func folderName(name string, before []result) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	name = strings.Join(words, "-")
	if len(name) > 60 {
		name = strings.ToValidUTF8(name[:60], "")
	}
	if name == "" {
		name = "field"
	}
	for n, try := 2, name; ; n++ {
		taken := false
		for _, r := range before {
			taken = taken || r.dir == try
		}
		if !taken {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, n)
	}
}

// documentOf is the report of a result.
func documentOf(r result) *fieldreport.Document {
	return &fieldreport.Document{Assessment: r.Assessment}
}

// reportOf is the report of a job of one field.
func reportOf(jobPath string) string {
	return path.Join(pagesDir, pageName(jobPath), fieldreport.PageFile)
}

// suspected is how far the tracks of a field likely lie off its boundary; nil where they
// do not.
func suspected(a *assess.Assessment) *Suspected {
	fit := a.Map.Headland.Fit
	if fit == nil || fit.Shift == nil {
		return nil
	}
	s := &Suspected{By: tenth(fit.Shift.By.Metres()), Towards: fit.Shift.Towards}
	if _, err := fmt.Sscanf(fit.Shift.Key, "shift: {east: %g m, north: %g m}", &s.East, &s.North); err != nil {
		return nil
	}
	for _, w := range fit.Warnings() {
		s.Text = w.Text
	}
	return s
}

// assess answers for a job: measured, told, and its pages written.
func (a *ask) assess(m message) (*Answer, error) {
	rec, same, err := a.pages(m.Job, m.WhatIf)
	if err != nil {
		return nil, err
	}
	out := &Answer{Kept: same}
	var texts, verdicts []string
	var summaries []json.RawMessage
	dir := pageName(m.Job)
	for _, e := range rec.Entries {
		var s sketch
		if err := json.Unmarshal(e.Sketch, &s); err != nil {
			return nil, err
		}
		summary, err := fs.ReadFile(a.in.FS, path.Join(pagesDir, dir, e.Dir, fieldreport.SummaryFile))
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
	out.Page = path.Join(pagesDir, dir, rec.Entries[0].Dir, fieldreport.PageFile)
	out.Summary = summaries[0]
	if len(summaries) > 1 {
		out.Summary, err = json.Marshal(summaries)
	}
	return out, err
}
