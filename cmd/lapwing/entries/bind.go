package entries

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path/filepath"

	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/coverage/book"
	"lapwing/geo/parallel"
	fieldreport "lapwing/report/field"
	"lapwing/report/season"
)

// Bind reads the entries of jobs back, but for those that failed, and binds them into a
// book, in order and with the skips that come back.
func (w *Writer) Bind(jobs []jobfiles.Job, failed map[string]error) (*season.Book, error) {
	type reading struct {
		record  *book.Record
		entries []*season.Entry
		err     error
	}
	read := func(i int) (r reading) {
		if failed[jobs[i].Path] == nil {
			r.record, r.entries, r.err = readJob(w.Out, jobs[i])
		}
		return r
	}
	bound := &season.Book{Units: w.Units}
	source := sha256.New()
	for _, r := range parallel.Ahead(len(jobs), 1, read) {
		if r.err != nil {
			return nil, r.err
		}
		bound.Entries = append(bound.Entries, r.entries...)
		if r.record != nil {
			r.record.WriteSource(source)
		}
	}
	if w.Program != "" {
		bound.Source = hex.EncodeToString(source.Sum(nil)[:8])
	}
	if err := bound.FindReturns(w.Shapes); err != nil {
		return nil, err
	}
	bound.Order()
	return bound, nil
}

// Shapes opens the coverage.geojson of an entry; it is a [season.Shapes].
func (w *Writer) Shapes(s *season.Entry) (io.ReadCloser, error) {
	return os.Open(filepath.Join(w.Out, filepath.FromSlash(s.Dir), fieldreport.GeoJSONFile))
}
