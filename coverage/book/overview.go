//go:build !js

package book

import (
	"context"
	"math"
	"strings"
	"time"

	"lapwing/geo"
)

// An Attention is what a field needs most of all, as the map of all fields draws it.
type Attention int

// What a field may need, the more pressing the later.
const (
	NeedsNothing Attention = iota
	Unfinished             // ground is not worked yet
	Laps                   // much was worked twice
	Skips                  // ground was skipped between what was worked
)

// From which share of a field on it needs attention. Judgement; nothing is measured by
// them. A field of 64 ha (a quarter of a square mile) has skips from a seventh of a hectare
// on, and laps from twice what a careful driver without sections leaves in its headlands.
const (
	skipShare       = 0.002
	lapShare        = 0.05
	unfinishedShare = 0.02
)

// Skipped is the ground in m² that was skipped by mistake: without what is simply not
// worked yet, and what is likely the outline's.
func (p *Part) Skipped() float64 {
	return max(0, p.Ground.Skip.Float()-p.Ground.Remainder.Float()-p.Ground.Outlined.Float())
}

// Unworked is the ground in m² that is not worked yet, without yards.
func (p *Part) Unworked() float64 {
	return max(0, p.Ground.Remainder.Float()-p.Ground.Yards.Float())
}

// Attention is what the field of a part needs most.
func (p *Part) Attention() Attention {
	area := p.Field.Area.Float()
	switch {
	case p.Skipped() > skipShare*area:
		return Skips
	case p.Ground.Excess.Float() > lapShare*area:
		return Laps
	case p.Unworked() > unfinishedShare*area:
		return Unfinished
	}
	return NeedsNothing
}

// A MapPlace is a place on the map of all fields, in degrees of Mercator's projection of
// the sphere: X is the longitude, Y as long as that at the equator. Shapes keep their form,
// and nothing is measured there.
type MapPlace struct{ X, Y float64 }

// mostLat is where the map ends, as far from the equator as the antimeridian is from
// Greenwich on it.
const mostLat = 85.05112878

// OnMap is where a place is on the map.
func OnMap(at geo.LonLat) MapPlace {
	lat := min(max(at.Lat, -mostLat), mostLat) * math.Pi / 180
	return MapPlace{at.Lon, math.Asinh(math.Tan(lat)) * 180 / math.Pi}
}

// A MapBox is a box on the map.
type MapBox struct{ Least, Most MapPlace }

// BoxOnMap is the box of polygons; false of none. Ground on both sides of the antimeridian
// has a box around the Earth.
func BoxOnMap(polygons []geo.Polygon) (box MapBox, some bool) {
	box = MapBox{MapPlace{math.Inf(1), math.Inf(1)}, MapPlace{math.Inf(-1), math.Inf(-1)}}
	for _, p := range polygons {
		for _, at := range p.Shell {
			m := OnMap(at)
			box.Least = MapPlace{min(box.Least.X, m.X), min(box.Least.Y, m.Y)}
			box.Most = MapPlace{max(box.Most.X, m.X), max(box.Most.Y, m.Y)}
			some = true
		}
	}
	return box, some
}

// A Sieve is which fields are on the map. The zero value is those of a season 0, whose
// logs have no clock.
type Sieve struct {
	Season                  int
	Farm                    int64  // [WholeBook] for all that whoever asks may see
	Crop, Machine, Operator string // their names; "" for any
	Named                   string // a part of the field's name, in small letters or large
	// First and Last are days that the last work lies between, both included; zero for any.
	First, Last time.Time
}

// IsWhole reports whether all fields of the season are on the map.
func (s Sieve) IsWhole() bool {
	return s.Crop == "" && s.Machine == "" && s.Operator == "" && strings.TrimSpace(s.Named) == "" && s.First.IsZero() && s.Last.IsZero()
}

// A View is what is looked at: a box of the map, on a drawing of so many pixels.
type View struct {
	MapBox
	Wide, High int
}

// Pixel is how many degrees of the map a pixel is.
func (v View) Pixel() float64 {
	return max((v.Most.X-v.Least.X)/float64(max(1, v.Wide)), (v.Most.Y-v.Least.Y)/float64(max(1, v.High)))
}

// A Square counts the assessments of a square of the map.
type Square struct {
	X, Y                            int // from the corner of the map, in squares
	Fields, Skips, Laps, Unfinished int
}

// A FieldOnMap is an assessment on the map.
type FieldOnMap struct {
	ID        int64
	Name      string
	Attention Attention
	// Outline is the boundary as JSON: rings of whole millionths of a degree on the map,
	// [x, y, dx, dy, ...], each corner but the first told from the one before.
	Outline string
}

// A SkipOnMap is a skip on the map; its outline is one of [FieldOnMap].
type SkipOnMap struct {
	Field   int64 // the assessment
	Number  int   // in its lists
	Outline string
}

// An Overview is what is drawn of a view: squares from afar, else fields, and their skips
// where the view is near.
type Overview struct {
	Size    float64 // of a square, in degrees; 0 where fields are drawn
	Squares []Square
	Fields  []FieldOnMap
	Skips   []SkipOnMap
	// FieldsLeft and SkipsLeft report that not all are drawn.
	FieldsLeft, SkipsLeft bool
}

// A FieldFigures is what is said of an assessment on the map.
type FieldFigures struct {
	Job                                   string // its key
	Part                                  int
	Name, Operation, Crop, Farm           string
	Machines                              []string
	First, Last                           time.Time // in UTC; zero where no log has a clock
	Area, Skipped, Excess, Unworked, Open float64   // m², the open edge in m
	Skips                                 int
	Attention                             Attention
	Box                                   MapBox
}

// A Chooser is what a person may choose on the map.
type Chooser struct {
	Seasons                    []int // the last one first; 0 for fields without a clock
	Farms                      []Farm
	Crops, Machines, Operators []string
	Box                        MapBox // that holds all fields of a season
	Some                       bool   // whether it has any
	Fields                     int    // assessments of that season
}

// An Atlas is a book whose fields can be looked at all at once. Whoever asks sees what they
// may see ([As]).
type Atlas interface {
	// Chooser lists what may be chosen, of a season; of the last one below zero.
	Chooser(ctx context.Context, season int) (Chooser, error)
	// Overview returns what is drawn of a view, a screen's worth at most.
	Overview(ctx context.Context, of Sieve, view View) (*Overview, error)
	// FieldFigures returns what is said of an assessment; [ErrNotFound] where whoever asks
	// may not see it.
	FieldFigures(ctx context.Context, id int64) (*FieldFigures, error)
}
