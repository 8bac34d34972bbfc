package chart

import (
	"fmt"
	"slices"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// offRates are the shapes on the map of the ground that turns put off its
// rate: all that got too much, and all that got too little.
func (d drawing) offRates(c canvas) []Shape {
	var rich, lean []byte
	for i := range d.OffRates {
		o := &d.OffRates[i]
		for _, ring := range slices.Concat(o.Thick, o.Back) {
			rich = c.ring(rich, ring, Tolerance)
		}
		for _, ring := range o.Thin {
			lean = c.ring(lean, ring, Tolerance)
		}
	}
	var out []Shape
	if len(lean) > 0 {
		out = append(out, Shape{Class: "lean", Path: string(lean), Text: words.Same("Turns put under 90 % of the rate here.")})
	}
	if len(rich) > 0 {
		out = append(out, Shape{Class: "rich", Path: string(rich), Text: words.Same("Turns put over 110 % of the rate here, or a part of the bar ran backward.")})
	}
	return out
}

// fillDots are the places on the map where fills began, and where a tank
// likely ran dry.
func (d drawing) fillDots(c canvas) []Shape {
	var out, dry []Shape
	for i := range d.Accounts {
		a := &d.Accounts[i]
		for _, l := range a.Tanks {
			for _, f := range l.Fills {
				n := len(out) + 1
				x, y := c.XY(f.From.At)
				out = append(out, Shape{
					Key: fmt.Sprintf("f%d", n), Class: "fill", Path: fmt.Sprintf("M%d %dh0", x, y),
					Text: d.both(func(u quantity.Units) string {
						return fmt.Sprintf("Fill %d of %s on %s began here and went %s.", n, words.Name(a.Product.Name), words.Name(a.Map.Machines[l.Machine].Name), u.SquareMetres(f.Area))
					}),
				})
			}
			for _, stretch := range l.Dry {
				if l.DryBy == agronomy.ByRate {
					break // of all machines below, with a tank or without
				}
				x, y := c.XY(stretch.From.At)
				dry = append(dry, Shape{Class: "fill dry", Path: fmt.Sprintf("M%d %dh0", x, y), Text: d.both(func(u quantity.Units) string {
					return fmt.Sprintf("The tank of %s was likely empty from here: %s worked without.", words.Name(a.Product.Name), u.SquareMetres(stretch.Area))
				})})
			}
		}
		if a.Logged == nil {
			continue
		}
		for _, stretch := range a.Logged.Dry {
			x, y := c.XY(stretch.From.At)
			dry = append(dry, Shape{Class: "fill dry", Path: fmt.Sprintf("M%d %dh0", x, y), Text: d.both(func(u quantity.Units) string {
				return fmt.Sprintf("Nothing of %s came from here on: %s worked without, by the log.", words.Name(a.Product.Name), u.SquareMetres(stretch.Area))
			})})
		}
	}
	return append(out, dry...)
}

func (d drawing) openings(c canvas) []Shape {
	e := &d.Map.Headland.Edge
	var out []Shape
	for i := range e.Openings {
		o := &e.Openings[i]
		if o.Ring >= len(e.Profile) {
			continue
		}
		line := e.Line(o)
		out = append(out, Shape{
			Key:  OpeningKey(i),
			Path: c.Line(plane.Thinned(line, Tolerance)),
			Text: d.both(func(u quantity.Units) string {
				return fmt.Sprintf("%s, headland open: %s of the boundary, %s bare at most.", OpeningLabel(i), u.Length(o.Length), u.Length(o.Max))
			}),
		})
	}
	return out
}
