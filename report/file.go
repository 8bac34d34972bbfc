package report

import "io"

// A File is one file of a document: its name, and what writes it.
type File struct {
	Name  string
	Write func(io.Writer) error
}

// A Table says which files a document of type D is written into, in the order in
// which they get their names. A new file is one new entry.
type Table[D any] []struct {
	Name  string
	Write func(D, io.Writer) error
}

// Names are the names of the files.
func (t Table[D]) Names() []string {
	names := make([]string, len(t))
	for i := range t {
		names[i] = t[i].Name
	}
	return names
}

// Of returns the files of one document.
func (t Table[D]) Of(d D) []File {
	files := make([]File, len(t))
	for i := range t {
		files[i] = File{t[i].Name, func(w io.Writer) error { return t[i].Write(d, w) }}
	}
	return files
}
