package main

import (
	"math"
	"time"

	"lapwing/coverage/covertest"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// runOn is how far before it leaves the headland a drill is lowered, and how
// far past its inner edge it is lifted, metres. Crews lap so on purpose; and a
// log of a fix a second knows the ends of a pass only to the metres driven in
// that second, so that less would show as skips that are not there.
const runOn = 3.0

// ternBank is one towed drill in a field with a slanted side and a pit.
//
//	+----------------------------+        round 1 leaves the north edge open
//	|  ~~~~ edge open            \
//	|                             \       from line 13 on all lines are 0.7 m
//	|           ( pit )            \      too far north: a strip is missed
//	|------ strip missed -----------\
//	|                                \
//	+---------------------------------+
func ternBank() *sample {
	const (
		width   = 9.0 // 72 openers at 12.5 cm
		lap     = 0.1
		spacing = width - lap
		behind  = 7.5 // the bar is so far behind the antenna
		runIn   = 15.0
	)
	ground := covertest.Shape{{X: -225, Y: -150}, {X: 225, Y: -150}, {X: 105, Y: 150}, {X: -225, Y: 150}}
	pit := covertest.Disc(covertest.XY{X: -30, Y: 45}, 12, 16)
	scene := covertest.NewSceneAt(geo.LonLat{Lon: 2.31, Lat: 54.71}, "Tern Bank, Pit Field", ground, pit)
	marks := map[string]covertest.XY{"pit": {X: -30, Y: 45}}

	path := covertest.NewPath(6.5)
	// Side 2 is the north edge, driven from east to west.
	path.SquareRoundBy(ground, width, runIn, func(side int, length float64) {
		lower(path, behind)
		length -= behind
		switch side {
		case 0: // a stop to clear a blocked hose, the drill in the ground
			path.Straight(150).Stand(40).Straight(length - 150)
		case 2:
			west := path.End().X // where the side begins, but for the bar's way behind
			sidestep(path.Straight(112), 20, -1.2)
			path.Straight(60)
			sidestep(path, 20, 1.2)
			marks["open edge"] = covertest.XY{X: west - 112 - 20 - 30, Y: 150}
			path.Straight(length - 112 - 20 - 60 - 20)
		default:
			path.Straight(length)
		}
		lift(path, behind)
	})
	path.SquareRoundBy(ground.Inset(spacing), width, runIn, func(_ int, length float64) {
		lower(path, behind)
		path.Straight(length - behind + runOn)
	})
	// Round the pit the machine keeps farther off than the bar, which cuts in:
	// it goes on a circle of 17.4 m where the bar's has 16.4 m, and so on.
	for _, clear := range []float64{width/2 + 0.9, width/2 + spacing + 0.55} {
		path.HoleRound(pit, clear).On().Arc(12+clear, 0.3).Off().Arc(12+clear, 0.5)
	}
	path.Lines(covertest.Lines{
		Ground: ground.Inset(width + spacing), Holes: []covertest.Shape{pit.Inset(-width - spacing)},
		Heading: -math.Pi / 2, Width: width, Spacing: spacing, Ends: covertest.LastCorner, RunIn: runIn, HoleRun: runIn,
		First: -lap,
		Adjust: func(i int, l *covertest.Line) {
			for r := range l.Runs {
				l.Runs[r].From -= runOn
				l.Runs[r].To += runOn
			}
			if i < 12 {
				return
			}
			if i == 12 {
				marks["strip"] = covertest.XY{X: 0, Y: l.Across + (0.7-spacing)/2}
			}
			l.Across += 0.7
		},
	})

	imp := machine.Implement{
		Name: "9 m drill", Width: 9 * plane.Metre, Openers: 72, RowSpacing: plane.Metre / 8,
		Sections: machine.EqualSections(9*plane.Metre, 6),
		Towed:    true, AntennaToHitch: plane.Metre * 3 / 2, HitchToBar: 6 * plane.Metre,
	}
	rig := covertest.Rig{
		Name: "drill", File: "drill.csv", Implement: imp, Path: path,
		Begin: time.Date(2025, 9, 18, 7, 10, 0, 0, time.UTC),
		Speed: 2.8, Rate: 1, Heading: true, Quality: geo.Fixed, Seed: 1709,
	}
	// The log falls silent for 15 s, 40 s into a line.
	line := rig.Trails()[15].Poses[0]
	marks["silence"] = covertest.XY{X: line.X + math.Sin(line.Heading)*(40+7.5)*rig.Speed, Y: line.Y}
	rig.Defects = []covertest.Defect{
		covertest.White(0.015), covertest.Drift(0.03, 300),
		covertest.HeadingNoise(0.01), covertest.SpeedNoise(0.03),
		covertest.Silence(line.Time+40, 15),
	}
	scene.Drive(rig)
	return &sample{folder: "tern-bank", scene: scene, about: ternBankAbout, marks: marks}
}

// lower begins a side: with the bar where it is to begin, the machine stands
// while the drill goes down.
func lower(p *covertest.Path, behind float64) { p.Straight(behind + 0.01).Stand(2) }

// lift ends a side: with the bar where it is to end, the machine stands while
// the drill comes up.
func lift(p *covertest.Path, behind float64) { p.Off().Straight(behind - 0.01).Stand(2) }

// sidestep drives so far ahead and, on the way, so far to the left
// (negative) or right, turning gently.
func sidestep(p *covertest.Path, ahead, across float64) {
	// Two arcs, one each way, of q each: 2 r sin q ahead, 2 r (1 - cos q) across.
	r := (ahead*ahead + across*across) / (4 * math.Abs(across))
	q := 2 * math.Atan2(math.Abs(across), ahead)
	p.Arc(r, math.Copysign(q, across)).Arc(r, -math.Copysign(q, across))
}

const ternBankAbout = `
# Tern Bank

Winter barley with phosphate, sown in one go by a 9 m towed drill (72 openers
12.5 cm apart, six sections) on a field with a slanted side and a marl pit.
The farm, the field and the day are invented; the place is a shoal in the North
Sea, where nobody farms. The log has a fix a second, the receiver's error is
1.5 cm of white noise and 3 cm of drift.

Put in on purpose:

| what | where |
| --- | --- |
| the north edge left open: the bar 1.2 m from the boundary on 60 m, with 20 m of easing out and in on either side | {{place "open edge"}} |
| a strip missed between two passes, 0.6 m wide, the length of the lines: from there on all lines are 0.7 m too far north | {{place "strip"}} |
| the log silent for 15 s (42 m) in the middle of a line: unlogged, neither covered nor skipped | {{place "silence"}} |
| the slanted east side: lines run on until their last corner is over, onto the headland | the east end of every line |
| the last line laps the headland by 4 m: what was left was narrower than the drill | the north side |
| a stop of 40 s with the drill in the ground: no overlap, since nothing moved | the south edge, 150 m into the first side |
| the pit, driven round twice, lines running onto those rounds until their last corner is over | {{place "pit"}} |
| the corners on the slanted side, which are not square: a drill that ends square leaves a wedge of 2 to 4 m² in each round | the east side's two corners |

All lines lap the headland by 3 m at either end, as crews do; the sides of the
headland begin and end standing, while the drill goes down and comes up. A log
of a fix a second knows the ends of a pass to the 2.8 m driven in that second,
so strict ends would show as a comb of skips that were never there.

The ground as it was really worked, counted from the noise-free path of the bar
in cells of 0.2 m ({{.Passes}} passes; the silence, which is of the log only,
counts as worked):

| | |
| --- | --- |
| field, without the pit | {{.Field}} |
| covered | {{.Covered}} |
| not covered | {{.Skip}} |
| covered twice or more | {{.Overlap}} |
| covered outside the boundary or in the pit | {{.OverReach}} |
| all swaths together | {{.Swept}} |

Boundary, log and this page are written by samples/make.
`
