package format

import (
	"bytes"
	"errors"
	"slices"
	"strings"

	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source"
	"lapwing/geo/taskdata"
)

// Found is what a file turned out to hold: one of the three.
type Found struct {
	Set      *taskdata.Set
	Log      *gnsslog.Log
	Boundary *boundary.File
}

// Look reads the file at a path as what it holds. name stands for it in
// messages. Of a file that is none of what the table knows, the error is that
// of the reader which came nearest, a [*geo.SyntaxError]; other errors are those
// of files.
func (t Table) Look(files source.Files, path, name string, opt gnsslog.Options) (Found, error) {
	if t.HoldsSet(files, path) {
		set, err := t.Set(files, path)
		return Found{Set: set}, err
	}
	f, err := files.Open(path)
	if err != nil {
		return Found{}, err
	}
	defer f.Close()
	in := Input{Name: name, From: f, Beside: files.Beside(path, MostOfLog), Most: MostOfLog}
	o, err := in.open(wantLog)
	if err != nil {
		return Found{}, err
	}
	log, logErr := t.log(o, opt)
	if logErr == nil {
		return Found{Log: log}, nil
	}
	other := o.as(wantBoundary, MostOfBoundary)
	other.Beside = files.Beside(path, MostOfBoundary)
	file, boundaryErr := t.boundary(other)
	if boundaryErr == nil {
		return Found{Boundary: file}, nil
	}
	return Found{}, neither(o.head, logErr, boundaryErr)
}

// neither chooses the error that helps, of a file that begins as data does: that of the boundary reader for a
// file which only it could have read, else that of the log reader. What is no
// kind of file known gets one that names all.
func neither(data []byte, logErr, boundaryErr error) error {
	var wrong *geo.SyntaxError
	switch {
	case !errors.As(logErr, &wrong):
		return logErr
	case errors.Is(logErr, geo.ErrNothing), looksBoundary(data):
		return boundaryErr
	case errors.Is(logErr, geo.ErrFormat):
		other := *wrong
		other.Want = "a log, a boundary or a task set"
		return &other
	}
	return logErr
}

// looksBoundary reports whether data begins as text does that bounds ground,
// even if something is wrong with it.
func looksBoundary(data []byte) bool {
	head := strings.ToLower(string(bytes.TrimLeft(data[:min(len(data), 1000)], "\xef\xbb\xbf \t\r\n")))
	begins := func(starts ...string) bool {
		return slices.ContainsFunc(starts, func(s string) bool { return strings.HasPrefix(head, s) })
	}
	shapes := strings.Contains(head, "polygon") || strings.Contains(head, "linearring")
	return begins("{", "[", "srid=", "geometrycollection") && shapes || begins("polygon", "multipolygon") ||
		begins("<") && strings.Contains(head, "<kml")
}
