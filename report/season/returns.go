package season

import (
	"cmp"
	"io"
	"slices"

	"lapwing/coverage/season"
)

// Shapes opens the coverage.geojson of a sheet.
type Shapes func(*Sheet) (io.ReadCloser, error)

// FindReturns compares every sheet with the last earlier year's of its field.
func (s *Book) FindReturns(shapes Shapes) error {
	for _, later := range s.Sheets {
		var before []*Sheet
		for _, sheet := range s.Sheets {
			if sheet.Year() != 0 && sheet.Year() < later.Year() && sheet.Near(later) {
				before = append(before, sheet)
			}
		}
		slices.SortStableFunc(before, func(a, b *Sheet) int { return cmp.Compare(b.Year(), a.Year()) })
		for _, earlier := range before {
			a, err := shapes.skips(earlier)
			if err != nil {
				return err
			}
			b, err := shapes.skips(later)
			if err != nil {
				return err
			}
			if !earlier.SameName(later) && !season.Same(a.Boundary, b.Boundary) {
				continue
			}
			c, err := season.Compare(a, b)
			if err != nil {
				return err
			}
			s.Returns = append(s.Returns, Return{Earlier: earlier, Later: later, Comparison: c})
			break
		}
	}
	return nil
}

// skips reads the boundary and the skips of a sheet.
func (open Shapes) skips(s *Sheet) (season.Map, error) {
	f, err := open(s)
	if err != nil {
		return season.Map{}, err
	}
	defer f.Close()
	return ReadSkips(f)
}
