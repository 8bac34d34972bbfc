package mend

import (
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"

	"github.com/twpayne/go-kml/v3"

	"lapwing/coverage/mend"
	"lapwing/geo"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/page"
	"lapwing/report/words"
)

// title names the drive in files that stand alone.
func (d *Document) title() string { return "Skips to mend, " + words.Clean(d.FieldName()) }

// stopName is the name of a stop on a handheld, as short as its screen, with the field
// it is on: "A enter, Long Meadow".
func (d *Document) stopName(i int, what string) string {
	return fmt.Sprintf("%s %s, %s", stopLabel(i), what, words.Plain(words.Clean(d.FieldName()), 20))
}

// stopWords are what to do at a stop, in one line.
func (d *Document) stopWords(i int) string {
	s := &d.Mend.Plan.Stops[i]
	return fmt.Sprintf("%s. %s. %s. %s.", d.skipWords(d.Units, s), words.Capital(d.wayWords(d.Units, s)),
		words.Capital(sectionWords(s.Run.Open)), words.Capital(sizeWords(d.Units, &s.Run)))
}

// lonLat returns a place to the ninth decimal of a degree, a tenth of a
// millimetre.
func (d *Document) lonLat(p plane.Point) geo.LonLat {
	at := d.Map.Field.Frame.ToEarth(p)
	return geo.LonLat{Lon: math.Round(at.Lon*1e9) / 1e9, Lat: math.Round(at.Lat*1e9) / 1e9}
}

// line returns the longitudes and latitudes of a line.
func (d *Document) line(points []plane.Point) []geo.LonLat {
	out := make([]geo.LonLat, len(points))
	for i, p := range points {
		out[i] = d.lonLat(p)
	}
	return out
}

// drive is all of it as one line: travel and runs.
func (d *Document) drive() []plane.Point {
	var out []plane.Point
	for i := range d.Mend.Plan.Stops {
		s := &d.Mend.Plan.Stops[i]
		for _, p := range append(s.Leg.Way[:len(s.Leg.Way):len(s.Leg.Way)], s.Run.Line...) {
			if len(out) == 0 || out[len(out)-1] != p {
				out = append(out, p)
			}
		}
	}
	return out
}

// A gpxFile is what is written of GPX 1.1 (topografix.com/GPX/1/1). encoding/xml alone
// writes it: a library that reads GPX too brings the character sets of all the world,
// a tenth of what a page in a browser carries.
type gpxFile struct {
	XMLName  xml.Name    `xml:"gpx"`
	Version  string      `xml:"version,attr"`
	Creator  string      `xml:"creator,attr"`
	Instance string      `xml:"xmlns:xsi,attr"`
	Space    string      `xml:"xmlns,attr"`
	Schema   string      `xml:"xsi:schemaLocation,attr"`
	Points   []*gpxPoint `xml:"wpt"`
	Routes   []*gpxRoute `xml:"rte"`
}

type gpxRoute struct {
	Name   string      `xml:"name"`
	Desc   string      `xml:"desc"`
	Points []*gpxPoint `xml:"rtept"`
}

type gpxPoint struct {
	Lat  degrees `xml:"lat,attr"`
	Lon  degrees `xml:"lon,attr"`
	Name string  `xml:"name,omitempty"`
	Desc string  `xml:"desc,omitempty"`
}

// degrees are written without an exponent: GPX takes none.
type degrees float64

// MarshalText writes degrees.
func (d degrees) MarshalText() ([]byte, error) {
	return strconv.AppendFloat(nil, float64(d), 'f', -1, 64), nil
}

// GPX writes a waypoint where each run begins and one where it ends, and the
// whole drive as a route of the bar's centre (GPX 1.1).
func (d *Document) GPX(w io.Writer) error {
	place := func(p plane.Point) *gpxPoint {
		at := d.lonLat(p)
		return &gpxPoint{Lat: degrees(at.Lat), Lon: degrees(at.Lon)}
	}
	const space = "http://www.topografix.com/GPX/1/1"
	g := &gpxFile{
		Version: "1.1", Creator: "lapwing, run " + d.Run, // said where there is no stop, too
		Instance: "http://www.w3.org/2001/XMLSchema-instance", Space: space, Schema: space + " https://www.topografix.com/GPX/1/1/gpx.xsd",
	}
	begins := map[plane.Point]string{}
	for i := range d.Mend.Plan.Stops {
		line := d.Mend.Plan.Stops[i].Run.Line
		in, out := place(line[0]), place(line[len(line)-1])
		in.Name, in.Desc = d.stopName(i, "enter"), d.stopWords(i)
		out.Name, out.Desc = d.stopName(i, "end"), fmt.Sprintf("End of stop %s.", stopLabel(i))
		g.Points = append(g.Points, in, out)
		begins[line[0]] = in.Name
	}
	if drive := d.drive(); len(drive) > 0 {
		route := &gpxRoute{Name: d.title(), Desc: "The way of the bar's centre. " + unknown}
		for _, p := range drive {
			at := place(p)
			at.Name = begins[p]
			route.Points = append(route.Points, at)
		}
		g.Routes = append(g.Routes, route)
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(w)
	e.Indent("", " ")
	return e.Encode(g)
}

// KML writes a folder for each stop: the way there, the run, and the place to
// enter.
func (d *Document) KML(w io.Writer) error {
	coordinates := func(points []plane.Point) kml.Element {
		var out []kml.Coordinate
		for _, at := range d.line(points) {
			out = append(out, kml.Coordinate{Lon: at.Lon, Lat: at.Lat})
		}
		return kml.Coordinates(out...)
	}
	line := func(name, style string, points []plane.Point) kml.Element {
		return kml.Placemark(kml.Name(name), kml.StyleURL("#"+style), kml.LineString(kml.Tessellate(true), coordinates(points)))
	}
	style := func(id string, c color.RGBA, width float64) kml.Element {
		return kml.SharedStyle(id, kml.LineStyle(kml.Color(c), kml.Width(width)))
	}
	doc := kml.Document(
		kml.Name(d.title()),
		kml.Description("lapwing, run "+d.Run+". Lines are the way of the bar's centre. "+unknown),
		style("travel", page.RGBA("ink"), 2),
		style("run", page.RGBA("skip"), 5),
	)
	for i := range d.Mend.Plan.Stops {
		s := &d.Mend.Plan.Stops[i]
		doc.Append(kml.Folder(
			kml.Name("Stop "+stopLabel(i)),
			kml.Placemark(kml.Name(d.stopName(i, "enter")), kml.Description(d.stopWords(i)), kml.Point(coordinates(s.Run.Line[:1]))),
			line(d.stopName(i, "way there"), "travel", s.Leg.Way),
			line(d.stopName(i, "run"), "run", s.Run.Line),
		))
	}
	return kml.KML(doc).WriteIndent(w, "", " ")
}

// GeoJSON writes features of kind field, skip, travel, run and stop.
func (d *Document) GeoJSON(w io.Writer) error {
	g := report.NewGeoJSON(w, d.Map.Field.Frame, d.Run)
	for _, p := range d.Map.Field.Boundary {
		g.Feature(g.Polygon(p), func(m *geojson.Members) {
			m.Text("kind", "field")
			m.Text("name", d.Map.Field.Name)
		})
	}
	numbers := d.SkipNumbers()
	mended := map[int]bool{}
	for i := range d.Mend.Plan.Stops {
		for _, k := range d.Mend.Plan.Stops[i].Run.Skips {
			mended[k] = true
		}
	}
	for _, i := range d.Mistakes() {
		reg := &d.Map.Regions[d.Map.Skips[i].Region]
		g.Feature(g.Polygon(reg.Shape), func(m *geojson.Members) {
			m.Text("kind", "skip")
			m.Integer("id", numbers[i])
			report.AreaMember(m, reg.Area)
			m.Truth("mended", mended[i])
		})
	}
	for i := range d.Mend.Plan.Stops {
		d.writeStop(g, i, &d.Mend.Plan.Stops[i], numbers)
	}
	return g.Close(nil)
}

func (d *Document) writeStop(g *geojson.Writer, i int, s *mend.Stop, numbers map[int]int) {
	if len(s.Leg.Way) > 1 {
		g.Feature(g.Line(s.Leg.Way), func(m *geojson.Members) {
			m.Text("kind", "travel")
			m.Integer("stop", i+1)
			m.Text("label", stopLabel(i))
		})
	}
	skips := make([]int, len(s.Run.Skips))
	for k, skip := range s.Run.Skips {
		skips[k] = numbers[skip]
	}
	run := func(kind string) func(*geojson.Members) {
		return func(m *geojson.Members) {
			m.Text("kind", kind)
			m.Integer("stop", i+1)
			m.Text("label", stopLabel(i))
			m.Integers("skips", skips)
			m.Text("sections", sectionBits(s.Run.Open))
			m.Integer("heading_deg", int(s.Run.Heading+0.5)%360)
			m.Text("text", d.stopWords(i))
		}
	}
	g.Feature(g.Line(s.Run.Line), run("run"))
	g.Feature(g.Point(s.Run.Line[0]), run("stop"))
}

// sectionBits writes sections from left to right, 1 for open, as logs do.
func sectionBits(open []bool) string {
	bits := make([]byte, len(open))
	for i, is := range open {
		bits[i] = '0'
		if is {
			bits[i] = '1'
		}
	}
	return string(bits)
}
