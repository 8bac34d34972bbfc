package coverage_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
)

// What a working state that is worked out from the motion may cost, against
// what the bar truly swept.
const (
	inferredCovered = 0.01  // of the covered ground
	inferredShare   = 0.15  // of skip and overlap, or
	inferredField   = 0.001 // of the field, whichever is more
)

// silentOnWork returns a scene whose log does not say when the bar worked.
func silentOnWork(s *covertest.Scene) *covertest.Scene {
	for i := range s.Machines {
		for k := range s.Machines[i].Tracks {
			t := &s.Machines[i].Tracks[k]
			t.WorkingLogged = false
			for j := range t.Fixes {
				t.Fixes[j].Working, t.Fixes[j].State = false, 0
			}
		}
	}
	return s
}

func holdsInferred(t *testing.T, s *covertest.Scene, why string) {
	t.Helper()
	truth := covertest.Raster(s.Field, s.Trails, 0.25)
	m := measure(t, silentOnWork(s).Field, s.Machines, field.Options{Rounds: 2})
	g := m.Totals
	for _, w := range m.Warnings {
		t.Log(w)
	}
	t.Logf("%s: covered %.0f for %.0f, skip %.0f for %.0f, overlap %.0f for %.0f, outside %.0f for %.0f, passes %d for %d", why,
		sq(g.Covered), truth.Covered(), sq(g.Skip), truth.Inside[0], sq(g.Overlap), truth.Overlap(), sq(g.OverReach), truth.OverReach(), len(m.Passes), len(s.Trails))
	field := inferredField * sq(g.Field)
	assert.InDelta(t, truth.Covered(), sq(g.Covered), inferredCovered*truth.Covered(), "covered: %s", why)
	assert.InDelta(t, truth.Inside[0], sq(g.Skip), max(field, inferredShare*truth.Inside[0]), "skip: %s", why)
	assert.InDelta(t, truth.Overlap(), sq(g.Overlap), max(field, inferredShare*truth.Overlap()), "overlap: %s", why)
	assert.InDelta(t, truth.OverReach(), sq(g.OverReach), max(field, inferredShare*truth.OverReach()), "over-reach: %s", why)
}

func TestInferredBarley(t *testing.T) {
	for _, rate := range []float64{1, 10} {
		holdsInferred(t, barley(rate, covertest.White(0.02)), fmt.Sprintf("%v Hz", rate))
	}
}

func TestInferredQuarterSection(t *testing.T) {
	for _, rate := range []float64{1, 10} {
		holdsInferred(t, covertest.QuarterSection(rate, 0.02, 7), fmt.Sprintf("%v Hz", rate))
	}
}

// lines is a field like barley that is worked in another order or manner.
func lines(rate float64, drive func(p *covertest.Path, ground covertest.Shape, g covertest.Lines)) *covertest.Scene {
	const width = 9
	ground := covertest.Rectangle(-120, -100, 120, 100)
	s := covertest.NewScene("lines", ground)
	path := covertest.NewPath(6)
	drive(path, ground, covertest.Lines{Ground: ground.Inset(2 * width), Width: width, Spacing: width - 0.1, RunIn: 5})
	return s.Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Mounted(width, 3, 4), Path: path,
		Speed: 2, Rate: rate, Seed: 11, Defects: []covertest.Defect{covertest.White(0.02)},
	})
}

func twoRounds(p *covertest.Path, ground covertest.Shape) {
	p.SquareRound(ground, 9, 8).SquareRound(ground.Inset(9), 9, 8)
}

func TestInferredOtherWork(t *testing.T) {
	for _, rate := range []float64{1, 5} {
		for name, s := range map[string]*covertest.Scene{
			"the headland last": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				p.Lines(g)
				twoRounds(p, ground)
			}),
			"a pass left out": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				twoRounds(p, ground)
				g.Adjust = func(i int, l *covertest.Line) {
					if i >= 9 {
						l.Across += 8.9
					}
					if l.Across > 102 {
						l.Runs = nil
					}
				}
				p.Lines(g)
			}),
			"a stop in a pass": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				twoRounds(p, ground)
				p.Off().TurnTo(covertest.Stance{XY: covertest.XY{X: -97.5, Y: 87}, Heading: math.Pi}).Straight(5)
				p.On().Straight(60).Stand(90).Straight(104).Off().Straight(5)
				g.First = 8.9
				p.Lines(g)
			}),
		} {
			holdsInferred(t, s, fmt.Sprintf("%s, %v Hz", name, rate))
		}
	}
}

// A drive with the bar lifted over ground that is worked later is no work, nor is one over a
// strip that was left out.
func TestInferredDrives(t *testing.T) {
	drive := func(p *covertest.Path, x, y, degrees, length float64) {
		p.Off().TurnTo(covertest.Stance{XY: covertest.XY{X: x, Y: y}, Heading: degrees * math.Pi / 180}).Straight(length)
	}
	for _, rate := range []float64{1, 5} {
		for name, s := range map[string]*covertest.Scene{
			"across the passes to come": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				twoRounds(p, ground)
				drive(p, -60, -70, 45, 150)
				p.Lines(g)
			}),
			"between the lines of two passes to come": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				twoRounds(p, ground)
				drive(p, 3, -75, 0, 150)
				p.Lines(g)
			}),
			"along the headland, a little off its line": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				twoRounds(p, ground)
				drive(p, -60, 85, 90, 120)
				p.Lines(g)
			}),
			"before the headland, which comes last": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				p.Lines(g)
				drive(p, 112, 60, 180, 120)
				twoRounds(p, ground)
			}),
			"outside the field, along its boundary": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				twoRounds(p, ground)
				drive(p, 124.6, 80, 180, 160)
				p.Lines(g)
			}),
			"over a strip that was left out": lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
				twoRounds(p, ground)
				g.Adjust = func(i int, l *covertest.Line) {
					switch {
					case i == 11:
						l.Runs = nil
					case i > 11: // or it would drive back along that strip
						l.Back = !l.Back
					}
				}
				p.Lines(g)
				drive(p, -30, -60, 15, 150)
			}),
		} {
			holdsInferred(t, s, fmt.Sprintf("%s, %v Hz", name, rate))
		}
	}
}

// Machines that share a field drive over one another's land: what one works later is no work
// of the other.
func TestInferredLands(t *testing.T) {
	const width = 9
	ground := covertest.Rectangle(-120, -100, 120, 100)
	s := covertest.NewScene("lands", ground)
	for k, name := range []string{"drill A", "drill B"} {
		p := covertest.NewPath(6)
		if k == 0 {
			twoRounds(p, ground)
		} else {
			p.Off().TurnTo(covertest.Stance{XY: covertest.XY{X: -90, Y: -60}, Heading: 50 * math.Pi / 180}).Straight(160)
		}
		p.Lines(covertest.Lines{
			Ground: ground.Inset(2 * width), Width: width, Spacing: width - 0.1, RunIn: 5,
			Adjust: func(i int, l *covertest.Line) {
				if (i < 12) != (k == 0) {
					l.Runs = nil
				}
			},
		})
		s.Drive(covertest.Rig{
			Name: name, Implement: covertest.Mounted(width, 3, 4), Path: p,
			Speed: 2, Rate: 2, Seed: uint64(11 + k), Defects: []covertest.Defect{covertest.White(0.02)},
		})
	}
	holdsInferred(t, s, "two drills")
}

// A field with a hole that passes go round, corners driven round, and the bar
// lifted on the way over new ground to the hole and from it.
func TestInferredHole(t *testing.T) {
	for seed := range uint64(4) {
		holdsInferred(t, covertest.Small(0.02, seed), fmt.Sprintf("seed %d", seed))
	}
	holdsInferred(t, covertest.Small(0, 0), "without noise")
}

// Who backs up does not work, and what is driven again after it is no new work.
func TestInferredBackingUp(t *testing.T) {
	for _, rate := range []float64{1, 5} {
		holdsInferred(t, lines(rate, func(p *covertest.Path, ground covertest.Shape, g covertest.Lines) {
			twoRounds(p, ground)
			p.Off().TurnTo(covertest.Stance{XY: covertest.XY{X: -97.5, Y: 87}, Heading: math.Pi}).Straight(5)
			p.On().Straight(60).Off().Back(25).Straight(25).On().Straight(104).Off().Straight(5)
			g.First = 8.9
			p.Lines(g)
		}), fmt.Sprintf("%v Hz", rate))
	}
}

// Without times there is the way all the same.
func TestInferredNoClock(t *testing.T) {
	s := barley(5, covertest.White(0.02))
	track := &s.Machines[0].Tracks[0]
	track.NoClock = true
	for i := range track.Fixes {
		track.Fixes[i].Time = 0
	}
	holdsInferred(t, s, "no clock")
}

// A roller that follows a drill covers the same ground and is not taken to
// travel there; a drill works the headland for another that says nothing of
// its work.
func TestInferredBesideAnother(t *testing.T) {
	a, b := barley(2, covertest.White(0.02)), barley(2, covertest.White(0.02))
	b.Machines[0].Name = "roller"
	s := &covertest.Scene{Field: a.Field, Machines: append(a.Machines, silentOnWork(b).Machines...)}
	m := measure(t, s.Field, s.Machines, field.Options{Rounds: 2})
	alone := measure(t, b.Field, b.Machines, field.Options{Rounds: 2})
	var roller, rollerAlone float64
	for _, p := range m.Passes {
		if s.Machines[p.Machine].Name == "roller" {
			roller += sq(p.Swept)
		}
	}
	for _, p := range alone.Passes {
		rollerAlone += sq(p.Swept)
	}
	assert.InDelta(t, rollerAlone, roller, 0.01*rollerAlone)
}
