package chart

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// shapes are the regions to be drawn, from the bottom up: those of some kinds, or
// all where none is named.
func (d drawing) shapes(c canvas, kinds []region.Kind) []Shape {
	skips := d.Skips().By(func(i int) int { return d.Map.Skips[i].Region })
	overlaps := d.Overlaps().By(func(i int) int { return d.Map.Overlaps[i].Region })
	keys := map[int]string{} // of the regions of listed patches
	for number, i := range d.Skips().Each() {
		keys[d.Map.Skips[i].Region] = fmt.Sprintf("s%d", number)
	}
	for number, i := range d.Overlaps().Each() {
		keys[d.Map.Overlaps[i].Region] = fmt.Sprintf("o%d", number)
	}
	causes := d.Causes()
	places := d.places()
	order := make([]int, 0, len(d.Map.Regions))
	for i := range d.Map.Regions {
		if len(kinds) == 0 || slices.Contains(kinds, d.Map.Regions[i].Kind) {
			order = append(order, i)
		}
	}
	rank := map[region.Kind]int{region.Once: 0, region.Unlogged: 1, region.OverReach: 2, region.Overlap: 3, region.Skip: 4}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(rank[d.Map.Regions[a].Kind], rank[d.Map.Regions[b].Kind])
	})
	out := make([]Shape, 0, len(order))
	specks := map[string]*speckle{}
	for _, i := range order {
		reg := &d.Map.Regions[i]
		tolerance := Tolerance
		if reg.Kind == region.Skip || reg.Kind == region.Overlap {
			tolerance = min(tolerance, max(sliverWidth, d.width(reg)/4))
		}
		line := Shape{Key: keys[i], Class: reg.Kind.String(), Path: c.polygon(reg.Shape, tolerance)}
		if line.Path == "" {
			continue
		}
		id := max(skips[i], overlaps[i])
		switch {
		case reg.Kind == region.Skip && causes[i] == string(cause.Unworked):
			line.Class = "unworked"
		case reg.Kind == region.Overlap && reg.Depth > 2:
			line.Class = "overlap deep"
		}
		if reg.Kind != region.Once && line.Key == "" && reg.Area < d.MinArea {
			if specks[line.Class] == nil {
				specks[line.Class] = &speckle{kind: reg.Kind, at: len(out)}
				out = append(out, line)
			}
			specks[line.Class].add(reg.Area, line.Path)
			continue
		}
		line.Text = d.both(func(u quantity.Units) string { return d.regionWords(u, reg, id, causes[i], places[i]) })
		out = append(out, line)
	}
	for _, s := range specks {
		out[s.at].Path = strings.Join(s.paths, "")
		out[s.at].Text = d.both(s.words)
	}
	return out
}

// A speckle is all regions of one class that are too small to list, drawn as
// one: a noisy log leaves thousands, and the words for each would make up most
// of the page.
type speckle struct {
	kind  region.Kind
	at    int // where it stands among the drawn regions
	paths []string
	area  plane.Area
}

func (s *speckle) add(area plane.Area, path string) {
	s.area += area
	s.paths = append(s.paths, path)
}

func (s *speckle) words(u quantity.Units) string {
	what := map[region.Kind]string{region.Skip: "skip", region.Overlap: "overlap",
		region.OverReach: "ground outside the boundary", region.Unlogged: "ground where the log is silent"}[s.kind]
	return fmt.Sprintf("%s of %s too small to list, %s in all.", words.Count(len(s.paths), "speck"), what, u.Area(s.area))
}

// width is about how wide a region is: its area over half its edge.
func (d drawing) width(reg *region.Region) plane.Distance {
	length := reg.Shape.Shell.Length()
	if length == 0 {
		return 0
	}
	return plane.Distance(reg.Area) / length // an Area is in half square ticks
}

// patchPlace is where the patch of a region is.
type patchPlace struct {
	at    plane.Point
	place cause.Place
	doubt float64
}

func (d drawing) places() map[int]patchPlace {
	places := make(map[int]patchPlace, len(d.Map.Skips)+len(d.Map.Overlaps))
	for _, s := range d.Map.Skips {
		places[s.Region] = patchPlace{s.At, s.Place, s.Doubt}
	}
	for _, o := range d.Map.Overlaps {
		places[o.Region] = patchPlace{o.At, o.Place, o.Doubt}
	}
	return places
}

// regionWords is what is read out when a region is chosen.
func (d drawing) regionWords(u quantity.Units, reg *region.Region, id int, why string, at patchPlace) string {
	area := u.Area(reg.Area)
	passes := words.Passes(d.PassesOver(reg))
	switch reg.Kind {
	case region.Skip:
		if why == string(cause.Unworked) {
			return fmt.Sprintf("Not worked yet: %s.", area)
		}
		return fmt.Sprintf("Skip %d: %s, %s, %s.", id, area, words.InDoubt(words.Cause(why), at.doubt), d.Place(u, at.place, at.at))
	case region.Overlap:
		return fmt.Sprintf("Overlap %d: %s worked %d times, %s, by %s; %s.", id, area, reg.Depth, words.InDoubt(words.Cause(why), at.doubt), passes, d.Place(u, at.place, at.at))
	case region.OverReach:
		return fmt.Sprintf("Outside the boundary: %s, by %s.", area, passes)
	case region.Unlogged:
		return fmt.Sprintf("Log silent: %s that may have been worked.", area)
	}
	return fmt.Sprintf("Covered once: %s, by %s.", area, passes)
}
