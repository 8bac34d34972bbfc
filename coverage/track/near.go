package track

import (
	"math"
	"slices"
	"sync/atomic"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// What of a log is far from a field. A contractor's log of a month is of hundreds
// of fields; for each of them all fixes would be cleaned, followed and swept, only
// to find that they lie elsewhere.
const (
	// farAway is how far from the field's boundary box a fix is far from it. A turn,
	// a towed bar and a boundary that is off reach some tens of metres. Judgement.
	// With farAway, runIn, runInFixes or mostlyHere halved or doubled no answer of samples,
	// cases and the oats of 2017 moves: they trade time for certainty.
	farAway = plane.Kilometre
	// runIn is how long before and after it was near the field a machine is followed:
	// a towed bar has come in line, and the smoothing window is full, long before.
	runIn = 2 * time.Minute
	// runInFixes is that where a log has no times.
	runInFixes = 600
	// mostlyHere is the share of a log's fixes near the field from which on the log is
	// taken whole: it is this field's log.
	mostlyHere = 0.5
	// blockFixes is how many fixes share a box, see [Index]. TestNearByBlocks holds
	// that the answer does not hang on it.
	blockFixes = 1024
)

// Index finds the boxes around the fixes of machines, by which [Near] and [Travel]
// find those of one field among many in time that grows with the fixes there.
func Index(machines []machine.Logged) {
	for i := range machines {
		for k := range machines[i].Tracks {
			t := &machines[i].Tracks[k]
			t.Blocks = nil
			blocks := make([]geo.Extent, (len(t.Fixes)+blockFixes-1)/blockFixes)
			parallel.Each(len(blocks), func(b int) { blocks[b] = around(t, b) })
			t.Blocks = blocks
		}
	}
}

// blockOf returns the fixes of a block.
func blockOf(t *machine.Track, block int) []machine.Fix {
	return t.Fixes[block*blockFixes : min((block+1)*blockFixes, len(t.Fixes))]
}

// around returns the box around the places of a block's fixes.
func around(t *machine.Track, block int) geo.Extent {
	if t.Blocks != nil {
		return t.Blocks[block]
	}
	box := geo.NoExtent()
	fixes := blockOf(t, block)
	for i := range fixes {
		if at := fixes[i].At; at.Valid() {
			box.Add(at)
		}
	}
	return box
}

// extentOf returns a box of longitudes and latitudes around a field's boundary.
func extentOf(f *field.Field) geo.Extent {
	box := plane.Bounds(f.Boundary)
	out := geo.NoExtent()
	middle := plane.Point{X: (box.Min.X + box.Max.X) / 2, Y: (box.Min.Y + box.Max.Y) / 2}
	for _, x := range []plane.Length{box.Min.X, middle.X, box.Max.X} {
		for _, y := range []plane.Length{box.Min.Y, middle.Y, box.Max.Y} {
			out.Add(f.Frame.ToEarth(plane.Point{X: x, Y: y}))
		}
	}
	return out
}

// degrees is a length along a meridian in degrees of latitude, a little too long: a
// degree has 110,574 m at least, at the equator (WGS 84).
func degrees(l plane.Length) float64 { return l.Metres() / 110_574 }

// Near returns the machines with those parts of their logs that tell of a field. A
// log that is mostly of this field is returned whole. Of others the stretches
// stay in which the machine was near the boundary, with a run-in before and after,
// and with all of a pass that leads away; where one was left out the log breaks, and
// [machine.Track.Away] tells when it goes on. A warning counts what is left out.
func Near(f *field.Field, machines []machine.Logged, opt *field.Options) ([]machine.Logged, []field.Warning) {
	if len(f.Boundary) == 0 {
		return machines, nil
	}
	here := extentOf(f).Around(degrees(farAway + plane.Length(math.Hypot(float64(opt.Shift.X), float64(opt.Shift.Y)))))
	out := slices.Clone(machines)
	far, cut := 0, []string{} // fixes left out, and the files they are of
	for i := range out {
		out[i].Tracks = slices.Clone(out[i].Tracks)
		for k := range out[i].Tracks {
			t := &out[i].Tracks[k]
			mostly := func(left int) bool { return float64(left) <= (1-mostlyHere)*float64(len(t.Fixes)) }
			if mostly(len(t.Fixes) - count(t, here)) {
				continue // at a glance: it usually is of this field alone
			}
			parts := nearParts(t, here, t.WorkingLogged && out[i].Working == machine.AsLogged)
			left := len(t.Fixes)
			for _, part := range parts {
				left -= part[1] - part[0]
			}
			if mostly(left) {
				continue
			}
			*t = cutOut(t, parts)
			far += left
			cut = append(cut, t.File)
		}
	}
	if far == 0 {
		return machines, nil
	}
	w := field.Warning{Count: far, Text: "a fix lies more than 1 km from the field; it is left out with the work done there"}
	if len(slices.Compact(cut)) == 1 {
		w.File = cut[0]
	}
	return out, []field.Warning{w}
}

// count returns how many fixes of a log lie in a box.
func count(t *machine.Track, box geo.Extent) int {
	var sum atomic.Int64
	parallel.Each((len(t.Fixes)+blockFixes-1)/blockFixes, func(b int) {
		if t.Blocks != nil && !t.Blocks[b].Meets(box, 0) {
			return
		}
		fixes, n := blockOf(t, b), 0
		for i := range fixes {
			if at := fixes[i].At; at.Valid() && box.Holds(at) {
				n++
			}
		}
		sum.Add(int64(n))
	})
	return int(sum.Load())
}

// nearParts returns the fixes from ≤ i < to of a log that tell of what lies in a box.
// Where working holds, the log says where the bar worked.
func nearParts(t *machine.Track, box geo.Extent, working bool) (parts [][2]int) {
	with := func(j, i int) bool { // whether fix j stays because fix i does
		switch {
		case working && t.Fixes[j].Working:
			return true
		case t.NoClock:
			return j-i <= runInFixes && i-j <= runInFixes
		}
		return t.Fixes[j].Time.Sub(t.Fixes[i].Time).Abs() <= runIn
	}
	end := 0 // of the last part
	for b := range (len(t.Fixes) + blockFixes - 1) / blockFixes {
		if t.Blocks != nil && !t.Blocks[b].Meets(box, 0) {
			continue
		}
		fixes := blockOf(t, b)
		for k := range fixes {
			i := b*blockFixes + k
			if at := fixes[k].At; i < end || !at.Valid() || !box.Holds(at) {
				continue
			}
			from, to := i, i+1
			for from > end && with(from-1, i) {
				from--
			}
			last := i // the last fix near the field, so far
			for to < len(t.Fixes) && with(to, last) {
				if at := t.Fixes[to].At; at.Valid() && box.Holds(at) {
					last = to
				}
				to++
			}
			if n := len(parts); n > 0 && from == end {
				parts[n-1][1] = to
			} else {
				parts = append(parts, [2]int{from, to})
			}
			end = to
		}
	}
	return parts
}

// cutOut returns the parts of a log, from ≤ i < to, as one that breaks between them.
func cutOut(t *machine.Track, parts [][2]int) machine.Track {
	out := *t
	out.Fixes, out.Breaks, out.Rates, out.Blocks, out.Away = nil, nil, nil, nil, nil
	if t.Rates != nil {
		out.Rates = make([][]float32, len(t.Rates))
	}
	breaks := t.Breaks
	for _, part := range parts {
		from, to := part[0], part[1]
		begin := len(out.Fixes)
		if from > 0 {
			out.Breaks = append(out.Breaks, begin)
			out.Away = append(out.Away, t.Fixes[from].Time)
		}
		for len(breaks) > 0 && breaks[0] <= from {
			breaks = breaks[1:]
		}
		for ; len(breaks) > 0 && breaks[0] < to; breaks = breaks[1:] {
			out.Breaks = append(out.Breaks, begin+breaks[0]-from)
		}
		out.Fixes = append(out.Fixes, t.Fixes[from:to]...)
		for k := range t.Rates {
			if t.Rates[k] == nil {
				continue
			}
			for _, f := range t.Fixes[from:to] {
				out.Rates[k] = append(out.Rates[k], t.Rates[k][f.Row])
			}
		}
		for i := begin; i < len(out.Fixes); i++ {
			out.Fixes[i].Row = int32(i)
		}
	}
	return out
}

// grazes is how far a bar may reach over an edge before it counts as work on what
// lies behind it. Judgement: halved or doubled, it moves no answer of samples, cases and
// the oats of 2017.
const grazes = plane.Metre

// Stretches counts the stretches of a machine's log whose bar reaches into a field:
// those at work, where the log says so and that counts, else its visits. The bar is
// taken to be where the antenna is.
func Stretches(f *field.Field, m *machine.Logged, t *machine.Track, opt *field.Options) (n int) {
	reach := max(m.Implement.Width/4, m.Implement.Width/2-grazes)
	here := extentOf(f).Around(degrees(plane.Metre + reach + plane.Length(math.Hypot(float64(opt.Shift.X), float64(opt.Shift.Y)))))
	told := t.WorkingLogged && m.Working == machine.AsLogged
	var edges []near.Edge
	for _, p := range f.Boundary {
		for _, r := range p.Rings() {
			for i := range r {
				edges = append(edges, near.EdgeOf(r[i], r[(i+1)%len(r)]))
			}
		}
	}
	index := near.New(edges)
	reaches := func(at geo.LonLat) bool {
		x, y := f.Frame.Metres(at)
		p := plane.Point{X: plane.Metres(onPlane(x)) + opt.Shift.X, Y: plane.Metres(onPlane(y)) + opt.Shift.Y}
		return index.Nearest(float64(p.X), float64(p.Y), float64(reach)*float64(reach)).Edge != nil ||
			slices.ContainsFunc(f.Boundary, func(b plane.Polygon) bool { return b.Contains(p) })
	}
	counted := false // the stretch that the fix is of
	for b := range (len(t.Fixes) + blockFixes - 1) / blockFixes {
		if !around(t, b).Meets(here, 0) {
			counted = false
			continue
		}
		fixes := blockOf(t, b)
		for i := range fixes {
			fix := &fixes[i]
			if told && !fix.Working {
				counted = false
				continue
			}
			in := fix.At.Valid() && here.Holds(fix.At) && reaches(fix.At)
			switch {
			case in && !counted:
				counted = true
				n++
			case !in && !told:
				counted = false
			}
		}
	}
	return n
}
