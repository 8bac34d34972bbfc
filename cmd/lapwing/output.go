package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"lapwing/coverage/job"
	"lapwing/geo/parallel"
	"lapwing/report"
)

// An output is the directory a run writes into.
//
// All files of a run get their places as one set, see [swap]: until then, and if
// anything goes wrong, the directory holds what it held before. What a run that
// was killed left in it is put right by the next. The directory itself stays, with
// everything in it that is the user's.
//
//	openOutput   may this run write here?
//	hold         nobody else writes here from now on
//	stage        files are written and synced, and nobody sees them
//	commit       they get their places
//	discard      what was not committed goes, and others may write again
type output struct {
	dir  string
	made []string  // directories made for it, outermost first
	held io.Closer // the lock on dir; nil while others may write into it
	swap *swap     // nil while there is nothing to put in place
}

// mark is in every file lapwing writes, near its beginning: a file of one of
// its names without it is another program's.
const mark = "lapwing"

// patience is how long a run waits for another to have written its files, which
// takes a fraction of a second. A season holds its directory for longer.
const patience = 10 * time.Second

// outputError says what is wrong with where a run is to write.
func outputError(path, found, want string) error {
	return &job.InputError{File: path, Where: "--out", Found: found, Want: want}
}

// unwritable says why a file or directory cannot be written.
func unwritable(path string, err error) error {
	return outputError(path, "found that it cannot be written ("+reasonOf(err)+")", "a directory with room that may be written into")
}

// openOutput makes dir if it is missing. It refuses to write over files of the
// given names that lapwing did not write; names may lead into directories below,
// by slashes.
func openOutput(dir string, names ...string) (*output, error) {
	o := &output{dir: dir}
	if dir == "" {
		return nil, outputError("", `found ""`, "a directory")
	}
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return nil, outputError(dir, "found a file", "a directory")
	}
	for _, name := range names {
		if err := ours(o.path(name)); err != nil {
			return nil, err
		}
	}
	o.made = missing(dir)
	unfinished.expect(o.made)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		o.discard()
		return nil, outputError(dir, "found that it cannot be made ("+reasonOf(err)+")", "a directory that can be made")
	}
	if err := o.try(); err != nil {
		o.discard()
		return nil, err
	}
	return o, nil
}

// try puts right what was left in the directory, and tells early that nothing
// can be written there. Where another run is writing both are its business.
func (o *output) try() error {
	err := o.hold(context.Background(), 0)
	if errors.Is(err, errHeld) {
		return nil
	}
	defer o.release()
	if err != nil {
		return err
	}
	s, err := newSwap(o.dir)
	if err != nil {
		return unwritable(o.dir, err)
	}
	s.drop()
	return nil
}

// ours returns an error if there is a file at path that lapwing did not write.
func ours(path string) error {
	info, err := os.Lstat(path)
	if err != nil {
		return nil
	}
	if !info.Mode().IsRegular() {
		return outputError(path, "found something that is not a file", "another directory")
	}
	head := make([]byte, 4096)
	f, err := os.Open(path)
	if err != nil {
		return outputError(path, reasonOf(err), "another directory")
	}
	n, _ := io.ReadFull(f, head)
	f.Close()
	if !bytes.Contains(head[:n], []byte(mark)) {
		return outputError(path, "found a file that lapwing did not write", "another directory")
	}
	return nil
}

// missing lists which of a directory and those it lies in are not there,
// outermost first.
func missing(dir string) (out []string) {
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		if _, err := os.Stat(d); err == nil || d == filepath.Dir(d) {
			return out
		}
		out = append([]string{d}, out...)
	}
}

// path is where a file of the run gets its place.
func (o *output) path(name string) string { return filepath.Join(o.dir, filepath.FromSlash(name)) }

// hold keeps other runs from writing into the directory until discard, and puts
// right what those that were killed left in it. If another run is writing it
// waits so long for that to end; then the error is [errHeld].
func (o *output) hold(ctx context.Context, wait time.Duration) error {
	if o.held != nil {
		return nil
	}
	for began := time.Now(); ; {
		held, err := lockDirectory(o.dir)
		if err == nil {
			o.held = held
			return tidy(o.dir)
		}
		if !errors.Is(err, errHeld) {
			return unwritable(o.dir, err)
		}
		if time.Since(began) >= wait {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(10 * time.Millisecond):
		}
	}
}

// holdOrSay is hold with a line for people where another run is writing.
func (o *output) holdOrSay(ctx context.Context, wait time.Duration) error {
	err := o.hold(ctx, wait)
	if errors.Is(err, errHeld) {
		return outputError(o.dir, "found another run of lapwing that is writing into it", "another directory, or this one when that run has ended")
	}
	return err
}

func (o *output) release() {
	if o.held != nil {
		o.held.Close()
		o.held = nil
	}
}

// write writes all files of a run, or none.
func write(ctx context.Context, out *output, files []report.File) error {
	if err := out.stage(ctx, files); err != nil {
		return err
	}
	return out.commit()
}

// writeNew writes files that were not there, all or none.
func writeNew(ctx context.Context, out *output, files ...report.File) error {
	if err := out.begin(ctx); err != nil {
		return err
	}
	out.swap.Takes = takesNone
	return write(ctx, out, files)
}

// stage writes files of a run where nobody sees them, at the same time. What was
// staged before stays.
func (o *output) stage(ctx context.Context, files []report.File) error {
	if err := o.begin(ctx); err != nil {
		return err
	}
	first := len(o.swap.Files)
	for _, f := range files {
		o.swap.Files = append(o.swap.Files, f.Name)
	}
	errs := make([]error, len(files))
	parallel.Each(len(files), func(i int) {
		if err := o.swap.write(first+i, files[i].Write); err != nil {
			errs[i] = o.failure(files[i].Name, err)
		}
	})
	// What the disk says comes first: it is behind whatever else fails.
	var input *job.InputError
	for _, err := range errs {
		if errors.As(err, &input) {
			return err
		}
	}
	return errors.Join(append(errs, ctx.Err())...)
}

// stageAt has one file of a run written at a path where nobody sees it.
func (o *output) stageAt(ctx context.Context, name string, make func(path string) error) error {
	if err := o.begin(ctx); err != nil {
		return err
	}
	i := len(o.swap.Files)
	o.swap.Files = append(o.swap.Files, name)
	if err := o.swap.writeAt(i, make); err != nil {
		return o.failure(name, err)
	}
	return ctx.Err()
}

// staged is where a file that was staged is until it gets its place.
func (o *output) staged(name string) string {
	return o.swap.onDisk(o.swap.at(slices.Index(o.swap.Files, name), newEnd))
}

// begin makes room for the files of a run, once.
func (o *output) begin(ctx context.Context) error {
	if o.swap != nil {
		return nil
	}
	if err := o.holdOrSay(ctx, patience); err != nil {
		return err
	}
	var err error
	if o.swap, err = newSwap(o.dir); err != nil {
		return unwritable(o.dir, err)
	}
	return nil
}

// failure is what went wrong with writing a file: with the disk, or with what was
// to be written.
func (o *output) failure(name string, err error) error {
	if isOfFiles(err) {
		return unwritable(o.path(name), err)
	}
	return err
}

// commit gives all files that were staged their places, or none.
func (o *output) commit() error {
	if o.swap == nil {
		return nil
	}
	err := o.swap.place(func(err error) error {
		var taken *job.InputError
		if errors.As(err, &taken) {
			return err
		}
		return unwritable(o.dir, err)
	})
	if err != nil {
		return err
	}
	unfinished.came(o.made)
	o.made = nil
	o.swap.drop()
	o.swap = nil
	return nil
}

// discard takes away whatever was not committed, and lets others write.
func (o *output) discard() {
	if o.swap != nil {
		o.swap.drop()
		o.swap = nil
	}
	for i := len(o.made) - 1; i >= 0; i-- {
		os.Remove(o.made[i]) // only if it is empty
	}
	unfinished.came(o.made)
	o.release()
}
