// Package output puts the files of a run in place whole: all of them, or none. It keeps
// other runs out of the directory meanwhile, finishes or undoes what a run that was killed
// had begun there, and takes no place of a file that is another program's. [Dir] is a
// directory that a run writes into, once; [DeskFolder] is one that a desk reads and writes
// while it is open.
package output

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/job"
	"lapwing/geo/parallel"
	"lapwing/report"
)

// A Dir is the directory a run writes into.
//
// All files of a run get their places as one set, see [swap]: until then, and if
// anything goes wrong, the directory holds what it held before. What a run that
// was killed left in it is put right by the next. The directory itself stays, with
// everything in it that is the user's.
//
//	Open         asks whether this run may write here
//	HoldOrSay    keeps other runs from writing here from now on
//	Stage        writes files where no reader finds them
//	Write        does that to the last of them, and puts all in their places
//	Discard      takes away what was not put in place, and lets others write again
type Dir struct {
	dir  string
	made []string  // directories made for it, outermost first
	held io.Closer // the lock on dir; nil while others may write into it
	swap *swap     // nil while there is nothing to put in place
}

// mark is in every file lapwing writes, near its beginning: a file of one of
// its names without it is another program's.
const mark = "lapwing"

// Patience is how long a run waits for another to have written its files, which
// takes a fraction of a second. A season holds its directory for longer.
const Patience = 10 * time.Second

// Wrong says what is wrong with where a run is to write: an error of its input, of the
// flag --out.
func Wrong(path, found, want string) error {
	return &job.InputError{File: path, Where: "--out", Found: found, Want: want}
}

// unwritable says why a file or directory cannot be written.
func unwritable(path string, err error) error {
	return unwritableAt("--out", path, err)
}

// unwritableAt is [unwritable] of what is named elsewhere than by --out.
func unwritableAt(where, path string, err error) error {
	return &job.InputError{
		File: path, Where: where,
		Found: "found that it cannot be written (" + disk.Reason(err) + ")", Want: "a directory with room that may be written into",
	}
}

// Open makes dir if it is missing. It refuses to write over files of the
// given names that lapwing did not write; names may lead into directories below,
// by slashes. Its errors are of the input, see [Wrong].
func Open(dir string, names ...string) (*Dir, error) {
	o := &Dir{dir: dir}
	if dir == "" {
		return nil, Wrong("", `found ""`, "a directory")
	}
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return nil, Wrong(dir, "found a file", "a directory")
	}
	for _, name := range names {
		if err := ours(o.Path(name)); err != nil {
			return nil, err
		}
	}
	o.made = missing(dir)
	err := unfinished.change(func() error {
		unfinished.expect(o.made)
		return os.MkdirAll(dir, 0o755)
	})
	if err != nil {
		o.Discard()
		return nil, Wrong(dir, "found that it cannot be made ("+disk.Reason(err)+")", "a directory that can be made")
	}
	if err := o.try(); err != nil {
		o.Discard()
		return nil, err
	}
	return o, nil
}

// try puts right what was left in the directory, and tells early that nothing
// can be written there. Where another run is writing both are its business.
func (o *Dir) try() error {
	err := o.hold(context.Background(), 0)
	if errors.Is(err, ErrHeld) {
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
		return Wrong(path, "found something that is not a file", "another directory")
	}
	head := make([]byte, 4096)
	f, err := os.Open(path)
	if err != nil {
		return Wrong(path, disk.Reason(err), "another directory")
	}
	n, _ := io.ReadFull(f, head)
	f.Close()
	if !bytes.Contains(head[:n], []byte(mark)) {
		return Wrong(path, "found a file that lapwing did not write", "another directory")
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

// Path is where a file of the run gets its place.
func (o *Dir) Path(name string) string { return filepath.Join(o.dir, filepath.FromSlash(name)) }

// hold keeps other runs from writing into the directory until Discard, and puts
// right what those that were killed left in it. If another run is writing it
// waits so long for that to end; then the error is [ErrHeld].
func (o *Dir) hold(ctx context.Context, wait time.Duration) error {
	if o.held != nil {
		return nil
	}
	for began := time.Now(); ; {
		held, err := lockDirectory(o.dir)
		if err == nil {
			o.held = held
			return Tidy(o.dir)
		}
		if !errors.Is(err, ErrHeld) {
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

// HoldOrSay keeps other runs from writing into the directory until Discard, and waits
// so long for one that is writing. If that is in vain the error says so, see [Wrong].
func (o *Dir) HoldOrSay(ctx context.Context, wait time.Duration) error {
	err := o.hold(ctx, wait)
	if errors.Is(err, ErrHeld) {
		return Wrong(o.dir, "found another run of lapwing that is writing into it", "another directory, or this one when that run has ended")
	}
	return err
}

func (o *Dir) release() {
	if o.held != nil {
		o.held.Close()
		o.held = nil
	}
}

// Write writes all files of a run, or none, with those that were staged before. An
// error of the disk is one of the input, see [Wrong]; that of a file is its own.
func Write(ctx context.Context, out *Dir, files []report.File) error {
	if err := out.Stage(ctx, files); err != nil {
		return err
	}
	return out.commit()
}

// WriteNew writes files that were not there, all or none: one that is there is an error
// of the input, see [Wrong].
func WriteNew(ctx context.Context, out *Dir, files ...report.File) error {
	if err := out.begin(ctx); err != nil {
		return err
	}
	out.swap.Takes = takesNone
	return Write(ctx, out, files)
}

// Stage writes files of a run, several at a time, where no reader finds them yet. What was
// staged before stays.
func (o *Dir) Stage(ctx context.Context, files []report.File) error {
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

// StageAt has make write one file of a run, at a path where no reader finds it yet.
func (o *Dir) StageAt(ctx context.Context, name string, make func(path string) error) error {
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

// Staged is the path of a file that was staged, until it gets its place.
func (o *Dir) Staged(name string) string {
	return o.swap.onDisk(o.swap.at(slices.Index(o.swap.Files, name), newEnd))
}

// begin makes room for the files of a run, once.
func (o *Dir) begin(ctx context.Context) error {
	if o.swap != nil {
		return nil
	}
	if err := o.HoldOrSay(ctx, Patience); err != nil {
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
func (o *Dir) failure(name string, err error) error {
	if disk.IsOfFiles(err) {
		return unwritable(o.Path(name), err)
	}
	return err
}

// commit gives all files that were staged their places, or none.
func (o *Dir) commit() error {
	if o.swap == nil {
		return nil
	}
	if i, err := o.swap.syncing.end(); err != nil {
		return o.failure(o.swap.Files[i], err)
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

// Discard takes away whatever was not committed, and lets others write.
func (o *Dir) Discard() {
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
