package main

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"

	"lapwing/coverage/season"
	"lapwing/report"
)

// comeBack compares every sheet with the last earlier year's of its field.
func comeBack(dir string, sheets []*report.Sheet) ([]report.Return, error) {
	var out []report.Return
	maps := shapeReader{dir: dir}
	for _, later := range sheets {
		var before []*report.Sheet
		for _, s := range sheets {
			if s.Year() != 0 && s.Year() < later.Year() && s.Near(later) {
				before = append(before, s)
			}
		}
		slices.SortStableFunc(before, func(a, b *report.Sheet) int { return cmp.Compare(b.Year(), a.Year()) })
		for _, earlier := range before {
			a, err := maps.read(earlier)
			if err != nil {
				return nil, err
			}
			b, err := maps.read(later)
			if err != nil {
				return nil, err
			}
			if !earlier.SameName(later) && !season.Same(a.Boundary, b.Boundary) {
				continue
			}
			c, err := season.Compare(a, b)
			if err != nil {
				return nil, err
			}
			out = append(out, report.Return{Earlier: earlier, Later: later, Comparison: c})
			break
		}
	}
	return out, nil
}

// A shapeReader reads the maps of sheets from their files.
type shapeReader struct{ dir string }

func (r shapeReader) read(s *report.Sheet) (season.Map, error) {
	f, err := os.Open(filepath.Join(r.dir, filepath.FromSlash(s.Dir), geoJSONFile))
	if err != nil {
		return season.Map{}, err
	}
	defer f.Close()
	return report.ReadSkips(f)
}
