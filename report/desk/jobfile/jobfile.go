// Package jobfile says which files a job file of a desk is of: its boundaries, and the logs
// and implements of its machines, as names in the store.
package jobfile

import (
	"bytes"
	"errors"
	"io"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/book"
	"lapwing/coverage/job"
	"lapwing/coverage/job/edit"
	"lapwing/coverage/propose"
)

// A File is a job file of the desk, as far as it says which files it is of.
type File struct {
	Path     string     // its name in the store
	Text     *edit.File // nil where it cannot be read
	Err      error      // why not
	ByDesk   bool       // it is as the desk wrote it
	Field    string
	Ground   []string // its boundary files, as names in the store; none for the worked ground
	Machines []Machine
}

// A Machine is a machine of a job.
type Machine struct {
	Name   string
	File   string // its implement file, as a name in the store; "" where the implement stands in the job
	Tracks []string
}

// mostText is how many bytes a job file or an implement file may have.
const mostText = 1 << 20

// IsYAML reports whether a name ends as those of job files and implement files do.
func IsYAML(name string) bool {
	end := strings.ToLower(path.Ext(name))
	return end == ".yaml" || end == ".yml"
}

// Read reads what a job file says of its files. wrote is the hash of what the desk wrote
// there last; "" where it wrote nothing. What is wrong with the file is in Err.
func Read(in job.Inputs, name, wrote string) *File {
	j := &File{Path: name}
	text, err := Text(in, name)
	if err == nil {
		hash, _ := book.Hash(bytes.NewReader(text)) // from memory
		j.ByDesk = hash == wrote
		j.Text, err = edit.Parse(text)
	}
	if err != nil {
		j.Err = &job.InputError{File: name, Found: err.Error(), Want: "a job file"}
		return j
	}
	at := func(p string) string { return within(name, p) }
	j.Field = j.Text.Value("field")
	for _, b := range j.Text.List("boundary") {
		if b != "" && b != "worked" {
			j.Ground = append(j.Ground, at(b))
		}
	}
	for i := range j.Text.Len("machines") {
		key := "machines." + strconv.Itoa(i)
		m := Machine{Name: j.Text.Value(key + ".name")}
		if p := j.Text.Value(key + ".implement"); p != "" {
			m.File = at(p)
		}
		list := key + ".tracks"
		for k, one := range j.Text.List(list) {
			if one == "" {
				one = j.Text.Value(list + "." + strconv.Itoa(k) + ".log")
			}
			m.Tracks = append(m.Tracks, at(one))
		}
		j.Machines = append(j.Machines, m)
	}
	return j
}

// within is the name in the store of a path that a job has; one that leads out stays as
// it is, and nothing opens it.
func within(jobPath, p string) string {
	if filepath.IsAbs(p) || path.IsAbs(p) {
		return p
	}
	return path.Join(path.Dir(jobPath), filepath.ToSlash(p))
}

// Text reads a job file or an implement file.
func Text(in job.Inputs, name string) ([]byte, error) {
	f, err := in.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, mostText+1))
	if err == nil && len(text) > mostText {
		err = errors.New("over 1 MiB")
	}
	return text, err
}

// Tracks are all tracks of a job.
func (j *File) Tracks() (all []string) {
	for _, m := range j.Machines {
		all = append(all, m.Tracks...)
	}
	return all
}

// Name is what people call the field of a job.
func (j *File) Name() string {
	if j.Field != "" {
		return j.Field
	}
	return strings.TrimSuffix(path.Base(j.Path), path.Ext(j.Path))
}

// CameAlong reports whether a job was dropped with its files, and not written by the desk or
// beside it: the person who wrote it has said what there is to say.
func (j *File) CameAlong() bool { return strings.Contains(j.Path, "/") || !IsYAML(j.Path) }

// Covers reports whether a track of a job means a drive, or the set that it is in.
func Covers(track string, d *propose.Drive) bool {
	at, file := path.Clean(filepath.ToSlash(d.Path)), path.Clean(filepath.ToSlash(d.File()))
	return track == at || track == file || strings.EqualFold(track, file+"/taskdata.xml") ||
		strings.HasPrefix(at, track+"#") || strings.HasPrefix(track, file+"#") && slices.Contains(strings.FieldsFunc(track[len(file)+1:], isBetween), strings.TrimPrefix(at, file+"#"))
}

func isBetween(c rune) bool { return c == ',' || c == ' ' }

// Has reports whether a job has a drive.
func (j *File) Has(d *propose.Drive) bool {
	return slices.ContainsFunc(j.Machines, func(m Machine) bool { return m.Has(d) })
}

// Has reports whether a machine of a job has a drive.
func (m *Machine) Has(d *propose.Drive) bool {
	return slices.ContainsFunc(m.Tracks, func(t string) bool { return Covers(t, d) })
}

// Of is the index of the machine of a job that drove a drive, or another of the same
// machine; -1 for none.
func (j *File) Of(m *propose.Machine) int {
	if i := slices.IndexFunc(j.Machines, func(o Machine) bool { return slices.ContainsFunc(m.Drives(), o.Has) }); i >= 0 {
		return i
	}
	return slices.IndexFunc(j.Machines, func(o Machine) bool { return m.NameSure == propose.Told && strings.EqualFold(o.Name, m.Name) })
}
