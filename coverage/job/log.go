package job

import (
	"errors"
	"io"
	"path/filepath"
	"strings"

	"lapwing/coverage"
	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
	"lapwing/geo/parallel"
)

// readFile returns what a file holds; its errors say why not in few words.
func (in Inputs) readFile(path string) ([]byte, error) {
	f, err := in.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	const most = 1 << 20 // a job file of a thousand machines is smaller
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	switch {
	case err != nil:
		return nil, err
	case len(data) > most:
		return nil, errors.New("over 1 MiB")
	}
	return data, nil
}

// path returns a path of the job file as seen from the working directory.
func (r *reading) path(p string) string {
	if p == "-" || filepath.IsAbs(p) || r.dir == "" {
		return p
	}
	return filepath.Join(r.dir, p)
}

// readLogs reads the logs at paths, several at a time, and returns them in
// the order of paths; a task set may hold several. Of several wrong logs the
// first is told.
func (r *reading) readLogs(paths []string) ([][]columns, error) {
	logs, errs := make([][]columns, len(paths)), make([]error, len(paths))
	parallel.Each(len(paths), func(i int) {
		if r.isSet(paths[i]) {
			logs[i], errs[i] = r.setLogs(paths[i])
		} else {
			logs[i], errs[i] = r.readLog(paths[i])
		}
	})
	for i, list := range logs {
		if errs[i] != nil {
			return nil, errs[i]
		}
		for _, c := range list {
			if c.by != nil {
				r.noteSet(paths[i])
				r.workers = append(r.workers, c.by)
			}
			r.noteLog(c.file, c.log)
		}
	}
	return logs, nil
}

// readLog reads one log; "-" is standard input.
func (r *reading) readLog(path string) ([]columns, error) {
	f, err := r.Open(path)
	if err != nil {
		return nil, &InputError{File: path, Found: err.Error(), Want: "a log of fixes"}
	}
	defer f.Close()
	log, err := r.Formats.Log(format.Input{Name: shown(path), From: f, Beside: r.Beside(path, format.MostOfLog)},
		gnsslog.Options{Zone: r.job.Zone, Keep: r.keeps})
	if err != nil {
		return nil, asInput(err)
	}
	return []columns{columnsOf(shown(path), log)}, nil
}

// noteLog passes on what the reader of a log doubted.
func (r *reading) noteLog(file string, log *gnsslog.Log) {
	for _, n := range log.Notes {
		r.warn(coverage.Warning{File: file, Line: n.Line, Count: n.Count, Text: n.Text})
	}
	if log.Zoneless > 0 && !r.zoneGiven {
		r.warn(coverage.Warning{File: file, Count: log.Zoneless, Text: "times without a zone are taken as UTC; time_zone in the job file says otherwise"})
	}
}

// shown is how a path stands in messages.
func shown(path string) string {
	if path == "-" {
		return "standard input"
	}
	return path
}

// asInput turns a reader's finding that a file is wrong into an [*InputError],
// and leaves other errors as they are.
func asInput(err error) error {
	var wrong *geo.SyntaxError
	if errors.As(err, &wrong) {
		return &InputError{File: wrong.File, Line: wrong.Line, Where: wrong.Where, Found: wrong.Found, Want: wrong.Want}
	}
	return err
}

// readBoundary reads a boundary file, or a boundary of a task set.
func (r *reading) readBoundary(path string) (*boundary.File, error) {
	if r.isSet(path) {
		return r.setBoundaries(r.referenceOf(path))
	}
	f, err := r.Open(path)
	if err != nil {
		return nil, &InputError{File: path, Found: err.Error(), Want: "a boundary file"}
	}
	defer f.Close()
	file, err := r.Formats.Boundary(format.Input{Name: path, From: f, Beside: r.Beside(path, format.MostOfBoundary)})
	if err != nil {
		return nil, asInput(err)
	}
	r.noteBoundary(path, file)
	return file, nil
}

// noteBoundary passes on what the reader of a boundary mended.
func (r *reading) noteBoundary(name string, file *boundary.File) {
	for _, n := range file.Notes {
		r.warn(coverage.Warning{File: name, Line: n.Line, Count: n.Count, Text: n.Text})
	}
}

// baseName is the name of a file without its folder and endings.
func baseName(path string) string {
	if path == "-" {
		return "standard input"
	}
	base := strings.TrimSuffix(filepath.Base(path), ".gz")
	if name := strings.TrimSuffix(base, filepath.Ext(base)); name != "" {
		return name
	}
	return base
}

// A span is the time from the first fix of a log to the last.
type span struct{ from, to geo.Instant }

func spanOf(fixes []geo.Fix) span {
	s := span{fixes[0].Time, fixes[0].Time}
	for _, f := range fixes {
		s.from, s.to = min(s.from, f.Time), max(s.to, f.Time)
	}
	return s
}

func (s span) overlaps(t span) bool { return s.from < t.to && t.from < s.to }
