package season

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// mostPlaces is how many places of skips that come back are listed: what one looks
// into in a winter. The rest is counted.
const mostPlaces = 10

// A comeBack is where ground was skipped again, the most ground first: a place for
// each skip of the later year, however many it lay over in the earlier one.
type comeBack struct {
	Says  words.Text
	Table page.Table
	Maps  []againMap // of the fields that have a place in the list
	Rest  words.Text // what is not listed
}

// An againMap is one field with the skips of both years and the numbers of the list.
type againMap struct {
	Name, Link string
	Says       words.Text
	Map        chart.SmallMap
}

// A samePlace is ground of one skip that was skipped the year before too.
type samePlace struct {
	of      *Return
	skip    int // its number in the later year's lists
	area    plane.Area
	at      geo.LonLat // in the middle of the largest piece
	largest plane.Area
}

// places are the places of one field, those of a square metre and more.
func (r *Return) places() []samePlace {
	var out []samePlace
	for i := range r.Returns {
		piece := &r.Returns[i]
		k := slices.IndexFunc(out, func(p samePlace) bool { return p.skip == piece.Later })
		if k < 0 {
			k = len(out)
			out = append(out, samePlace{of: r, skip: piece.Later})
		}
		p := &out[k]
		p.area += piece.Area
		if piece.Area > p.largest {
			p.largest, p.at = piece.Area, piece.At
		}
	}
	return slices.DeleteFunc(out, func(p samePlace) bool { return p.area < plane.SquareMetre })
}

// way says where a place is as seen from the middle of its field, where no machine may
// stand any more, and what going back there takes of the drive in the mend plan.
func (p *samePlace) way(u quantity.Units) string {
	text := quantity.LonLat(p.at.Lon, p.at.Lat)
	if at, near := p.of.Frame.ToPlane(p.at); near {
		text = words.WayFrom(u, plane.Point{}, at, "the field's centre")
	}
	if minutes, is := p.of.Later.sketch.Takes[p.skip]; is {
		text += ", about " + words.Minutes(time.Duration(minutes*float64(time.Minute)))
	}
	return text
}

// comeBack ranks the places of all fields of a season; nil where no field was there
// in an earlier year.
func (y *year) comeBack() *comeBack {
	returns := y.returns()
	if len(returns) == 0 {
		return nil
	}
	var places []samePlace
	var again, later plane.Area
	for _, r := range returns {
		places = append(places, r.places()...)
		again += r.Again
		later += r.LaterArea
	}
	slices.SortStableFunc(places, func(a, b samePlace) int {
		return cmp.Or(cmp.Compare(b.area, a.area), byNumber(a.of.Later, b.of.Later), cmp.Compare(a.skip, b.skip))
	})
	out := &comeBack{Says: words.Both(y.Units, func(u quantity.Units) string {
		if again == 0 {
			return fmt.Sprintf("No ground skipped in %s was skipped again.", since(returns))
		}
		return fmt.Sprintf("%s of the %s skipped on %s was skipped in %s too, in %s. A skip in the same place again is seldom chance: look for a pole, a wet corner, a boundary drawn wrongly or a section that does not open.",
			u.Area(again), u.Area(later), words.Count(len(returns), "field"), since(returns), words.Count(len(places), "place"))
	})}
	out.Table = page.Table{
		ID: y.id("again"), Label: "Table of skips that come back", Sorts: true, Empty: "Nothing to list.",
		Caption: "The most ground first; numbers are those on the maps. Minutes are what its skip takes of the drive in the mend plan of the later year.",
		Columns: []page.Column{page.Words("No."), page.Names("Field", "name"), page.Figures("Skipped in both years"), page.Words("On its page"), page.Classed("Place", "wide")},
	}
	listed := places[:min(mostPlaces, len(places))]
	for i, p := range listed {
		row := out.Table.Add(words.Same(fmt.Sprint(i+1)), words.Same(p.of.Later.Name()),
			words.Both(y.Units, func(u quantity.Units) string { return u.Area(p.area) }), words.Same(fmt.Sprintf("skip %d", p.skip)), words.Text{})
		row.Cells[1].Link = p.of.Later.page()
		row.By(0, float64(i+1))
		row.By(2, float64(p.area))
		row.By(3, float64(p.skip))
		row.Leads(4, page.PlaceAt(p.at, fmt.Sprintf("place %d", i+1), words.Both(y.Units, func(u quantity.Units) string { return p.way(u) })))
		if !slices.ContainsFunc(listed[:i], func(o samePlace) bool { return o.of == p.of }) {
			out.Maps = append(out.Maps, y.againMap(p.of, listed))
		}
	}
	if rest := places[len(listed):]; len(rest) > 0 {
		var area plane.Area
		for _, p := range rest {
			area += p.area
		}
		out.Rest = words.Both(y.Units, func(u quantity.Units) string {
			return fmt.Sprintf("%s more, %s in all, are smaller; the maps show them.", words.Capital(words.Count(len(rest), "place")), u.Area(area))
		})
	}
	return out
}

// againMap draws the skips of both years over each other.
func (y *year) againMap(r *Return, listed []samePlace) againMap {
	years := fmt.Sprintf("%d and %d", r.Earlier.Year(), r.Later.Year())
	out := againMap{Name: r.Later.Name(), Link: r.Later.page()}
	out.Says = words.Both(y.Units, func(u quantity.Units) string {
		return fmt.Sprintf("%s, %s in both; by chance alone it would be about %s.", years, u.Area(r.Again), u.SquareMetres(r.Chance))
	})
	t := chart.NewStamp(r.Boundary)
	t.Frame(&out.Map)
	out.Map.Label = "Skips of " + years + " laid over each other on " + words.Name(r.Later.Name()) + ", north up"
	mark := func(class string, shapes []plane.Polygon) {
		if d := t.Path(shapes); d != "" {
			out.Map.Marks = append(out.Map.Marks, chart.Mark{Class: class, D: d})
		}
	}
	var again []plane.Polygon
	for _, piece := range r.Returns {
		again = append(again, piece.Shape...)
	}
	mark("before", r.Comparison.Earlier)
	mark("skip", r.Comparison.Later)
	mark("again", again)
	mark("boundary", r.Boundary)
	for i, p := range listed {
		if p.of == r {
			if at, near := r.Frame.ToPlane(p.at); near {
				out.Map.Numbers = append(out.Map.Numbers, t.Number(i+1, at))
			}
		}
	}
	return out
}
