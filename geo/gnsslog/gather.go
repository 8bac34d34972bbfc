package gnsslog

import (
	"fmt"
	"math"
	"slices"

	"lapwing/geo"
	"lapwing/geo/gnsslog/naming"
)

// A gatherer puts together a log whose fixes come one by one, some perhaps
// without a time, and with values beside them that not every fix has.
type gatherer struct {
	name    string
	opt     Options
	log     Log
	timed   int
	points  int  // all that should be fixes
	parted  bool // the next fix begins a new segment
	columns []column
	byName  map[string]int // index in columns; -1 for one not kept
	troubles
}

type column struct {
	name  string
	value []byte // for the next fix
	interner
}

// untimed stands for a time until it is known whether the log has any.
const untimed = geo.Instant(math.MinInt64)

// part makes the next fix begin a new segment.
func (g *gatherer) part() { g.parted = true }

// beside notes a named value of the next fix, if it is to be kept.
func (g *gatherer) beside(name string, value []byte) {
	at, ok := g.byName[name]
	if !ok {
		at = g.meet(name)
	}
	if at >= 0 {
		g.columns[at].value = append(g.columns[at].value[:0], value...)
	}
}

// mostNames bounds how many names of values are listed.
const mostNames = 1000

func (g *gatherer) meet(name string) int {
	if len(g.byName) >= mostNames {
		return -1
	}
	if g.byName == nil {
		g.byName = map[string]int{}
	}
	at, as := -1, ""
	if short, _ := naming.Normal(name); g.opt.keeps(short) {
		at, as = len(g.columns), "kept as text"
		g.columns = append(g.columns, column{name: name})
		for range g.log.Fixes {
			g.columns[at].add(nil)
		}
	}
	g.byName[name] = at
	g.understand(name, as)
	return at
}

// understand says once how a part of the file was taken.
func (g *gatherer) understand(name, as string) {
	if !slices.ContainsFunc(g.log.Understood, func(m Meaning) bool { return m.Column == name }) {
		g.log.Understood = append(g.log.Understood, Meaning{name, as})
	}
}

// forget drops the values of a point that makes no fix.
func (g *gatherer) forget() {
	for i := range g.columns {
		g.columns[i].value = g.columns[i].value[:0]
	}
}

// add appends a fix; its time is untimed where the log gives none.
func (g *gatherer) add(fix geo.Fix, line int) {
	if fix.Time != untimed {
		g.timed++
	}
	if g.parted && len(g.log.Fixes) > 0 {
		g.log.Breaks = append(g.log.Breaks, len(g.log.Fixes))
	}
	g.parted = false
	g.log.Fixes = append(g.log.Fixes, fix)
	g.log.Lines = append(g.log.Lines, int32(line))
	for i := range g.columns {
		g.columns[i].add(g.columns[i].value)
	}
	g.forget()
}

// finish gives the log, or says why there is none. Where most fixes have a
// time, those without are dropped; where most have none, the log has no times.
func (g *gatherer) finish(format string) (*Log, error) {
	g.log.Format = format
	g.log.NoClock = g.timed*2 <= len(g.log.Fixes)
	if g.log.NoClock {
		if g.timed > 0 {
			g.log.Notes = append(g.log.Notes, geo.Note{Count: g.timed, Text: fmt.Sprintf(
				"only %d of %d points have a time; read as a log without times", g.timed, len(g.log.Fixes))})
		}
		for i := range g.log.Fixes {
			g.log.Fixes[i].Time = 0
		}
	} else if g.timed < len(g.log.Fixes) {
		g.dropUntimed()
	}
	if err := g.verdict(g.name, len(g.log.Fixes), g.points); err != nil {
		return nil, err
	}
	for _, c := range g.columns {
		g.log.Columns = append(g.log.Columns, Column{c.name, c.distinct, c.codes})
	}
	g.log.Notes = append(g.log.Notes, g.notes()...)
	return &g.log, nil
}

func (g *gatherer) dropUntimed() {
	old := g.log.Breaks
	g.log.Breaks = nil
	kept, parted := 0, false
	for i, fix := range g.log.Fixes {
		if len(old) > 0 && old[0] == i {
			old, parted = old[1:], true
		}
		if fix.Time == untimed {
			if !g.seen(noTime) {
				g.first(noTime, int(g.log.Lines[i]), "", "a point without a time", "a time, as others have")
			}
			continue
		}
		if parted && kept > 0 {
			g.log.Breaks = append(g.log.Breaks, kept)
		}
		parted = false
		g.log.Fixes[kept], g.log.Lines[kept] = fix, g.log.Lines[i]
		for c := range g.columns {
			g.columns[c].codes[kept] = g.columns[c].codes[i]
		}
		kept++
	}
	g.log.Fixes, g.log.Lines = g.log.Fixes[:kept], g.log.Lines[:kept]
	for c := range g.columns {
		g.columns[c].codes = g.columns[c].codes[:kept]
	}
}
