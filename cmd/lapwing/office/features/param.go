package features

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"lapwing/coverage/book"
	"lapwing/geo"
	"lapwing/geo/tile"
)

// A param is a parameter of a question.
type param struct {
	name, about string
	inPath      bool
	more        object // of its description: schema, style and explode
	read        func(c *call, text string) error
	absent      func(*call) // what holds without it
}

// How many features a page has.
const (
	mostOnPage  = 1000
	usualOnPage = 100
)

var formatParam = param{name: "f", about: "how the answer is written", more: schema(object{"type": "string", "enum": []string{"json"}}),
	read: func(_ *call, text string) error {
		if text != "json" {
			return wrong(text, "json")
		}
		return nil
	}}

// A limit above the most is the most: answers never have more than it says
// (/req/core/fc-limit-response-1).
var limitParam = param{
	name: "limit", about: "at most so many features on a page",
	more:   schema(object{"type": "integer", "minimum": 1, "maximum": mostOnPage, "default": usualOnPage}),
	absent: func(c *call) { c.of.Most = usualOnPage },
	read: func(c *call, text string) error {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 1 {
			return wrong(text, fmt.Sprintf("a whole number from 1 to %d", mostOnPage))
		}
		c.of.Most = int(min(n, mostOnPage))
		return nil
	},
}

var afterParam = param{
	name: "after", about: "the page after the feature of this number, as links to the next page have it",
	more: schema(object{"type": "integer", "format": "int64", "minimum": 1}),
	read: func(c *call, text string) (err error) {
		if c.of.After, err = strconv.ParseInt(text, 10, 64); err != nil || c.of.After < 1 {
			return wrong(text, "a whole number above 0, as the link to the next page has it")
		}
		return nil
	},
}

// A box that goes over the antimeridian has its west east of its east (OGC 17-069r4, 7.15.3).
// Heights are read and mean nothing: features have none.
var bboxParam = param{
	name: "bbox", about: "only features that meet the box from west, south to east, north, in degrees on WGS 84",
	more: object{"style": "form", "explode": false, "schema": object{"type": "array", "items": object{"type": "number"}, "oneOf": []object{
		{"type": "array", "items": object{"type": "number"}, "minItems": 4, "maxItems": 4}, {"type": "array", "items": object{"type": "number"}, "minItems": 6, "maxItems": 6}}}},
	read: func(c *call, text string) error {
		const want = "four numbers WEST,SOUTH,EAST,NORTH, or six with heights, in degrees, SOUTH not above NORTH"
		var v []float64
		for part := range strings.SplitSeq(text, ",") {
			n, err := strconv.ParseFloat(part, 64)
			if err != nil {
				return wrong(text, want)
			}
			v = append(v, n)
		}
		if len(v) == 6 {
			v = []float64{v[0], v[1], v[3], v[4]}
		}
		if len(v) != 4 || !(v[1] <= v[3]) {
			return wrong(text, want)
		}
		for i, n := range v {
			if most := []float64{180, 90}[i%2]; !(n >= -most && n <= most) { // as is what is no number
				return wrong(text, "longitudes within 180 degrees and latitudes within 90")
			}
		}
		c.of.Box = &geo.Extent{West: v[0], South: v[1], East: v[2], North: v[3]}
		if v[2] < v[0] {
			c.of.Box.East += 360
		}
		return nil
	},
}

var datetimeParam = param{
	name: "datetime", about: "only what was worked at a time, or between two with / between, .. for one that is open; what has no time is selected too",
	more: object{"style": "form", "explode": false, "schema": object{"type": "string"}},
	read: func(c *call, text string) error {
		const want = "a time of RFC 3339 such as 2026-05-04T09:00:00Z, or two with / between, the earlier first, one of which may be .."
		first, last, interval := strings.Cut(text, "/")
		if !interval {
			last = first
		}
		for _, end := range []struct {
			text string
			to   *time.Time
		}{{first, &c.of.From}, {last, &c.of.To}} {
			if interval && (end.text == "" || end.text == "..") {
				continue
			}
			at, err := time.Parse(time.RFC3339, strings.ToUpper(end.text))
			if err != nil {
				return wrong(text, want)
			}
			*end.to = at
		}
		if interval && c.of.From.IsZero() && c.of.To.IsZero() || !c.of.To.IsZero() && c.of.To.Before(c.of.From) {
			return wrong(text, want)
		}
		return nil
	},
}

var featureParam = param{
	name: "featureId", inPath: true, about: "the number of a feature",
	more: schema(object{"type": "integer", "format": "int64"}),
	read: func(c *call, text string) (err error) {
		if c.of.ID, err = strconv.ParseInt(text, 10, 64); err != nil || c.of.ID < 1 {
			return wrong(text, "the number of a feature")
		}
		return nil
	},
}

var layersParam = param{
	name: "collections", about: "only these, with commas between; else all that can be selected so",
	more: object{"style": "form", "explode": false, "schema": object{"type": "array", "minItems": 1, "items": object{"type": "string", "enum": layerNames()}}},
	read: func(c *call, text string) error {
		for name := range strings.SplitSeq(text, ",") {
			if !slices.Contains(layerNames(), name) {
				return wrong(name, "some of "+strings.Join(layerNames(), ", "))
			}
			if !slices.Contains(c.layers, name) {
				c.layers = append(c.layers, name)
			}
		}
		return nil
	},
}

func layerNames() (names []string) {
	for _, l := range book.Layers {
		names = append(names, l.Name)
	}
	return names
}

// tileEnding ends the address of a tile.
const tileEnding = ".mvt"

var (
	zParam = tileParam("z", "the zoom", func(c *call) *int { return &c.z })
	xParam = tileParam("x", "the column, from the west", func(c *call) *int { return &c.x })
	yParam = tileParam("y", "the row, from the north", func(c *call) *int { return &c.y })
)

func tileParam(name, about string, of func(*call) *int) param {
	most := 1<<tile.Deepest - 1
	if name == "z" {
		most = tile.Deepest
	}
	return param{name: name, about: about, inPath: true, more: schema(object{"type": "integer", "minimum": 0, "maximum": most}),
		read: func(c *call, text string) (err error) {
			if name == "y" {
				var ends bool
				if text, ends = strings.CutSuffix(text, tileEnding); !ends {
					return wrong(text, "a number and "+tileEnding)
				}
			}
			if *of(c), err = strconv.Atoi(text); err != nil {
				return wrong(text, "a number of a tile")
			}
			return nil
		}}
}

// filtersOf are the parameters for filters.
func filtersOf(filters []book.Filter) (params []param) {
	for _, f := range filters {
		p := param{name: f.Name, about: "only features with this: " + f.About, more: schema(object{"type": "string", "minLength": 1})}
		if f.Kind == book.Integer {
			p.more = schema(object{"type": "integer", "minimum": 1, "maximum": 9999})
		}
		p.read = func(c *call, text string) error {
			var value any = text
			if f.Kind == book.Integer {
				n, err := strconv.Atoi(text)
				if err != nil || n < 1 || n > 9999 {
					return wrong(text, "a year such as 2026")
				}
				value = n
			} else if text == "" {
				return wrong(text, "a name")
			}
			if c.of.Where == nil {
				c.of.Where = map[string]any{}
			}
			c.of.Where[f.Name] = value
			return nil
		}
		params = append(params, p)
	}
	return params
}

// allFilters are those of all layers, each once.
func allFilters() []param {
	var all []book.Filter
	for _, l := range book.Layers {
		for _, f := range l.Filters {
			if !slices.ContainsFunc(all, func(o book.Filter) bool { return o.Name == f.Name }) {
				all = append(all, f)
			}
		}
	}
	return filtersOf(all)
}

func schema(of object) object { return object{"schema": of} }

// wrong is an error of a parameter's value; [call.read] knows its name.
func wrong(found, want string) error {
	const most = 60
	if len(found) > most {
		found = strings.ToValidUTF8(found[:most], "") + "..."
	}
	return &wrongParam{found: strconv.Quote(found), want: want}
}

// isText returns an error of what no database takes for text.
func isText(text string) *wrongParam {
	if !utf8.ValidString(text) || strings.ContainsRune(text, 0) {
		return &wrongParam{found: strconv.Quote(text), want: "UTF-8 without a zero"}
	}
	return nil
}
