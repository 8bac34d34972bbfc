package worklog

import (
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog/cover"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// A log may have the ground of each moment instead of the machine's place: a
// polygon for each section of the bar, from where the bar was to where it went.
// They are put together to fixes of the bar's middle with the part of the bar that
// worked, as a log with a column of sections has them.

// covered is what a log made of polygons knows of the bar.
type covered struct {
	states []machine.State // by code of the column of sections; nil for the whole bar
	width  float64         // m
	notes  []field.Warning
	swings swings // how it turned
}

// on are the states for a bar: one that is as wide as it is the whole bar.
func (c *covered) on(bar plane.Length) []machine.State {
	out := make([]machine.State, len(c.states))
	slack := plane.Metres(widerThanBar * bar.Metres())
	for i, s := range c.states {
		whole := len(s) == 1 && max(s[0].Left+bar/2, -s[0].Left-bar/2, s[0].Right-bar/2, bar/2-s[0].Right) <= slack
		if !whole {
			out[i] = s
		}
	}
	return out
}

// joinCover makes a log of the bar's middle of one of polygons; any other is left
// as it is.
func (l Log) joinCover() Log {
	if len(l.Cover) == 0 {
		return l
	}
	way := cover.Join(l.Fixes, l.Cover)
	if way == nil {
		l.cover, l.sections = &covered{}, nil
		return l
	}
	log := *l.Log
	log.Fixes, log.Breaks, log.Lines, log.Columns, log.Cover = way.Fixes, way.Breaks, nil, nil, nil
	for _, p := range way.Polygons {
		log.Lines = append(log.Lines, l.Lines[p])
	}
	for _, col := range l.Columns {
		codes := make([]uint32, len(way.Polygons))
		for i, p := range way.Polygons {
			codes[i] = col.Codes[p]
		}
		log.Columns = append(log.Columns, gnsslog.Column{Name: col.Name, Distinct: col.Distinct, Codes: codes})
	}
	out := l
	out.Log, out.cover = &log, &covered{states: way.States, width: way.Width, notes: Noted(l.File, way.Notes), swings: swingsOf(swungOf(way))}
	out.working, out.machine = out.same(l.working), out.same(l.machine)
	out.sections, out.width, out.part = &gnsslog.Column{Name: "polygon", Codes: way.Codes}, nil, nil
	for _, col := range l.Columns {
		n := way.Differ(col.Codes)
		if _, _, rate := rateOf(col.Name); rate && n > 0 {
			out.cover.notes = append(out.cover.notes, field.Warning{File: l.File, Count: n,
				Text: where(col.Name) + ": polygons side by side differ; that of the widest is taken for the bar"})
		}
	}
	return out
}
