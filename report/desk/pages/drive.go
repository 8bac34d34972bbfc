package pages

import (
	"bytes"
	"fmt"
	"io"
	"path"
	"strconv"

	"lapwing/coverage/assess"
	"lapwing/coverage/job/spec"
	"lapwing/report"
	"lapwing/report/last"
	"lapwing/report/mend"
)

// A Drive asks what last and mend answer: did the last passes join, and the drive that
// mends the skips.
type Drive struct {
	Last    bool   // ask of the last passes too
	Machine string // the name of one; "" for each that worked
	Pass    *int   // the number of a pass; nil for the last
	All     bool   // small skips too
}

// Drive answers what last and mend are for, and writes their pages.
func (m *Maker) Drive(jobPath string, q Drive) (*Answer, error) {
	results, same, err := m.Results(jobPath)
	if err != nil {
		return nil, err
	}
	if len(results) > 1 {
		return nil, wrong(fmt.Sprintf("found %d fields", len(results)), "one")
	}
	s, err := spec.Read(m.In.Files, jobPath)
	if err != nil {
		return nil, err
	}
	machine := -1
	for i := range results[0].Map.Machines {
		if q.Machine != "" && results[0].MachineName(i) == q.Machine {
			machine = i
		}
	}
	if q.Machine != "" && machine < 0 {
		return nil, wrong("found no machine "+strconv.Quote(q.Machine), "one of the job")
	}
	opt := assess.Options{Mend: &assess.MendQuestion{Machine: machine, GoingBack: s.GoingBack, All: q.All}}
	if q.Last {
		opt.Last = &assess.LastQuestion{Machine: machine, Pass: q.Pass, GoingBack: s.GoingBack}
	}
	m.Told("planning", 0.5)
	asked, err := results[0].Asked(opt)
	if err != nil {
		return nil, err
	}
	plan := &mend.Document{Assessment: asked, Last: q.Last}
	files, text, json, page := mend.Files.Of(plan), plan.Text, plan.JSON, mend.PageFile
	if q.Last {
		d := last.New(asked)
		files, text, json, page = append(last.Files.Of(d), files...), d.Text, d.JSON, last.Files[0].Name
	}
	m.Told("writing", 0.9)
	out := &Answer{Kept: same}
	dir := Folder(jobPath)
	if out.Files, err = m.write(dir, files); err != nil {
		return nil, err
	}
	out.Page = path.Join(Dir, dir, page)
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
func (m *Maker) write(dir string, files []report.File) (names []string, err error) {
	placed := make([]report.File, len(files))
	for i, f := range files {
		names = append(names, path.Join(dir, f.Name))
		placed[i] = report.File{Name: path.Join(Dir, dir, f.Name), Write: f.Write}
	}
	return names, m.Store.Put(m.Context, placed)
}
