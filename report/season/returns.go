package season

import (
	"cmp"
	"io"
	"slices"

	"lapwing/coverage/cause"
	"lapwing/coverage/season"
	"lapwing/report/season/shape"
)

// Shapes opens the coverage.geojson of an entry.
type Shapes func(*Entry) (io.ReadCloser, error)

// FindReturns compares every entry with the last earlier year's of its field.
func (s *Book) FindReturns(shapes Shapes) error {
	for _, later := range s.Entries {
		var before []*Entry
		for _, entry := range s.Entries {
			if entry.Year() != 0 && entry.Year() < later.Year() && entry.Near(later) {
				before = append(before, entry)
			}
		}
		slices.SortStableFunc(before, func(a, b *Entry) int { return cmp.Compare(b.Year(), a.Year()) })
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

// skips reads the boundary and the skips of an entry, without those that are likely
// the outline's: its season counts them as no skips.
func (open Shapes) skips(s *Entry) (season.Map, error) {
	f, err := open(s)
	if err != nil {
		return season.Map{}, err
	}
	defer f.Close()
	m, err := ReadSkips(f)
	outlined := map[int]bool{}
	for i := range s.Skips {
		outlined[s.Skips[i].ID] = s.Skips[i].Outlined
	}
	m.Skips = slices.DeleteFunc(m.Skips, func(skip season.Skip) bool { return outlined[skip.ID] })
	return m, err
}

// ReadSkips reads the boundary and the skips of a coverage.geojson, ground
// simply not worked yet left out.
func ReadSkips(shapes io.Reader) (season.Map, error) {
	var m season.Map
	skips := func(s *shape.Shape) bool { return s.Kind == "skip" && s.Cause != string(cause.Unworked) }
	wanted := func(s *shape.Shape) bool { return s.Kind == "field" || skips(s) }
	err := shape.Each(shapes, wanted, func(s shape.Shape) error {
		switch {
		case s.Kind == "field":
			m.Boundary = append(m.Boundary, s.Polygons...)
		case skips(&s):
			m.Skips = append(m.Skips, season.Skip{ID: s.ID, Shape: s.Polygons})
		}
		return nil
	})
	return m, err
}
