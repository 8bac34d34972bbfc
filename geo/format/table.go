package format

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/feature"
	"lapwing/geo/gnsslog"
	"lapwing/geo/gnsslog/letters"
	"lapwing/geo/source"
	"lapwing/geo/taskdata"
)

// A Table is the formats of a program. A file is of the first row that tells it.
type Table []Format

// pick returns the row that a file is for, of those that can do something; nil
// for none. text is data as text.
func (t Table) pick(can func(*Format) bool, data, text []byte) *Format {
	start := bytes.TrimLeft(text, " \t\r\n")
	binary := t.binary(data)
	var rest *Format
	for i := range t {
		f := &t[i]
		switch {
		case !can(f):
		case f.Magic != "":
			if bytes.HasPrefix(data, []byte(f.Magic)) {
				return f
			}
		case f.Tells != nil:
			if !binary && f.Tells(start) {
				return f
			}
		case f.Packed == "":
			rest = f
		}
	}
	const looked = 4096 // bytes in which what is no text has a zero byte
	if bytes.IndexByte(start[:min(len(start), looked)], 0) >= 0 {
		return nil
	}
	return rest
}

// binary reports whether data begins as a format does that is no text.
func (t Table) binary(data []byte) bool {
	return source.IsZip(data) || slices.ContainsFunc(t, func(f Format) bool { return f.Magic != "" && bytes.HasPrefix(data, []byte(f.Magic)) })
}

// Log reads a log of fixes. What is wrong with it is a [*geo.SyntaxError]; other
// errors are those of in.
func (t Table) Log(in Input, opt gnsslog.Options) (*gnsslog.Log, error) {
	in.Most = cmp.Or(in.Most, MostOfLog)
	o, err := in.open(wantLog)
	if err != nil {
		return nil, err
	}
	return t.log(o, opt)
}

// What an input is read for, as it stands in errors.
const (
	wantLog      = "a log of fixes"
	wantBoundary = "a field boundary"
)

// log reads the log that an opened input is.
func (t Table) log(o *opened, opt gnsslog.Options) (*gnsslog.Log, error) {
	want := "a log as " + geo.Listed(t.nouns((*Format).readsLogs), "or")
	refuse := func(found string) error {
		return &geo.SyntaxError{File: o.Name, Found: found, Want: want, Reason: geo.ErrFormat}
	}
	start := o.head
	if !t.binary(start) {
		start = letters.Of(bytes.Clone(start))
	}
	f := t.pick((*Format).readsLogs, o.head, start)
	switch {
	case source.IsZip(o.head):
	case isBlank(start) && o.ended():
		return nil, refuse("the file is empty")
	case isBlank(start):
		return nil, refuse("a file that begins with blanks alone")
	case f == nil:
		return nil, refuse("binary data")
	}
	var log *gnsslog.Log
	var err error
	if f != nil && f.Stream != nil && !source.IsZip(o.head) {
		log, err = f.Stream(o.Name, o.text(), opt)
	} else {
		log, err = t.wholeLog(f, o.as(o.want, min(o.Most, MostOfWholeLog)), opt)
	}
	var wrong *geo.SyntaxError
	if errors.As(err, &wrong) && wrong.Want == "" && errors.Is(err, geo.ErrFormat) {
		wrong.Want = want
	}
	return log, err
}

// wholeLog reads a log that has to be read whole.
func (t Table) wholeLog(f *Format, o *opened, opt gnsslog.Options) (*gnsslog.Log, error) {
	data, err := o.whole()
	if err != nil {
		return nil, err
	}
	if source.IsZip(data) {
		return t.zippedLog(o.Input, data, opt)
	}
	if !t.binary(data) {
		data = letters.Of(data)
	}
	return f.log(File{Name: o.Name, Data: data, Beside: o.Beside}, opt)
}

// isBlank reports whether a text has nothing in it.
func isBlank(text []byte) bool { return len(bytes.TrimLeft(text, " \t\r\n")) == 0 }

// log reads the log that a file of the format is.
func (f *Format) log(file File, opt gnsslog.Options) (*gnsslog.Log, error) {
	if f.Points == nil {
		return f.Fixes(file, opt)
	}
	points, err := f.Points(file)
	if errors.Is(err, geo.ErrNothing) && f.Shapes != nil {
		log, inShapes := f.cover(file, opt)
		if inShapes == nil || !errors.Is(inShapes, geo.ErrNothing) {
			return log, inShapes
		}
	}
	if err != nil {
		return nil, faultIn(file.Name, err)
	}
	defer points.Close()
	return gnsslog.FromPoints(file.Name, f.Name, points, opt)
}

// cover reads the log that polygons of worked ground are.
func (f *Format) cover(file File, opt gnsslog.Options) (*gnsslog.Log, error) {
	shapes, err := f.Shapes(file)
	if err != nil {
		return nil, faultIn(file.Name, err)
	}
	defer shapes.Close()
	return gnsslog.FromShapes(file.Name, f.Name, shapes, opt)
}

// faultIn puts what is wrong with a part of a file into an error of the file.
func faultIn(name string, err error) error {
	var fault *geo.Fault
	if errors.As(err, &fault) {
		return fault.In(name)
	}
	return err
}

// A packed file is the main file of one format in an archive.
type packed struct {
	*Format
	name string
}

// packed lists the main files in an archive of the formats that can do
// something, in the order of the table.
func (t Table) packed(a *archive, can func(*Format) bool) (found []packed) {
	for i := range t {
		if f := &t[i]; f.Packed != "" && can(f) {
			for _, name := range a.ending(f.Packed) {
				found = append(found, packed{f, name})
			}
		}
	}
	return found
}

// deepestArchive is how many archives may lie in each other.
const deepestArchive = 4

// unpack looks into an archive, and into the one archive in it where it holds no
// main file of its own.
func (t Table) unpack(in Input, data []byte, want, wanted string, can func(*Format) bool) (*archive, []packed, error) {
	a, err := openArchive(in, data, want, wanted)
	for range deepestArchive {
		if err != nil {
			return nil, nil, err
		}
		found, inner := t.packed(a, can), a.ending(".zip")
		if len(found) > 0 || len(inner) != 1 {
			return a, found, nil
		}
		outer := a
		if data, err = outer.extract(inner[0]); err != nil {
			return nil, nil, err
		}
		deeper := in
		deeper.Name = outer.name + "/" + shorten(outer.files[inner[0]].Name)
		if a, err = openArchive(deeper, data, want, wanted); err == nil {
			a.left = min(a.left, outer.left) // all of them together may be a bomb
		}
	}
	return nil, nil, &geo.SyntaxError{File: in.Name, Found: fmt.Sprintf("archives more than %d deep in each other", deepestArchive), Want: wanted, Reason: geo.ErrFormat}
}

// packable reports whether a format may come in archives.
func packable(can func(*Format) bool) func(*Format) bool {
	return func(f *Format) bool { return f.Packed != "" && can(f) }
}

// zippedLog reads the one log in an archive.
func (t Table) zippedLog(in Input, data []byte, opt gnsslog.Options) (*gnsslog.Log, error) {
	can := (*Format).readsLogs
	want := "a log as " + geo.Listed(t.nouns(can), "or")
	a, found, err := t.unpack(in, data, wantLog, want, can)
	if err != nil {
		return nil, err
	}
	refuse := func(found string) error {
		return &geo.SyntaxError{File: in.Name, Found: found, Want: want, Reason: geo.ErrNothing}
	}
	switch len(found) {
	case 0:
		return nil, refuse("a zip archive without " + geo.Listed(t.nouns(packable(can)), "or"))
	case 1:
	default:
		return nil, refuse("an archive with several logs: " + shorten(a.files[found[0].name].Name) + " and " + shorten(a.files[found[1].name].Name))
	}
	main := found[0]
	inner, err := a.extract(main.name)
	if err != nil {
		return nil, err
	}
	if !bytes.HasPrefix(inner, []byte(main.Magic)) {
		return nil, refuse("a zip archive whose " + main.Packed + " file is no " + strings.TrimPrefix(main.Noun, "a "))
	}
	return main.log(File{Name: in.Name, Inner: a.files[main.name].Name, Data: inner, Beside: a.beside(main.name)}, opt)
}

// Boundary reads a file of boundaries. What is wrong with it is a
// [*geo.SyntaxError]; other errors are those of in.
func (t Table) Boundary(in Input) (*boundary.File, error) {
	in.Most = cmp.Or(in.Most, MostOfBoundary)
	o, err := in.open(wantBoundary)
	if err != nil {
		return nil, err
	}
	return t.boundary(o)
}

// boundary reads the boundaries that an opened input holds.
func (t Table) boundary(o *opened) (*boundary.File, error) {
	can := (*Format).readsRings
	refuse := func(found, want string) error {
		return &geo.SyntaxError{File: o.Name, Found: found, Want: want, Reason: geo.ErrFormat}
	}
	start := bytes.TrimPrefix(o.head, []byte("\xef\xbb\xbf"))
	f := t.pick(can, o.head, start)
	switch {
	case source.IsZip(o.head):
	case isBlank(start) && o.ended():
		return nil, refuse("an empty file", wantBoundary)
	case isBlank(start):
		return nil, refuse("a file that begins with blanks alone", wantBoundary)
	case bytes.HasPrefix(start, []byte("\xff\xfe")), bytes.HasPrefix(start, []byte("\xfe\xff")):
		return nil, refuse("UTF-16 text", "UTF-8")
	case f == nil:
		return nil, refuse("a kind of file not known", geo.Listed(t.nouns(can), "or"))
	}
	data, err := o.whole()
	if err != nil {
		return nil, err
	}
	if source.IsZip(data) {
		return t.zippedBoundary(o.Input, data)
	}
	text := bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	file := File{Name: o.Name, Data: text, Beside: o.Beside}
	if f.Shapes == nil {
		return f.Rings(file)
	}
	return boundary.FromShapes(o.Name, f.Name, f.part(file))
}

// part is a file of features as a part of a file of boundaries.
func (f *Format) part(file File) boundary.Part {
	return boundary.Part{Inner: file.Inner, Open: func() (*feature.Shapes, error) { return f.Shapes(file) }}
}

// zippedBoundary reads what an archive holds of the first format of which it
// holds anything: one file, or, where the files are of features, all.
func (t Table) zippedBoundary(in Input, data []byte) (*boundary.File, error) {
	can := (*Format).readsRings
	var endings, nouns []string
	for i := range t {
		f := &t[i]
		if f.Packed == "" || !can(f) {
			continue
		}
		endings = append(endings, f.Packed)
		if f.Magic != "" { // it comes by itself too
			nouns = append(nouns, strings.Replace(f.Noun, " ", " zipped ", 1))
		} else {
			nouns = append(nouns, f.Noun)
		}
	}
	want := geo.Listed(nouns, "or")
	a, found, err := t.unpack(in, data, wantBoundary, want, can)
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, &geo.SyntaxError{File: in.Name, Found: "an archive without a " + geo.Listed(endings, "or") + " file", Want: want, Reason: geo.ErrNothing}
	}
	f := found[0].Format
	found = slices.DeleteFunc(found, func(p packed) bool { return p.Format != f })
	file := func(p packed) (File, error) {
		data, err := a.extract(p.name)
		return File{Name: in.Name, Inner: a.files[p.name].Name, Others: len(found) - 1, Data: data, Beside: a.beside(p.name)}, err
	}
	if f.Shapes == nil {
		one, err := file(found[0])
		if err != nil {
			return nil, err
		}
		return f.Rings(one)
	}
	var parts []boundary.Part
	for _, p := range found {
		parts = append(parts, boundary.Part{Inner: a.files[p.name].Name, Open: func() (*feature.Shapes, error) {
			one, err := file(p)
			if err != nil {
				return nil, err
			}
			return f.Shapes(one)
		}})
	}
	return boundary.FromShapes(in.Name, f.Name, parts...)
}

// HoldsSet reports whether a path leads to a task set. Whether it can be read,
// only [Table.Set] says.
func (t Table) HoldsSet(files source.Files, path string) bool {
	if path == source.Standard {
		return false
	}
	fsys, name, err := files.In(path)
	return err == nil && t.set(fsys, name) != nil
}

// set is the row of the set at a name; nil where there is none.
func (t Table) set(fsys fs.FS, name string) *Format {
	for i := range t {
		if f := &t[i]; f.Holds != nil && f.Holds(fsys, name) {
			return f
		}
	}
	return nil
}

// Set reads the task set at a path, where [Table.HoldsSet] says that there is
// one. What is wrong with it is a [*geo.SyntaxError].
func (t Table) Set(files source.Files, path string) (*taskdata.Set, error) {
	fsys, name, err := files.In(path)
	if err != nil {
		return nil, err
	}
	f := t.set(fsys, name)
	if f == nil {
		return nil, &geo.SyntaxError{File: path, Found: "no task set", Want: "one", Reason: geo.ErrFormat}
	}
	return f.Set(fsys, name, path)
}
