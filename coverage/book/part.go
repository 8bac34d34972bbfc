//go:build !js

// The engine in a browser's page keeps no books: without assessments in bytes (CBOR) it is a
// twentieth smaller.

package book

import (
	"bytes"
	"time"

	"lapwing/coverage/assess"
	"lapwing/geo"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
)

// A Part is what was found of one field and operation of a job, as a book keeps it.
type Part struct {
	Stored []byte // the whole assessment, as [assess.Assessment.Encode] writes it
	*assess.Summary

	First, Last time.Time // of the work, in UTC; zero where no log has a clock
	Boundary    []geo.Polygon
	// The shapes of the summary's skips and overlaps, and the way of the bar's centre in its
	// passes, each in the order of the summary.
	SkipShapes, OverlapShapes [][]geo.Polygon
	PassLines                 [][][]geo.LonLat
}

// lineTolerance is how far a pass's line may lie from the path of the bar's centre: less
// than receivers tell. Judgement; the line is for maps, and no area is reckoned from it.
const lineTolerance = plane.Distance(5 * plane.Centimetre)

// PartOf returns an assessment, made under the neutral names of its job, as a book keeps
// it.
func PartOf(a *assess.Assessment) (*Part, error) {
	var b bytes.Buffer
	if err := a.Encode(&b); err != nil {
		return nil, err
	}
	return partOf(a, b.Bytes()), nil
}

// ReadPart reads back the bytes of a part.
func ReadPart(stored []byte) (*Part, *assess.Assessment, error) {
	a, err := assess.Decode(bytes.NewReader(stored))
	if err != nil {
		return nil, nil, err
	}
	return partOf(a, stored), a, nil
}

func partOf(a *assess.Assessment, stored []byte) *Part {
	p := &Part{Stored: stored, Summary: a.Summarize()}
	for i := range a.Map.Passes {
		pass := &a.Map.Passes[i]
		if !assess.HasClock(a.Map, pass) {
			continue
		}
		if start := pass.Start.Time(); p.First.IsZero() || start.Before(p.First) {
			p.First = start
		}
		if end := pass.End.Time(); end.After(p.Last) {
			p.Last = end
		}
	}
	earth := geojson.NewEarth(a.Map.Field.Frame)
	p.Boundary = earth.Polygons(a.Map.Measured...)
	for _, i := range a.Skips().Each() {
		p.SkipShapes = append(p.SkipShapes, earth.Polygons(a.Map.Regions[a.Map.Skips[i].Region].Shape))
	}
	for _, i := range a.Overlaps().Each() {
		p.OverlapShapes = append(p.OverlapShapes, earth.Polygons(a.Map.Regions[a.Map.Overlaps[i].Region].Shape))
	}
	for i := range a.Map.Passes {
		p.PassLines = append(p.PassLines, earth.Line(assess.CentreLine(&a.Map.Passes[i], lineTolerance)))
	}
	return p
}

// Year is the year of its first work; 0 where no log has a clock.
func (p *Part) Year() int {
	if p.First.IsZero() {
		return 0
	}
	return p.First.Year()
}
