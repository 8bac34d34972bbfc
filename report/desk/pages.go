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
)

// keptFile is an assessment as it was, so that other pages of it need no new measuring.
const keptFile = "assessment.kept"

// A result is the assessment of one field of a job, and the folder of its pages below
// that of the job; "" for that itself.
type result struct {
	*assess.Assessment
	dir string
}

// A sketch is what the record of a job's pages keeps of each field, so that the desk
// need not read it all.
type sketch struct {
	Verdict  string     `json:"verdict"`
	Suspects *Suspected `json:"suspects,omitempty"`
}

func (a *ask) modified(name string) (at time.Time) {
	if info, err := fs.Stat(a.store, name); err == nil {
		return info.ModTime()
	}
	return at
}

// flags are what the pages of a job hang on beside its files.
func (a *ask) flags(m message) string { return fmt.Sprint("desk ", a.units(), " ", m.WhatIf) }

// kept are the results of a job that are there from before, if its files have not
// changed since; false where it must be measured. record says what it is made of now.
func (a *ask) kept(jobPath string, m message) (results []result, record *book.Record, same bool, err error) {
	dir := path.Join(pagesDir, pageName(jobPath))
	before := a.record(dir)
	record, err = book.Look(a.in, jobPath, a.opt.Program, a.flags(m), before)
	if err != nil || !before.Same(record) {
		return nil, record, false, err
	}
	for _, e := range before.Entries {
		f, err := a.store.Open(path.Join(dir, e.Dir, keptFile))
		if err != nil {
			return nil, record, false, nil
		}
		one, err := assess.Decode(f)
		f.Close()
		if err != nil || one.Run != e.Run {
			return nil, record, false, nil // of another version
		}
		results = append(results, result{one, e.Dir})
	}
	return results, before, true, nil
}

// record is what the pages in a folder were made of; nil where they are not whole.
func (a *ask) record(dir string) *book.Record {
	folder, err := fs.Sub(a.store, dir)
	if err != nil {
		return nil
	}
	return book.Read(folder, fieldreport.Files.Names())
}

// results measures a job, or finds that it was measured before.
func (a *ask) results(jobPath string, m message) (results []result, same bool, err error) {
	if _, err := a.jobAt(jobPath); err != nil {
		return nil, false, err
	}
	a.told("reading "+jobPath, 0)
	results, record, same, err := a.kept(jobPath, m)
	if same && err == nil {
		return results, true, nil
	}
	j, err := job.Load(a.in, jobPath, job.Overrides{ManyFields: true})
	if stopped := a.ctx.Err(); stopped != nil {
		return nil, false, stopped
	}
	if err != nil {
		return nil, false, err
	}
	if record == nil {
		if record, err = book.Look(a.in, jobPath, a.opt.Program, a.flags(m), nil); err != nil {
			return nil, false, err
		}
	}
	record.Entries = nil
	if results, err = a.measure(j, m); err != nil {
		return nil, false, err
	}
	dir := path.Join(pagesDir, pageName(jobPath))
	var files []report.File
	for i := range results {
		r := results[i]
		d := documentOf(r)
		its := append(fieldreport.Files.Of(d), report.File{Name: keptFile, Write: r.Encode})
		for _, f := range its {
			f.Name = path.Join(dir, r.dir, f.Name)
			files = append(files, f)
		}
		verdict, err := verdictOf(d)
		if err != nil {
			return nil, false, err
		}
		text, err := json.Marshal(sketch{Verdict: verdict, Suspects: suspected(r.Assessment)})
		if err != nil {
			return nil, false, err
		}
		record.Entries = append(record.Entries, book.Entry{Dir: r.dir, Run: r.Run, Sketch: text})
	}
	files = append(files, report.File{Name: path.Join(dir, book.RecordFile), Write: record.Write})
	a.told("writing", 0.9)
	old := a.below(dir) // pages of before, also those that would not be written over
	if err := a.store.Put(a.ctx, files); err != nil {
		return nil, false, err
	}
	var stale []string
	for _, name := range old {
		if !contains(files, name) {
			stale = append(stale, name)
		}
	}
	return results, false, a.store.Remove(stale...)
}

func contains(files []report.File, name string) bool {
	for i := range files {
		if files[i].Name == name {
			return true
		}
	}
	return false
}

// measure assesses the fields of a job; of several those alone that were worked.
func (a *ask) measure(j *job.Job, m message) (results []result, err error) {
	works := j.Works()
	opt := assess.Options{Units: a.units(), OffRates: true}
	if m.WhatIf {
		opt.WhatIf = &assess.WhatIfOptions{}
	}
	if len(works) > 1 {
		opt.Elsewhere = assess.OffFields(j, opt.Units)
	}
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

// verdictOf is the answer of a field, in its first sentences.
func verdictOf(d *fieldreport.Document) (string, error) {
	var b bytes.Buffer
	err := d.Text(&b)
	return firstOf(b.String()), err
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
	s := &Suspected{}
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
	results, same, err := a.results(m.Job, m)
	if err != nil {
		return nil, err
	}
	out := &Answer{Kept: same}
	var texts, verdicts []string
	var summaries []json.RawMessage
	dir := pageName(m.Job)
	for _, r := range results {
		d := documentOf(r)
		var text, summary bytes.Buffer
		if err := d.Text(&text); err != nil {
			return nil, err
		}
		if err := d.JSON(&summary); err != nil {
			return nil, err
		}
		verdict, err := verdictOf(d)
		if err != nil {
			return nil, err
		}
		if len(results) > 1 {
			verdict = r.FieldName() + ": " + verdict
		}
		texts, verdicts, summaries = append(texts, text.String()), append(verdicts, verdict), append(summaries, summary.Bytes())
		for _, name := range fieldreport.Files.Names() {
			out.Files = append(out.Files, path.Join(dir, r.dir, name))
		}
	}
	out.Text, out.Verdict = strings.Join(texts, "\n"), strings.Join(verdicts, "\n")
	out.Page = path.Join(pagesDir, dir, results[0].dir, fieldreport.PageFile)
	out.Summary = summaries[0]
	if len(summaries) > 1 {
		if out.Summary, err = json.Marshal(summaries); err != nil {
			return nil, err
		}
	}
	return out, nil
}
