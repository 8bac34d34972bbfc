package taskdata

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// A Bar is the part of a device that does the work: a function of it, or the
// device itself where it has no function that says anything about its width.
//
// Lengths are in metres in the frame of the device, whose zero is a point that
// its maker chose: x runs forward, y to the right (ISO 11783-11 entries 134
// and 135; their signs are from memory, and descriptions of real devices bear
// them out).
//
//	          x  forward
//	          ^
//	          |
//	  [1][2][3][4][5][6]     sections, from left to right
//	          |
//	left -----0-----> y  right
type Bar struct {
	Element string  // the id of its element
	Name    string  // its designator; "" where it has none
	X, Y    float64 // where its middle is; NaN if unknown
	// Width is how wide it works with all of it on; 0 if unknown.
	Width float64
	// Sections are the parts that can be shut by themselves, from left to
	// right; nil where the set does not give their places. Left and right of
	// each are from the middle of the bar, right positive.
	Sections []Section
	// Count is how many sections it has, also where their places are not
	// known; 0 where it has none.
	Count int
}

// metre is in millimetres, the unit of lengths in logs and descriptions.
const metre = 1000.0

// A Section is a stretch of a bar, in metres from its middle.
type Section struct {
	Element     string // its id
	Left, Right float64
}

// A bearing looks at a device with a log at hand: what a device does not give
// as a property it may tell in the log.
type bearing struct {
	device *Device
	log    *Log
	values map[valueKey]*Values // of the device's elements
	owner  []int                // for each element the function it belongs to, or the top of its tree
	placed bool                 // the log says where parts of the device are, and not just zero of all
	worked []bool               // for each record whether something of the device works; nil where nothing says so
	notes  []string
}

type valueKey struct {
	element string
	ddi     DDI
}

func newBearing(d *Device, log *Log) *bearing {
	b := &bearing{device: d, log: log, values: map[valueKey]*Values{}}
	for i := range log.Values {
		v := &log.Values[i]
		key := valueKey{v.Element, v.DDI}
		if len(v.Raw) > 0 && b.values[key] == nil && d.element(v.Element) >= 0 {
			b.values[key] = v
		}
	}
	for i := range d.Elements {
		at := i
		for !d.function(at) && d.Elements[at].Parent >= 0 {
			at = d.Elements[at].Parent
		}
		b.owner = append(b.owner, at)
	}
	b.look()
	return b
}

// look finds when the device works, and whether it says where its parts are: one
// that logs zero of all of them was never told.
func (b *bearing) look() {
	for i := range b.device.Elements {
		for _, ddi := range []DDI{OffsetX, OffsetY} {
			v := b.logged(i, ddi)
			_, property := b.device.Elements[i].Properties[ddi]
			b.placed = b.placed || property || v != nil && slices.ContainsFunc(v.Raw, func(raw int32) bool { return raw != 0 })
		}
		for ddi := ActualWorkState; ddi <= condensedLast; ddi++ {
			v := b.logged(i, ddi)
			if v == nil || ddi > ActualWorkState && ddi < condensedFirst {
				continue
			}
			for k, raw := range v.Raw {
				if !saysOn(ddi, raw) {
					continue
				}
				if b.worked == nil {
					b.worked = make([]bool, len(b.log.Fixes))
				}
				for at := int(v.Records[k]); at < v.until(k, len(b.worked)); at++ {
					b.worked[at] = true
				}
			}
		}
	}
}

func (b *bearing) note(format string, args ...any) {
	b.notes = append(b.notes, fmt.Sprintf(format, args...))
}

// logged returns what the log says about an element; nil if it is silent.
func (b *bearing) logged(element int, ddi DDI) *Values {
	return b.values[valueKey{b.device.Elements[element].ID, ddi}]
}

// offset returns where an element is along an axis, in whole millimetres: its
// property, or what the log says while it works; NaN where it has neither. A value
// that changes while it works is noted, since a bar is taken to stay where it is.
func (b *bearing) offset(element int, ddi DDI) (mm float64, known bool) {
	if raw, ok := b.device.Elements[element].Properties[ddi]; ok {
		return float64(raw), true
	}
	v := b.logged(element, ddi)
	if v == nil || !b.placed {
		return math.NaN(), false
	}
	records := make([]int, len(v.Raw)) // at work with each value
	for k := range v.Raw {
		for at := int(v.Records[k]); at < v.until(k, len(b.log.Fixes)); at++ {
			if b.worked == nil || b.worked[at] {
				records[k]++
			}
		}
	}
	best, others := 0, 0
	for k := range v.Raw {
		same := slices.Index(v.Raw, v.Raw[k])
		if same < k {
			records[same] += records[k]
			records[k] = 0
		}
	}
	for k, n := range records {
		if n > 0 {
			others++
		}
		if n > records[best] {
			best = k
		}
	}
	if others > 1 {
		b.note("offset of %s (entry %d) changes while it works; what it is for most of the work is taken", shorten(b.device.Elements[element].ID), ddi)
	}
	return float64(v.Raw[best]), true
}

// width returns how wide an element works when it does so in full, in millimetres:
// its maximum or default as a property, else the largest it ever was.
func (b *bearing) width(element int) float64 {
	for _, ddi := range []DDI{MaximumWidth, DefaultWidth, ActualWidth} {
		most := b.device.Elements[element].Properties[ddi]
		if v := b.logged(element, ddi); v != nil {
			most = max(most, slices.Max(v.Raw))
		}
		if most > 0 {
			return float64(most)
		}
	}
	return 0
}

// sectionsOf returns the elements that are sections of a function (or of the
// device itself), by their numbers: so they are counted in condensed states,
// from left to right (from memory).
func (b *bearing) sectionsOf(of int) []int {
	var out []int
	for i := range b.device.Elements {
		if b.device.Elements[i].Type == SectionElement && b.owner[i] == of {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(i, j int) int {
		return cmp.Compare(b.device.Elements[i].Number, b.device.Elements[j].Number)
	})
	return out
}

// bar chooses the part of a device that does the work and returns its element,
// or -1: one with sections of known width before one with a width, a function
// before the device itself, then one whose working state is known; of equals,
// the first.
func (b *bearing) bar() int {
	best, bestScore, equals := -1, 0, 0
	for i := range b.device.Elements {
		e := &b.device.Elements[i]
		if !b.device.function(i) && e.Parent >= 0 {
			continue
		}
		score := 0
		for _, s := range b.sectionsOf(i) {
			if b.width(s) > 0 {
				score |= 8
			}
		}
		if b.width(i) > 0 {
			score |= 4
		}
		if b.logged(i, ActualWorkState) != nil || b.logged(i, condensedFirst) != nil {
			score |= 1
		}
		if b.device.function(i) && score > 0 {
			score |= 2
		}
		switch {
		case score > bestScore:
			best, bestScore, equals = i, score, 0
		case score == bestScore && score >= 4:
			equals++
		}
	}
	if equals > 0 {
		b.note("device %s has other parts that work (%d); %s %s is taken", shorten(b.device.ID), equals,
			shorten(b.device.Elements[best].ID), shorten(b.device.Elements[best].Name))
	}
	return best
}

// lay works out where a bar and its sections are. It also returns the
// elements of the sections, in the order of the bits of a condensed state, and
// for each its place in Bar.Sections.
func (b *bearing) lay(element int) (bar Bar, sections, place []int) {
	e := &b.device.Elements[element]
	bar = Bar{Element: e.ID, Name: e.Name, X: math.NaN(), Y: math.NaN(), Width: b.width(element) / metre}
	x, _ := b.offset(element, OffsetX)
	y, hasY := b.offset(element, OffsetY)
	sections = b.sectionsOf(element)
	bar.Count = len(sections)
	for _, other := range b.kin(element, sections) { // a part may say it for the whole, and the whole for a part
		if math.IsNaN(x) {
			x, _ = b.offset(other, OffsetX)
		}
		if math.IsNaN(y) && len(sections) == 0 {
			y, _ = b.offset(other, OffsetY)
		}
	}
	bar.X, bar.Y = x/metre, y/metre
	left, right, ok := b.places(sections)
	if !ok {
		return bar, sections, nil
	}
	from, to := slices.Min(left), slices.Max(right)
	middle := (from + to) / 2
	if bar.Width > 0 && math.Abs(bar.Width*metre-(to-from)) > 1 {
		b.note("device %s is %.3f m wide, its sections reach over %.3f m; the sections are taken", shorten(b.device.ID), bar.Width, (to-from)/metre)
	}
	bar.Width = (to - from) / metre
	if b.apart(sections) || !hasY { // laid side by side, sections know no middle of their own
		bar.Y = middle / metre
	}
	order := make([]int, len(sections))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(left[i], left[j]) })
	place = make([]int, len(sections))
	for at, i := range order {
		place[i] = at
		bar.Sections = append(bar.Sections, Section{b.device.Elements[sections[i]].ID, (left[i] - middle) / metre, (right[i] - middle) / metre})
	}
	return bar, sections, place
}

// kin are the elements that may say where a bar is when it does not itself: its
// sections, and what it is a part of.
func (b *bearing) kin(bar int, sections []int) []int {
	out := slices.Clone(sections)
	for at := b.device.Elements[bar].Parent; at >= 0; at = b.device.Elements[at].Parent {
		out = append(out, at)
	}
	return out
}

// apart reports whether sections say where they are, by offsets that differ.
// A single one need not.
func (b *bearing) apart(sections []int) bool {
	seen := map[float64]bool{}
	for _, s := range sections {
		y, ok := b.offset(s, OffsetY)
		if !ok || seen[y] {
			return false
		}
		seen[y] = true
	}
	return true
}

// places returns the edges of sections: offset and width of each, or where
// offsets are missing or all alike their widths side by side from the left.
func (b *bearing) places(sections []int) (left, right []float64, ok bool) {
	if len(sections) == 0 {
		return nil, nil, false
	}
	total := 0.0
	for _, s := range sections {
		w := b.width(s)
		if w == 0 {
			return nil, nil, false
		}
		total += w
	}
	apart := b.apart(sections)
	if !apart && len(sections) > 1 {
		b.note("sections of device %s do not say where they are; laid side by side from the left, by number", shorten(b.device.ID))
	}
	edge := -total / 2
	for _, s := range sections {
		w := b.width(s)
		if apart {
			y, _ := b.offset(s, OffsetY)
			edge = y - w/2
		}
		left, right = append(left, edge), append(right, edge+w)
		edge += w
	}
	return left, right, true
}
