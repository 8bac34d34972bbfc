//go:build !js

package book

import (
	"context"

	"lapwing/coverage/cause"
	"lapwing/geo"
)

// A Years is a book that answers questions over years and farms. Whoever asks ([As]) gets
// answers of what they may see, of the farm that they ask of. A year is 0 where the logs have
// no clock. Lists go by farm and year, the last one first.
type Years interface {
	// Wasted is the nitrogen that was wasted, by farm, year and cause; the most first.
	Wasted(ctx context.Context) ([]WastedNitrogen, error)
	// Returns are the pieces of ground that were skipped in two years, the most ground first:
	// so many at most, and whether there are more.
	Returns(ctx context.Context, most int) (list []SkipReturn, more bool, err error)
	// Widths is how the laps of a machine lie on the mean of its fields.
	Widths(ctx context.Context) ([]MachineWidth, error)
	// Hours is what operators did, by farm and year.
	Hours(ctx context.Context) ([]OperatorHours, error)
	// Sections is what sections that shut would have saved, by farm and year.
	Sections(ctx context.Context) ([]SectionSaving, error)
}

// A WastedNitrogen is what was wasted of nitrogen by one cause, on one farm in one year.
type WastedNitrogen struct {
	Farm string
	Year int
	// Cause is that of an overlap, agronomy.BeyondBoundary, or [TooSmall]; "" for what an
	// assessment that tells of no causes wasted.
	Cause cause.OverlapCause
	N     float64 // kg
	// Ground was covered too often, in m²; what two products lay on counts twice.
	Ground float64
	// Area is that of the fields of the farm and year whose products say what nitrogen is in
	// them, each field once however often it was worked, in m².
	Area   float64
	Fields int
}

// TooSmall stands for the cause of patches that are too small to have one.
const TooSmall cause.OverlapCause = "too small"

// A SkipReturn is ground that was skipped in two years.
type SkipReturn struct {
	Farm, Field    string
	Earlier, Later int        // years
	Skip           int        // its number in the lists of the later year
	Job            string     // of the later year, and which part of it
	Part           int        //
	Area           float64    // skipped in both, in m²
	At             geo.LonLat // in the middle of the largest piece
}

// A MachineWidth is how the laps of a machine lie, over its fields of a year, in m; a gap is
// below zero. Left and right are as driven.
type MachineWidth struct {
	Farm, Machine string
	Year          int
	Width         float64 // of the bar, as the jobs have it
	Fields        int     // on which a lap can be told
	Along         float64 // of passes beside ground that was worked before
	Kept, Aimed   float64 // means by length
	Left, Right   float64 // of Kept, of either side; NaN where it has none
	// Wide and Narrow are on how many fields the laps were [Steady] or more beyond what was
	// aimed for, and short of it.
	Wide, Narrow int
	// Sides is on how many fields the machine kept laps on both sides, each along a tenth of
	// the way or more; Hang how much more it laps left than on the mean of both sides there,
	// see lapsum.Hang, and on how many fields that is [Steady] or more either way.
	Sides                 int
	Hang                  float64
	HangsLeft, HangsRight int
}

// Steady is from which length on a lap is off, in m: two inches, more than hand steering
// favours a side by. Judgement.
const Steady = 0.0508

// An OperatorHours is what an operator did on one farm in one year.
type OperatorHours struct {
	Farm, Operator string // "" where no job names who drove
	Year           int
	Fields         int     // assessments with a machine that they drove
	Clocked        int     // of them those whose logs have a clock
	InField        float64 // s, turns and stops in the field counted, the way between fields not
	Working        float64 // s of it at work
	Swept, New     float64 // m²; New had not been covered before
	Lapped         float64 // m² that had
	ClockedNew     float64 // New of those with a clock
}

// A SectionSaving is what was worked twice and more where sections that shut over covered
// ground would have shut: where rows run out (point rows) and where a pass runs onto the
// headland.
type SectionSaving struct {
	Farm      string
	Year      int
	Fields    int     // assessments
	Area      float64 // of their fields, m²
	Excess    float64 // all ground covered too often, each visit after the first, m²
	PointRows float64 // of it where rows run out, m²
	Headland  float64 // of it onto the headland, m²
	// N and Cost are what products that say so had there, of both; Currency "" where no
	// product has a price, or several currencies are there.
	N, Cost  float64
	Currency string
}
