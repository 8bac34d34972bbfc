package desk

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"lapwing/coverage/job"
	"lapwing/geo/source"
	"lapwing/report"
	"lapwing/report/desk/history"
	"lapwing/report/desk/jobfile"
	"lapwing/report/desk/pages"
	"lapwing/report/desk/store"
	"lapwing/report/words"
)

// Export writes the desk as a zip archive: all of it but pages and history, which come
// again of themselves. Any desk takes it back, and the commands read what is in it. A
// change must wait until it is written.
func (d *Desk) Export(ctx context.Context, w io.Writer) error {
	select {
	case d.turn <- struct{}{}:
		defer func() { <-d.turn }()
	case <-ctx.Done():
		return ctx.Err()
	}
	return d.begin(ctx, nil).pack(w)
}

func (a *ask) pack(w io.Writer) error {
	z := zip.NewWriter(w)
	for _, name := range a.below(".") {
		if first, _, _ := cut(name); first == pages.Dir || first == history.Folder || strings.HasPrefix(first, ".") {
			continue
		}
		f, err := a.in.Open(name)
		if err != nil {
			if stopped := a.ctx.Err(); stopped != nil {
				return stopped
			}
			continue // a link that leads out, a device: no file of the desk
		}
		method := zip.Deflate
		if a.in.IsZip(name) {
			method = zip.Store
		}
		to, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: a.modified(name)})
		if err == nil {
			_, err = io.Copy(to, f)
		}
		f.Close()
		if err != nil {
			return err
		}
	}
	return z.Close()
}

// export gives the archive as a reply.
func (a *ask) export() Reply {
	var b bytes.Buffer
	if err := a.pack(&b); err != nil {
		return fail(err)
	}
	return Reply{Type: types[".zip"], Body: b.Bytes()}
}

// unpack takes the archives apart that came with jobs in them, as a desk exports them:
// into the desk itself where nothing is in the way, else into a folder of their own, in
// which all paths still hold.
func (a *ask) unpack() error {
	for _, name := range a.below(filesDir) {
		if _, seen := a.book.Seen[name]; seen || !a.in.IsZip(name) {
			continue
		}
		if err := a.unpackOne(name); err != nil {
			return err
		}
	}
	return nil
}

func (a *ask) unpackOne(name string) error {
	z, err := a.in.OpenZip(name)
	if err != nil {
		return a.ctx.Err() // the survey says what is wrong with it
	}
	defer z.Close()
	inside := job.Inputs{Formats: a.in.Formats, Files: source.Files{FS: z.Reader}}
	var names []string
	have := len(a.below(filesDir))
	jobs := false
	err = fs.WalkDir(z.Reader, ".", func(at string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir(), !e.Type().IsRegular(), strings.HasPrefix(e.Name(), "."), strings.HasPrefix(at, "__MACOSX/"):
			return nil
		}
		if f, err := z.Reader.Open(at); err != nil {
			return nil // a name that no archive may have
		} else if err := f.Close(); err != nil {
			return err
		}
		if names = append(names, at); len(names)+have > mostFiles {
			return errors.New("too many files")
		}
		jobs = jobs || jobfile.IsYAML(at) && job.LooksLikeJob(inside, at)
		return nil
	})
	if err != nil || !jobs {
		return a.ctx.Err()
	}
	to := func(at string) string { return at }
	if !a.fits(z.Reader, names, name) {
		folder := a.freeName(strings.TrimSuffix(name, path.Ext(name)), func(string) bool { return false })
		to = func(at string) string {
			var parts []string
			for part := range strings.SplitSeq(at, "/") {
				parts = append(parts, store.PlainPart(part))
			}
			return path.Join(folder, path.Join(parts...))
		}
	}
	c := history.Change{What: "the " + words.Count(len(names), "file") + " of " + path.Base(name), Remove: []string{name}}
	for _, at := range names {
		c.Stream = append(c.Stream, report.File{Name: to(at), Write: func(w io.Writer) error {
			f, err := z.Reader.Open(at)
			if err != nil {
				return errors.Join(errArchive, err)
			}
			defer f.Close()
			return a.files().Copy(w, inArchive{f})
		}})
	}
	if notes, ok := notesIn(z.Reader); ok && to("a") == "a" {
		a.book = notes
	}
	if err := a.commit(c); !errors.Is(err, errArchive) {
		return err
	}
	a.book, _ = notesIn(a.store) // the archive is broken: it stays as it is
	return a.ctx.Err()
}

// errArchive says that an archive cannot be read, and not that the store failed.
var errArchive = errors.New("a damaged archive")

// inArchive is a file of an archive; what it fails with is the archive's.
type inArchive struct{ io.Reader }

func (r inArchive) Read(b []byte) (int, error) {
	n, err := r.Reader.Read(b)
	if err != nil && !errors.Is(err, io.EOF) {
		err = errors.Join(errArchive, err)
	}
	return n, err
}

// fits reports whether all files of an archive have places of their own in the desk, and
// come from one.
func (a *ask) fits(z fs.FS, names []string, archive string) bool {
	if _, ok := notesIn(z); !ok {
		return false
	}
	for _, name := range names {
		first, _, deeper := cut(name)
		own := slices.Contains([]string{filesDir, machinesDir, boundariesDir, unpackedDir}, first) || !deeper && (jobfile.IsYAML(name) || name == notesFile)
		if !own || !fs.ValidPath(name) || name == archive {
			return false
		}
		for part := range strings.SplitSeq(name, "/") {
			if store.PlainPart(part) != part {
				return false
			}
		}
		if _, err := fs.Stat(a.store, name); err == nil {
			return false
		}
	}
	return true
}
