package desk

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"

	"lapwing/coverage/job"
	"lapwing/coverage/propose"
	"lapwing/coverage/quantity"
	"lapwing/geo/format"
	"lapwing/geo/source"
	"lapwing/report/desk/pages"
	"lapwing/report/desk/store"
)

// Options are what a shell brings.
type Options struct {
	Formats format.Table
	// Program tells programs apart, such as by their hash: what another one reckoned is
	// reckoned again.
	Program string
	// Book, unless nil, has what was found of jobs elsewhere or before, and gets what is
	// found here.
	Book *Book
}

// A Desk is the files of a store, and what is made of them. Its methods may be
// called from several goroutines.
type Desk struct {
	store store.Store
	opt   Options
	turn  chan struct{} // who holds it asks
	known *propose.Known
	memo  pages.Memo

	naming   sync.Mutex
	promised map[string]bool // names given out for files that are on their way
	room     int             // how many files more are taken, and one; 0 before that was counted
}

// New opens the desk whose files are in a store.
func New(files store.Store, opt Options) *Desk {
	return &Desk{store: files, opt: opt, turn: make(chan struct{}, 1), known: &propose.Known{}, promised: map[string]bool{}}
}

// An ask is one message being answered.
type ask struct {
	*Desk
	ctx  context.Context
	in   job.Inputs
	told func(text string, share float64)
	book notes
}

// Ask answers one message; shells only carry it. Asks wait for one another. It ends
// soon after ctx does. progress, unless nil, is told what is going on and how much of
// it is done, from 0 to 1.
func (d *Desk) Ask(ctx context.Context, text []byte, progress func(text string, share float64)) Reply {
	m, err := read(text)
	if err != nil {
		return fail(err)
	}
	select {
	case d.turn <- struct{}{}:
	case <-ctx.Done():
		return fail(ctx.Err())
	}
	done := make(chan Reply, 1)
	go func() { // what a stage has begun runs to its end, and the next ask waits for it
		defer func() { <-d.turn }()
		done <- d.begin(ctx, progress).answer(m)
	}()
	select {
	case r := <-done:
		return r
	case <-ctx.Done():
		return fail(ctx.Err())
	}
}

// begin begins an ask.
func (d *Desk) begin(ctx context.Context, progress func(text string, share float64)) *ask {
	a := &ask{Desk: d, ctx: ctx}
	done := 0.0
	a.told = func(text string, share float64) {
		if done = max(done, share); progress != nil {
			progress(text, done)
		}
	}
	a.in = job.Inputs{Formats: d.opt.Formats, Files: source.Files{FS: store.Heeding{Context: ctx, Store: d.store}}}
	a.book, _ = notesIn(d.store)
	return a
}

// answer does what a message asks.
func (a *ask) answer(m message) Reply {
	switch m.Do {
	case "look":
		return reply(a.look())
	case "answer":
		return a.thenLook(a.take(m))
	case "place":
		return a.thenLook(a.placeLog(m.Log, m.Job))
	case "boundary":
		return a.thenLook(a.boundary(m))
	case "undo":
		return a.thenLook(a.undo())
	case "remove":
		return a.thenLook(a.removeFiles(m.Files))
	case "assess", "last", "mend", "season", "waste":
		return reply(a.page(m))
	case "compare":
		return reply(a.compare(m))
	case "held", "fetch":
		return a.ofBook(m)
	case "export":
		return a.export()
	case "file":
		return a.file(m.Name)
	}
	return fail(wrong("found do: "+quoted(m.Do), "one that the desk knows, such as look"))
}

// maker makes the pages of this ask.
func (a *ask) maker() *pages.Maker {
	return &pages.Maker{Context: a.ctx, In: a.in, Store: a.store, Program: a.opt.Program, Units: a.units(), Told: a.told, Memo: &a.Desk.memo, Book: a.opt.Book}
}

// page answers with a document of one job or of many.
func (a *ask) page(m message) (*Answer, error) {
	switch m.Do {
	case "season", "waste":
		jobs, err := a.chosen(m)
		if err != nil {
			return nil, err
		}
		if m.Do == "season" {
			return a.maker().Season(jobs)
		}
		runs := pages.UsualRuns
		if m.Runs != nil {
			runs = *m.Runs
		}
		return a.maker().Waste(jobs, runs)
	}
	if _, err := a.jobAt(m.Job); err != nil {
		return nil, err
	}
	if m.Do == "assess" {
		return a.maker().Assess(m.Job, m.WhatIf)
	}
	return a.maker().Drive(m.Job, pages.Drive{Last: m.Do == "last", Machine: m.Machine, Pass: m.Pass, All: m.All})
}

// compare puts two jobs side by side.
func (a *ask) compare(m message) (*pages.Comparison, error) {
	if len(m.Jobs) != 2 {
		return nil, wrong(fmt.Sprintf("found %d jobs", len(m.Jobs)), "two to compare")
	}
	jobs, err := a.chosen(m)
	if err != nil {
		return nil, err
	}
	return a.maker().Compare([2]string{jobs[0], jobs[1]})
}

// chosen are the jobs that a message names, or all.
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
		names = append(names, j.Path)
	}
	if len(names) == 0 {
		return nil, wrong("found no job", "a field with a log")
	}
	return names, nil
}

// thenLook answers a change with the state after it.
func (a *ask) thenLook(err error) Reply {
	if err != nil {
		return fail(err)
	}
	return reply(a.look())
}

// units are those that the desk tells in: those that a person said, else those that are
// usual where the fields lie.
func (a *ask) units() quantity.Units {
	if cmp.Or(a.book.Units, a.book.Usual) == "metric" {
		return quantity.Metric
	}
	return quantity.US
}

// types are the media types of the files that a desk gives.
var types = map[string]string{
	".html": "text/html; charset=utf-8", ".json": JSON, ".geojson": "application/geo+json", ".csv": "text/csv; charset=utf-8",
	".gpx": "application/gpx+xml", ".kml": "application/vnd.google-earth.kml+xml", ".yaml": "text/plain; charset=utf-8", ".zip": "application/zip",
}

// TypeOf is the media type that a file of the desk is given as; of what a browser
// should not open it is that of bytes.
func TypeOf(name string) string {
	if t := types[strings.ToLower(path.Ext(name))]; t != "" && (strings.HasPrefix(name, pages.Dir+"/") || !strings.HasPrefix(t, "text/html")) {
		return t
	}
	return "application/octet-stream"
}

// mostFile is how much of a file is given as a reply, 256 MiB.
const mostFile = 256 << 20

// file gives the bytes of a file.
func (a *ask) file(name string) Reply {
	if !fs.ValidPath(name) || name == source.Standard {
		return fail(wrong("found no file "+quoted(name), "one of the desk"))
	}
	f, err := a.in.Open(name)
	if err != nil {
		return fail(&job.InputError{File: name, Found: err.Error(), Want: "a file of the desk"})
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostFile+1))
	if err == nil && len(data) > mostFile {
		err = &job.InputError{File: name, Found: "more than 256 MiB", Want: "a smaller file"}
	}
	if err != nil {
		return fail(err)
	}
	return Reply{Type: TypeOf(name), Body: data}
}
