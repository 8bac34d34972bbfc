package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"lapwing/coverage/job"
	"lapwing/geo/parallel"
	"lapwing/report"
)

// An output is the directory a run writes into.
//
// Files are written under temporary names and renamed one by one when all are
// complete, in their order. Until then, and if anything goes
// wrong, the directory holds what it held before.
type output struct {
	dir   string
	made  []string // directories made for it, outermost first
	files []pending
}

// A pending file is complete under its temporary name, or being written.
type pending struct{ name, temporary string }

// mark is in every file lapwing writes, near its beginning: a file of one of
// its names without it is another program's.
const mark = "lapwing"

// openOutput makes dir if it is missing. It refuses to write over files of the
// given names that lapwing did not write.
func openOutput(dir string, names ...string) (*output, error) {
	o := &output{dir: dir}
	wrong := func(path, found, want string) error {
		return &job.InputError{File: path, Where: "--out", Found: found, Want: want}
	}
	if dir == "" {
		return nil, wrong("", `found ""`, "a directory")
	}
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return nil, wrong(dir, "found a file", "a directory")
	}
	for _, name := range names {
		path := filepath.Join(dir, name)
		info, err := os.Lstat(path)
		if err != nil {
			continue
		}
		if !info.Mode().IsRegular() {
			return nil, wrong(path, "found something that is not a file", "another directory")
		}
		head := make([]byte, 4096)
		f, err := os.Open(path)
		if err != nil {
			return nil, wrong(path, err.Error(), "another directory")
		}
		n, _ := io.ReadFull(f, head)
		f.Close()
		if !bytes.Contains(head[:n], []byte(mark)) {
			return nil, wrong(path, "found a file that lapwing did not write", "another directory")
		}
	}
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		if _, err := os.Stat(d); err == nil || d == filepath.Dir(d) {
			break
		}
		o.made = append([]string{d}, o.made...)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, wrong(dir, err.Error(), "a directory that can be made")
	}
	return o, nil
}

// write writes all files of a run, or none. They get their names in the order
// given.
func write(ctx context.Context, out *output, files []report.File) error {
	if err := out.stage(ctx, files); err != nil {
		return err
	}
	return out.commit()
}

// stage writes all files of a run under temporary names, at the same time.
func (o *output) stage(ctx context.Context, files []report.File) error {
	o.files = make([]pending, len(files))
	errs := make([]error, len(files))
	parallel.Each(len(files), func(i int) { errs[i] = o.add(&o.files[i], files[i]) })
	for _, err := range append(errs, ctx.Err()) {
		if err != nil {
			return err
		}
	}
	return nil
}

// path is where a file of the run gets its name.
func (o *output) path(name string) string { return filepath.Join(o.dir, name) }

// add writes a file under a temporary name, of which it leaves word in p.
func (o *output) add(p *pending, file report.File) error {
	p.name = file.Name
	f, err := os.CreateTemp(o.dir, ".lapwing-*-"+file.Name)
	if err != nil {
		return err
	}
	p.temporary = f.Name()
	w := bufio.NewWriterSize(f, 1<<16)
	err = file.Write(w)
	if err == nil {
		err = w.Flush()
	}
	if err == nil {
		err = f.Chmod(0o644)
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", filepath.Join(o.dir, file.Name), err)
	}
	return nil
}

// commit gives all files their names. If one cannot have it, those before it
// get their old content back.
func (o *output) commit() error {
	type swap struct{ path, old string }
	var swaps []swap
	for _, f := range o.files {
		s := swap{path: filepath.Join(o.dir, f.name)}
		if _, err := os.Lstat(s.path); err == nil {
			s.old = f.temporary + ".old"
			if err := os.Link(s.path, s.old); err != nil {
				s.old = "" // no links on this file system: it can only be replaced
			}
		}
		if err := os.Rename(f.temporary, s.path); err != nil {
			if s.old != "" {
				os.Remove(s.old)
			}
			for _, s := range swaps {
				if s.old != "" {
					os.Rename(s.old, s.path)
				} else {
					os.Remove(s.path)
				}
			}
			return fmt.Errorf("writing %s: %w", s.path, err)
		}
		swaps = append(swaps, s)
	}
	for _, s := range swaps {
		if s.old != "" {
			os.Remove(s.old)
		}
	}
	o.files, o.made = nil, nil
	return nil
}

// discard takes away whatever was not committed.
func (o *output) discard() {
	for _, f := range o.files {
		if f.temporary != "" {
			os.Remove(f.temporary)
		}
	}
	for i := len(o.made) - 1; i >= 0; i-- {
		os.Remove(o.made[i]) // only if it is empty
	}
}
