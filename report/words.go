package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// length writes ticks for people: in feet (inches below one), or in metres
// (centimetres below one).
func (u Units) length(ticks float64) string {
	m := ticks / float64(plane.Metre)
	if u == Metric {
		switch {
		case m < 0.005:
			return "0 m"
		case m < 0.995:
			return number(m*100, 0) + " cm"
		case m < 9.95:
			return number(m, 1) + " m"
		case m < 9999.5:
			return number(m, 0) + " m"
		}
		return number(m/1000, 1) + " km"
	}
	ft := m / quantity.Foot
	switch {
	case ft*12 < 0.05:
		return "0 ft"
	case ft*12 < 11.5:
		return number(ft*12, 0) + " in"
	case ft < 9.95:
		return number(ft, 1) + " ft"
	case ft < 9999.5:
		return number(ft, 0) + " ft"
	}
	return number(m/quantity.Mile, 1) + " mi"
}

// area writes an area for people: in acres (square feet below a hundredth of
// one), or in hectares (square metres below a tenth of one).
func (u Units) area(a plane.Area) string {
	m2 := a.SquareMetres()
	if u == Metric {
		switch {
		case m2 < 0.05:
			return "0 m2"
		case m2 < 9.95:
			return number(m2, 1) + " m2"
		case m2 < 999.5:
			return number(m2, 0) + " m2"
		}
		return number(m2/quantity.Hectare, 2) + " ha"
	}
	switch ac := m2 / quantity.Acre; {
	case m2/(quantity.Foot*quantity.Foot) < 0.5:
		return "0 sq ft"
	case ac < 0.005:
		return number(m2/(quantity.Foot*quantity.Foot), 0) + " sq ft"
	default:
		return number(ac, 2) + " ac"
	}
}

// ground writes an area as a bare figure for a column headed [Units.groundUnit].
func (u Units) ground(a plane.Area) string {
	if u == Metric {
		return number(a.SquareMetres()/quantity.Hectare, 3)
	}
	return number(a.SquareMetres()/quantity.Acre, 2)
}

func (u Units) groundUnit() string {
	if u == Metric {
		return "hectares"
	}
	return "acres"
}

// speed writes m/s for people.
func (u Units) speed(v float64) string {
	if u == Metric {
		return number(v/quantity.KMH, 1) + " km/h"
	}
	return number(v/quantity.MPH, 1) + " mph"
}

// mass writes kilograms for people.
func (u Units) mass(kg float64) string {
	if u == Metric {
		return number(kg, placesFor(kg)) + " kg"
	}
	return number(kg/quantity.Pound, placesFor(kg/quantity.Pound)) + " lb"
}

// volume writes cubic metres for people.
func (u Units) volume(m3 float64) string {
	if u == Metric {
		return number(m3/quantity.Litre, placesFor(m3/quantity.Litre)) + " L"
	}
	return number(m3/quantity.Gallon, placesFor(m3/quantity.Gallon)) + " gal"
}

// placesFor gives small amounts a decimal that would be noise in large ones.
func placesFor(v float64) int {
	switch v = math.Abs(v); {
	case v == 0 || v >= 99.5:
		return 0
	case v >= 1:
		return 1
	}
	return 2
}

// number writes v with the given decimals and a comma at each thousand.
func number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "not known"
	}
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, fraction, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if fraction != "" {
		whole += "." + fraction
	}
	if v < 0 && strings.Trim(whole, "0.,") != "" {
		whole = "-" + whole
	}
	return whole
}

// share writes part of whole in per cent.
func share(part, whole float64) string {
	if whole <= 0 {
		return ""
	}
	switch p := part / whole * 100; {
	case p == 0:
		return "0 %"
	case p < 0.05:
		return "under 0.1 %"
	case p < 100 && p >= 99.95:
		return "99.9 %" // whole only when it is
	case p == 100:
		return "100 %"
	default:
		return number(p, 1) + " %"
	}
}

// count writes n things: "1 skip", "3 skips", "no skips".
func count(n int, one string) string {
	switch n {
	case 0:
		return "no " + many(one)
	case 1:
		return "1 " + one
	}
	return number(float64(n), 0) + " " + many(one)
}

func many(one string) string {
	if strings.HasSuffix(one, "s") || strings.HasSuffix(one, "ch") {
		return one + "es"
	}
	return one + "s"
}

// causeWords writes a cause for people.
func causeWords[Cause ~string](c Cause) string {
	switch string(c) {
	case "":
		return "cause not known"
	case string(cause.Unworked):
		return "not worked yet"
	}
	return string(c)
}

// place says where a patch is so that a person can walk to it: "410 ft from
// the north end of pass 14, left side"; where no pass is near, its longitude
// and latitude.
func (r *Report) place(u Units, p cause.Place, at plane.Point) string {
	if p.Pass == 0 {
		e := r.Map.Field.Frame.ToEarth(at)
		return "at " + lonLat(e.Lon, e.Lat)
	}
	s := fmt.Sprintf("%s along pass %d", u.length(p.Along), p.Pass)
	switch {
	case p.From != "" && p.Along < float64(plane.Metre): // nearer than anyone paces
		s = fmt.Sprintf("at the %s end of pass %d", p.From, p.Pass)
	case p.From != "":
		s = fmt.Sprintf("%s from the %s end of pass %d", u.length(p.Along), p.From, p.Pass)
	}
	if p.Side != "" {
		s += ", " + p.Side + " side"
	}
	return s
}

// lonLat writes a place on the Earth to a metre.
func lonLat(lon, lat float64) string {
	ns, ew := "N", "E"
	if lat < 0 {
		ns = "S"
	}
	if lon < 0 {
		ew = "W"
	}
	return fmt.Sprintf("%.5f %s, %.5f %s", math.Abs(lat), ns, math.Abs(lon), ew)
}

// answer is what the reader came to ask, in sentences: is the headland shut,
// what was skipped, what was worked twice.
func (r *Report) answer(u Units) []string {
	g := r.Map.Ground
	if g.Covered == 0 {
		if g.Unlogged > 0 {
			return []string{"Nothing covered that the log tells of; it is silent over " + u.area(g.Unlogged) + "."}
		}
		return []string{"Nothing covered yet."}
	}
	out := append([]string{r.headlandSentence(u)}, r.skipSentences(u)...)
	if g.Overlap > 0 {
		out = append(out, fmt.Sprintf("Overlap %s, %s of the field.", u.area(g.Overlap), share(float64(g.Overlap), float64(g.Field))))
	} else {
		out = append(out, "No overlap.")
	}
	if g.OverReach > 0 {
		out = append(out, u.area(g.OverReach)+" worked outside the boundary.")
	}
	if g.Unlogged > 0 {
		out = append(out, "The log is silent over "+u.area(g.Unlogged)+".")
	}
	return out
}

func (r *Report) headlandSentence(u Units) string {
	e := r.Map.Headland.Edge
	switch {
	case r.Map.Field.Worked:
		return "No boundary given: the outer edge of the worked ground stands in for it."
	case e.Length == 0:
		return "No headland to speak of."
	case e.Reached == 0 && e.Unlogged == 0:
		return "Headland open all the way round, " + u.length(e.Open) + "."
	case e.Open == 0 && e.Unlogged == 0:
		return "Headland closed all the way round."
	case e.Open == 0:
		return fmt.Sprintf("Headland closed as far as the log tells; it is silent along %s of the boundary.", u.length(e.Unlogged))
	}
	return fmt.Sprintf("Headland open in %s, %s.", count(max(1, len(e.Openings)), "place"), u.length(e.Open))
}

// skipSentences leave ground that is simply not worked yet out of the skips.
func (r *Report) skipSentences(u Units) []string {
	g := r.Map.Ground
	skipped := g.Skip - g.Remainder
	largest, n := r.mistakes()
	var out []string
	switch {
	case skipped == 0:
		out = append(out, "No skips.")
	case n == 0:
		out = append(out, fmt.Sprintf("No skips large enough to list; specks come to %s.", u.area(skipped)))
	default:
		first := &r.Map.Skips[largest]
		where := r.place(u, first.Place, first.At)
		if n == 1 {
			out = append(out, fmt.Sprintf("1 skip, %s, %s.", u.area(skipped), where))
		} else {
			out = append(out, fmt.Sprintf("%s, %s; the largest %s, %s.", count(n, "skip"), u.area(skipped), u.area(first.Area), where))
		}
	}
	if g.Remainder > 0 {
		out = append(out, u.area(g.Remainder)+" not worked yet.")
	}
	if s := r.finish(u); s != "" {
		out = append(out, s)
	}
	return out
}

// mistakes counts the listed skips that are not just ground still to be
// worked, and gives the index of the largest.
func (r *Report) mistakes() (largest, n int) {
	l := r.skips()
	largest = -1
	for _, i := range l.order[:l.listed] {
		if r.Map.Skips[i].Cause != cause.Unworked {
			if n++; largest < 0 {
				largest = i
			}
		}
	}
	return largest, n
}

// plain makes a name from a file safe to print: control characters, among
// them the ones that steer terminals or turn the direction of writing, become
// question marks, and long names are cut.
func plain(s string, most int) string {
	s = strings.Map(func(c rune) rune {
		if unicode.IsControl(c) || unicode.Is(unicode.Cf, c) || c == unicode.ReplacementChar {
			return '?'
		}
		return c
	}, s)
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most-3]) + "..."
	}
	return s
}

// spacing writes the distance between rows, where half an inch matters.
func (u Units) spacing(l plane.Length) string {
	if u == Metric {
		return strconv.FormatFloat(math.Round(l.Metres()*1e4)/100, 'f', -1, 64) + " cm"
	}
	return strconv.FormatFloat(math.Round(l.Metres()/quantity.Inch*100)/100, 'f', -1, 64) + " in"
}

// fine writes a length of millimetres.
func (u Units) fine(ticks float64) string {
	if u == Metric {
		return number(ticks/float64(plane.Millimetre), 1) + " mm"
	}
	return number(ticks/float64(plane.Metre)/quantity.Inch, 2) + " in"
}

// rate writes what a product was put down at.
func (u Units) rate(p *agronomy.Product) string {
	area, name := quantity.Acre, "/ac"
	if u == Metric {
		area, name = quantity.Hectare, "/ha"
	}
	switch {
	case p.MassRate != nil:
		return u.mass(*p.MassRate*area) + name
	case p.VolumeRate != nil:
		return u.volume(*p.VolumeRate*area) + name
	}
	return "not known"
}

// Distance writes a length in metres for a person.
func (u Units) Distance(metres float64) string { return u.length(metres * float64(plane.Metre)) }

// Ground writes an area in square metres for a person.
func (u Units) Ground(m2 float64) string { return u.area(plane.Area(m2 * float64(plane.SquareMetre))) }
