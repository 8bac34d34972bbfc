//go:build !js

package book

import (
	"context"
	"time"

	"lapwing/geo"
)

// A Featured gives what a book shows as features of layers, for other programs: read only,
// and never more than whoever asks may see, see [As].
type Featured interface {
	// Features calls do with the features of a selection in the order of their numbers. An
	// error of do ends it.
	Features(ctx context.Context, of Selection, do func(Feature) error) error

	// Matched counts the features of a selection, whatever its After and Most are.
	Matched(ctx context.Context, of Selection) (int, error)

	// Reach says where and when the features of a layer are.
	Reach(ctx context.Context, layer string) (Reach, error)

	// Tile gives the features of a selection that lie on a tile of WebMercatorQuad (package
	// geo/tile), as a vector tile: at small zooms only fields, as points, and at most as much
	// as a screen shows, the newest. It is empty where there is nothing.
	Tile(ctx context.Context, of Selection, z, x, y int) ([]byte, error)
}

// A Selection is which features of a layer are meant; zero values of all but Layer mean any.
type Selection struct {
	Layer string // the name of one of [Layers]
	ID    int64
	Box   *geo.Extent // any of which they meet, the edges straight in longitude and latitude
	// From and To bound when the work was, both of them included. What has no time is
	// selected too.
	From, To time.Time
	Where    map[string]any // a text or a year (an int) by the name of a filter of the layer
	After    int64          // features whose numbers come later
	Most     int            // so many of them
}

// A Reach is where and when features are.
type Reach struct {
	Box         *geo.Extent // nil where there are none
	First, Last time.Time   // zero where no log has a clock
}

// A Feature is one row of a layer.
type Feature struct {
	ID       int64
	Polygons []geo.Polygon  // of a layer of polygons
	Lines    [][]geo.LonLat // of a layer of lines
	Values   []any          // one for each property of the layer: string, int64, float64, bool, time.Time or nil
}

// A Kind is what values a property has.
type Kind int

// The kinds of properties.
const (
	Text Kind = iota
	Integer
	Real
	Truth
	Moment // a time in UTC
)

// A Property is one of the properties that all features of a layer have.
type Property struct {
	Name  string
	Kind  Kind
	About string
	Drawn bool // tiles have it too
}

// A Filter is a property of features, or of the work that they are of, by which they are
// selected.
type Filter struct {
	Name  string
	Kind  Kind // Text or Integer
	About string
}

// A Layer is one kind of features of a book.
type Layer struct {
	Name, Title, About string
	Lines              bool // of lines, else of polygons
	Properties         []Property
	Filters            []Filter
	// FromZoom is the smallest zoom of tiles that show it: there a screen holds a few
	// dozen fields.
	FromZoom int
}

// ShapesFrom is the smallest zoom at which fields have their shape on a tile, and are more
// than a few pixels; below it each is a point.
const ShapesFrom = 10

// detailsFrom is the smallest zoom at which a tile shows what is in a field: a pass of 12 m
// is a pixel wide there, at 50 degrees of latitude.
const detailsFrom = 13

var (
	byField   = Filter{"field", Text, "the name of the field"}
	byFarm    = Filter{"farm", Text, "the name of the farm"}
	byYear    = Filter{"year", Integer, "the year of the work"}
	byCrop    = Filter{"crop", Text, "the name of the crop"}
	byMachine = Filter{"machine", Text, "the name of a machine that did the work"}
	byCause   = Filter{"cause", Text, "why it came about"}

	fieldName = Property{"field", Text, "the name of the field", true}
	farmName  = Property{"farm", Text, "the name of the farm", true}
	year      = Property{"year", Integer, "the year of the work", true}
	operation = Property{"operation", Text, "the operation, where a field had several", false}
	firstWork = Property{"first_work", Moment, "when the work began", false}
	lastWork  = Property{"last_work", Moment, "when the work ended", false}
	groundID  = Property{"ground_id", Integer, "the number of its feature in ground", false}
	number    = Property{"number", Integer, "its number on the field's page", true}
	area      = Property{"area_m2", Real, "area in m²", true}
	ofWork    = []Filter{byField, byFarm, byYear, byCrop, byMachine}
	ofItsWork = []Property{fieldName, farmName, year, operation, groundID, number}
)

// Layers are the layers of each book.
var Layers = []Layer{
	{
		Name: "fields", Title: "Fields", About: "the ground of each field through the years, with the boundary as last worked",
		Properties: []Property{
			fieldName, farmName, area,
			{"last_year", Integer, "the year of its latest work", true},
			{"works", Integer, "how many assessments are of it", false},
			firstWork, lastWork,
		},
		Filters: []Filter{byField, byFarm, {"year", Integer, "a year in which it was worked"}, {"crop", Text, "the name of a crop that was grown on it"}, {"machine", Text, "the name of a machine that worked it"}},
	},
	{
		Name: "ground", Title: "Ground", About: "what was found of a field and an operation in a season: the boundary as it was measured, with figures",
		Properties: []Property{
			fieldName, farmName, year, operation, {"crop", Text, "the crop, where the job names it", true}, firstWork, lastWork,
			{"field_id", Integer, "the number of its feature in fields", false},
			{"machines", Text, "the machines that worked, with commas between", false},
			{"operators", Text, "who drove them, with commas between", false},
			area,
			{"covered_m2", Real, "ground inside with one visit or more, in m²", false},
			{"skip_m2", Real, "ground inside with no visit, where the log is not silent, in m²", true},
			{"remainder_m2", Real, "the part of skip that is not worked yet, in m²", false},
			{"overlap_m2", Real, "ground inside with two visits or more, counted once, in m²", true},
			{"excess_m2", Real, "ground inside, every visit after the first, in m²", false},
			{"overreach_m2", Real, "covered ground outside the boundary or in a hole, in m²", false},
			{"unlogged_m2", Real, "ground over which the log is silent, in m²", false},
			{"swept_m2", Real, "all swaths together, laps counted, in m²", false},
			{"headland_completion", Real, "the part of the headland that is covered, 0 to 1", false},
			{"edge_open_m", Real, "length of the boundary that covered ground does not come near, in m", false},
			{"wasted_n_kg", Real, "nitrogen wasted, in kg", false},
			{"wasted_cost", Real, "cost of product wasted, in the currency", false},
			{"currency", Text, "the currency of the cost", false},
			{"skips", Integer, "how many skips there are", false},
			{"passes", Integer, "how many passes there are", false},
			{"warnings", Integer, "how many warnings there are", false},
		},
		Filters: ofWork, FromZoom: ShapesFrom,
	},
	{
		Name: "passes", Title: "Passes", About: "the way of the bar's centre", Lines: true,
		Properties: append(ofItsWork[:len(ofItsWork):len(ofItsWork)],
			Property{"machine", Text, "the machine", true},
			Property{"kind", Text, "headland or interior", true},
			Property{"start_time", Moment, "when the pass began", false},
			Property{"end_time", Moment, "when the pass ended", false},
			Property{"length_m", Real, "length in m", false},
			Property{"swept_m2", Real, "its ground, laps counted, in m²", false},
			Property{"new_m2", Real, "ground that it covered first, in m²", false},
			Property{"overlap_m2", Real, "ground that an earlier visit had covered, in m²", false}),
		Filters: []Filter{byField, byFarm, byYear, byCrop, {"machine", Text, "the name of the machine"}}, FromZoom: detailsFrom,
	},
	{
		Name: "skips", Title: "Skips", About: "ground that no pass covered",
		Properties: append(ofItsWork[:len(ofItsWork):len(ofItsWork)],
			area,
			Property{"length_m", Real, "length in m", false},
			Property{"width_m", Real, "width in m", false},
			Property{"cause", Text, "why it came about", true},
			Property{"mistake", Truth, "false where it is ground not worked yet, or along a side of the boundary that does not fit", false},
			Property{"place", Text, "where on the field it is", false},
			firstWork, lastWork),
		Filters: append(ofWork[:len(ofWork):len(ofWork)], byCause), FromZoom: detailsFrom,
	},
	{
		Name: "overlaps", Title: "Overlaps", About: "ground worked twice or more",
		Properties: append(ofItsWork[:len(ofItsWork):len(ofItsWork)],
			area,
			Property{"depth", Integer, "number of visits", true},
			Property{"cause", Text, "why it came about", true},
			Property{"place", Text, "where on the field it is", false},
			firstWork, lastWork),
		Filters: append(ofWork[:len(ofWork):len(ofWork)], byCause), FromZoom: detailsFrom,
	},
}

// LayerNamed returns the layer of a name; false where there is none.
func LayerNamed(name string) (Layer, bool) {
	for _, l := range Layers {
		if l.Name == name {
			return l, true
		}
	}
	return Layer{}, false
}
