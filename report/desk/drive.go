package desk

import (
	"bytes"
	"fmt"
	"io"
	"path"

	"lapwing/coverage/assess"
	"lapwing/coverage/job/spec"
	"lapwing/report"
	"lapwing/report/last"
	"lapwing/report/mend"
)

// drive answers what last and mend are for: did the last passes join, and the drive
// that mends the skips.
func (a *ask) drive(m message) (*Answer, error) {
	results, same, err := a.results(m.Job)
	if err != nil {
		return nil, err
	}
	if len(results) > 1 {
		return nil, wrong(fmt.Sprintf("found %d fields", len(results)), "one")
	}
	s, err := spec.Read(a.in.Files, m.Job)
	if err != nil {
		return nil, err
	}
	machine := -1
	for i := range results[0].Map.Machines {
		if m.Machine != "" && results[0].MachineName(i) == m.Machine {
			machine = i
		}
	}
	if m.Machine != "" && machine < 0 {
		return nil, wrong("found no machine "+quoted(m.Machine), "one of the job")
	}
	opt := assess.Options{Mend: &assess.MendQuestion{Machine: machine, GoingBack: s.GoingBack, All: m.All}}
	if m.Do == "last" {
		opt.Last = &assess.LastQuestion{Machine: machine, Pass: m.Pass, GoingBack: s.GoingBack}
	}
	a.told("planning", 0.5)
	asked, err := results[0].Asked(opt)
	if err != nil {
		return nil, err
	}
	plan := &mend.Document{Assessment: asked, Last: m.Do == "last"}
	files, text, json, page := mend.Files.Of(plan), plan.Text, plan.JSON, mend.PageFile
	if m.Do == "last" {
		d := last.New(asked)
		files, text, json, page = append(last.Files.Of(d), files...), d.Text, d.JSON, last.Files[0].Name
	}
	a.told("writing", 0.9)
	out := &Answer{Kept: same}
	dir := pageName(m.Job)
	if out.Files, err = a.write(dir, files); err != nil {
		return nil, err
	}
	out.Page = path.Join(pagesDir, dir, page)
	return out, out.tell(text, json)
}

// tell puts the words and the JSON of a document into an answer.
func (out *Answer) tell(text, json func(io.Writer) error) error {
	var words, summary bytes.Buffer
	if err := text(&words); err != nil {
		return err
	}
	if err := json(&summary); err != nil {
		return err
	}
	out.Text, out.Verdict, out.Summary = words.String(), firstOf(words.String()), summary.Bytes()
	return nil
}

// write writes the files of a document into a folder of pages, and lists them.
func (a *ask) write(dir string, files []report.File) (names []string, err error) {
	placed := make([]report.File, len(files))
	for i, f := range files {
		names = append(names, path.Join(dir, f.Name))
		placed[i] = report.File{Name: path.Join(pagesDir, dir, f.Name), Write: f.Write}
	}
	return names, a.store.Put(a.ctx, placed)
}
