package entries

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"hash"
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
	source, former := sha256.New(), sha256.New()
	for i, r := range parallel.Ahead(len(jobs), 1, read) {
		if r.err != nil {
			return nil, r.err
		}
		before := w.before[jobs[i].Path]
		former.Write(before)
		if r.record != nil {
			made := sourceOf(r.record)
			source.Write(made)
			for _, entry := range r.entries {
				entry.Kept = bytes.Equal(made, before)
			}
		}
		bound.Entries = append(bound.Entries, r.entries...)
	}
	if w.Program != "" {
		bound.Source, bound.Former = hashed(source), hashed(former)
	}
	if err := bound.FindReturns(w.Shapes); err != nil {
		return nil, err
	}
	bound.Order()
	return bound, nil
}

// sourceOf is the text that says of what the entries of a record were made; nil for no
// record.
func sourceOf(r *book.Record) []byte {
	if r == nil {
		return nil
	}
	var b bytes.Buffer
	r.WriteSource(&b)
	return b.Bytes()
}

func hashed(h hash.Hash) string { return hex.EncodeToString(h.Sum(nil)[:8]) }

// Shapes opens the coverage.geojson of an entry; it is a [season.Shapes].
func (w *Writer) Shapes(s *season.Entry) (io.ReadCloser, error) {
	return os.Open(filepath.Join(w.Out, filepath.FromSlash(s.Dir), fieldreport.GeoJSONFile))
}
