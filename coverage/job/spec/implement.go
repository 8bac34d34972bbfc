package spec

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"go.yaml.in/yaml/v4"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

var implementKeys = []string{"name", "openers", "row_spacing", "width", "mount", "antenna_to_hitch", "antenna_right",
	"hitch_to_bar", "cart", "offset", "sections", "ground_delay", "start_heading"}

// sameWidth is how far two widths of one bar may differ, as a fraction: half a
// percent, one row in 200. Judgement; no test holds it closely.
const sameWidth = 0.005

// implementOf reads the implement of a machine: its keys, or the path of a
// file with these keys.
func (r *reader) implementOf(e entry) machine.Implement {
	if e.given() && e.node.Kind == yaml.ScalarNode {
		path := r.path(e.text(""))
		data, err := r.file(path)
		if err != nil {
			e.fail("found "+strconv.Quote(e.text(""))+", "+err.Error(), "an implement file, or its keys")
			return machine.Implement{}
		}
		file, err := parse(path, data)
		if err != nil {
			e.page.raise(err)
			return machine.Implement{}
		}
		im := r.implement(file)
		e.page.raise(file.page.err)
		return im
	}
	return r.implement(e)
}

// raise notes err as the first thing wrong with the page.
func (p *page) raise(err error) {
	if p.err == nil {
		p.err = err
	}
}

// implement reads the keys of an implement.
func (r *reader) implement(e entry) machine.Implement {
	e.mapping(implementKeys...)
	im := machine.Implement{
		Name:           e.get("name").text("a name"),
		AntennaToHitch: e.get("antenna_to_hitch").length(-plane.Reach),
		AntennaRight:   e.get("antenna_right").length(-plane.Reach),
		HitchToBar:     e.get("hitch_to_bar").length(plane.Tick),
		Offset:         e.get("offset").length(-plane.Reach),
	}
	r.bar(e, &im)
	r.sections(e.get("sections"), &im)
	r.hitch(e, &im)
	if reach := im.Reach(); reach > field.Room {
		e.fail(fmt.Sprintf("found a bar that reaches %.0f m from the antenna", reach.Metres()), fmt.Sprintf("%.0f m at most", field.Room.Metres()))
	}
	if delay := e.get("ground_delay"); delay.given() {
		delay.mapping("on", "off")
		im.OnDelay, im.OffDelay = delay.get("on").duration(), delay.get("off").duration()
	}
	return im
}

// bar reads how wide the implement works: openers × row spacing, or a width,
// which wins where both are given.
func (r *reader) bar(e entry, im *machine.Implement) {
	openers, spacing, width := e.get("openers"), e.get("row_spacing"), e.get("width")
	if openers.given() {
		im.Openers = openers.whole(1, 10000)
	}
	im.RowSpacing = spacing.length(plane.Tick)
	im.Width = width.length(plane.Centimetre)
	rows := plane.Length(im.Openers) * im.RowSpacing
	switch {
	case !width.given() && (!openers.given() || !spacing.given()):
		width.fail("missing", `a width such as "40 ft", or openers and row_spacing`)
	case !width.given():
		im.Width = rows
		if im.Width > plane.Reach || im.Width < plane.Centimetre {
			openers.fail(fmt.Sprintf("found %d openers %s apart", im.Openers, spacing.text("")), "a width that a field can hold")
		}
	case rows > 0 && math.Abs(float64(rows-im.Width)) > sameWidth*float64(im.Width):
		text := fmt.Sprintf("%s: %d openers at %s work %s, not the width of %s, which is used",
			e.path, im.Openers, spacing.text(""), inUnitOf(rows, width.text("")), width.text(""))
		if short := rows - im.RowSpacing; math.Abs(float64(short-im.Width)) <= sameWidth*float64(im.Width) {
			text += fmt.Sprintf("; it is (n - 1) x row spacing, the distance between the outer openers, while each of the n = %d openers works a whole row", im.Openers)
		} else {
			text += "; the working width is n x row spacing, not (n - 1) x"
		}
		r.warn(width.place(), "%s", text)
	}
}

// inUnitOf writes a length in metres or feet, as the text beside it is.
func inUnitOf(l plane.Length, like string) string {
	v, err := quantity.Parse("1"+trimNumber(like), quantity.Length)
	if err == nil && math.Abs(v-math.Round(v*1000)/1000) < 1e-12 { // whole millimetres: a metric unit
		return strconv.FormatFloat(math.Round(l.Metres()*1000)/1000, 'f', -1, 64) + " m"
	}
	return strconv.FormatFloat(math.Round(quantity.InFeet(l.Metres())*100)/100, 'f', -1, 64) + " ft"
}

// trimNumber returns text without the number it begins with.
func trimNumber(text string) string {
	for i, c := range text {
		if c != '.' && c != '+' && (c < '0' || c > '9') {
			return text[i:]
		}
	}
	return ""
}

// sections reads the parts of the bar that can be shut: how many, or a list
// of opener counts, or of widths.
func (r *reader) sections(e entry, im *machine.Implement) {
	const most = 1000 // more than any bar has openers to shut
	const want = `a number of sections, a list of opener counts, or a list of widths`
	if !e.given() {
		im.Sections = machine.EqualSections(im.Width, 1)
		return
	}
	if e.node.Kind == yaml.ScalarNode {
		n := e.whole(1, most)
		if im.Openers > 0 && im.Openers%n != 0 {
			r.warn(e.place(), "%s: %d openers do not make %d equal sections; the sections are taken as equally wide", e.path, im.Openers, n)
		}
		im.Sections = machine.EqualSections(im.Width, n)
		return
	}
	items := e.items(want)
	if len(items) > most {
		e.fail(fmt.Sprintf("found %d sections", len(items)), fmt.Sprintf("%d at most", most))
		return
	}
	var weights []float64
	var sum float64
	counts := true
	for i, item := range items {
		_, err := strconv.Atoi(item.text(want))
		if isCount := err == nil; i > 0 && isCount != counts {
			item.fail("found "+strconv.Quote(item.text(want)), "all opener counts or all widths")
			return
		}
		if counts = err == nil; counts {
			weights = append(weights, float64(item.whole(1, 10000)))
		} else {
			weights = append(weights, item.length(plane.Centimetre).Metres())
		}
		sum += weights[i]
	}
	switch {
	case e.page.err != nil || len(items) == 0:
		return
	case counts && im.Openers > 0 && int(sum) != im.Openers:
		e.fail(fmt.Sprintf("found sections of %d openers in all", int(sum)), fmt.Sprintf("%d as in openers", im.Openers))
		return
	case !counts && math.Abs(sum-im.Width.Metres()) > sameWidth*im.Width.Metres():
		e.fail(fmt.Sprintf("found sections of %s in all", inUnitOf(plane.Metres(sum), items[0].text(want))),
			"the working width, "+inUnitOf(im.Width, items[0].text(want)))
		return
	}
	im.Sections = machine.SectionsByWeight(im.Width, weights)
}

// hitch reads how the bar hangs on the machine.
func (r *reader) hitch(e entry, im *machine.Implement) {
	switch mount := e.get("mount"); mount.text("towed or mounted") {
	case "towed":
		im.Towed = true
		e.need("hitch_to_bar", `for a towed implement, a length such as "30 ft" or "9 m"`)
	case "", "mounted":
		for _, key := range []string{"hitch_to_bar", "cart", "start_heading"} {
			if v := e.get(key); v.given() {
				r.warn(v.place(), "%s: not used, since the implement is mounted; is mount: towed meant?", v.path)
			}
		}
		im.HitchToBar = 0
		return
	default:
		mount.fail("found "+strconv.Quote(mount.text("")), "towed or mounted")
	}
	if cart := e.get("cart"); cart.given() {
		cart.mapping("hitch_to_axle", "axle_to_hitch")
		cart.need("hitch_to_axle", `a length such as "4 m"`)
		im.Cart = &machine.Cart{
			HitchToAxle: cart.get("hitch_to_axle").length(plane.Tick),
			AxleToHitch: cart.get("axle_to_hitch").length(-plane.Reach),
		}
	}
	if heading := e.get("start_heading"); heading.given() {
		degrees := heading.quantity(quantity.Just(quantity.Angle)).SI
		if degrees < -360 || degrees > 360 {
			heading.fail("found "+strconv.Quote(heading.text("")), "an angle within 360 deg")
		}
		start := plane.Degrees(degrees)
		im.StartHeading = &start
	}
}

// duration returns a time of a day at most; zero where there is none.
func (e entry) duration() time.Duration {
	s := e.quantity(quantity.Just(quantity.Duration)).SI
	if s > 24*3600 {
		e.fail("found "+strconv.Quote(e.text("")), "a day at most")
		return 0
	}
	return time.Duration(math.Round(s * 1e9))
}
