package main

import (
	"time"

	"lapwing/coverage/covertest"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// longMeadow is two drills of unlike width: the wide one works the headland
// and the west by lines, the narrow one the east, round and round.
//
//	+-----------------------------------+
//	|  | | | | | | | | |  +----------+  |
//	|  | | | | | | | | |  | +------+ |  |
//	|  | | | | | | | | |  | |      | |  |
//	|  | | | | | | | | |  | +------+ |  |
//	|  | | | | | | | | |  +----------+  |
//	+-----------------------------------+
//	     wide, 15 lines    narrow, 10 rounds
func longMeadow() *sample {
	scene := covertest.NewSceneAt(geo.LonLat{Lon: 150.6, Lat: -42.9}, "Long Meadow", covertest.Rectangle(-180, -120, 180, 120))
	marks := map[string]covertest.XY{}
	wide := wideDrill(marks)
	scene.Drive(wide)
	narrow := narrowDrill(marks)
	scene.Drive(narrow)
	return &sample{folder: "long-meadow", scene: scene, about: longMeadowAbout, marks: marks}
}

const (
	wideWidth   = 12.192 // 40 ft
	wideSpacing = 12.1
	narrowWidth = 6.096                                         // 20 ft
	seam        = -180 + wideWidth + 14*wideSpacing + wideWidth // where the wide drill's last line ends
)

func wideDrill(marks map[string]covertest.XY) covertest.Rig {
	path := covertest.NewPath(7)
	path.SquareRoundBy(covertest.Rectangle(-180, -120, 180, 120), wideWidth, 8, func(_ int, length float64) {
		path.Stand(2).Straight(length).Stand(2) // while the drill goes down, and comes up
	})
	path.Lines(covertest.Lines{
		Ground: covertest.Rectangle(-180+wideWidth, -120+wideWidth, seam, 120-wideWidth),
		Width:  wideWidth, Spacing: wideSpacing, RunIn: 5,
		Adjust: func(i int, l *covertest.Line) {
			l.Runs[0].From -= runOn
			l.Runs[0].To += runOn
			from, to := l.Runs[0].From, l.Runs[0].To // along the line, northward
			switch i {
			case 3: // driven south, so that the left is east
				const plugged, until = 1 << 2, 40
				l.Runs = []covertest.Run{
					{From: from, To: until, Open: covertest.All &^ plugged},
					{From: until, To: to, Open: covertest.All},
				}
				marks["plugged"] = covertest.XY{X: l.Across + wideWidth/12, Y: (from + until) / 2}
			case 6: // driven north
				l.Runs[0].From += runOn + 9
				marks["late"] = covertest.XY{X: l.Across, Y: from + runOn + 4.5}
			case 10:
				marks["re-worked"] = covertest.XY{X: l.Across, Y: -5}
			}
		},
	})
	again := covertest.Stance{XY: marks["re-worked"]}
	again.Y -= 40
	path.TurnTo(again)
	path.On().Straight(80).Off().Straight(10)
	return covertest.Rig{
		Name: "wide drill", File: "wide.csv", Implement: drill("40 ft drill", 48, 6, 2500*plane.Millimetre), Path: path,
		Begin: time.Date(2025, 10, 6, 21, 30, 0, 0, time.UTC),
		Speed: 2.6, Rate: 1, Heading: true, Quality: geo.Fixed, Seed: 610,
		Defects: []covertest.Defect{covertest.White(0.015), covertest.Drift(0.03, 300), covertest.HeadingNoise(0.01)},
	}
}

// narrowDrill works round and round, then the middle to and fro.
func narrowDrill(marks map[string]covertest.XY) covertest.Rig {
	const rounds, spacing = 10, 6.0
	block := covertest.Rectangle(seam, -120+wideWidth, 180-wideWidth, 120-wideWidth)
	path := covertest.NewPath(5).RoundAndRound(block.Inset(narrowWidth/2), spacing, 5, 12, rounds)
	path.Lines(covertest.Lines{
		Ground: block.Inset(narrowWidth + (rounds-1)*spacing), Width: narrowWidth, Spacing: spacing, RunIn: 4,
		Adjust: func(_ int, l *covertest.Line) {
			l.Runs[0].From -= runOn
			l.Runs[0].To += runOn
		},
	})
	marks["rounds"] = covertest.XY{X: (seam + 180 - wideWidth) / 2, Y: 0}
	return covertest.Rig{
		Name: "narrow drill", File: "narrow.csv", Implement: drill("20 ft drill", 24, 2, 1800*plane.Millimetre), Path: path,
		Begin: time.Date(2025, 10, 6, 22, 5, 0, 0, time.UTC),
		Speed: 2.2, Rate: 2, Quality: geo.Fixed, Seed: 2024,
		Defects: []covertest.Defect{covertest.White(0.01), covertest.Drift(0.03, 300), covertest.SpeedNoise(0.03)},
	}
}

// drill is a mounted drill with openers 10 in apart, so far behind the
// antenna.
func drill(name string, openers, sections int, behind plane.Length) machine.Implement {
	const apart = 254 * plane.Millimetre
	width := apart * plane.Length(openers)
	return machine.Implement{
		Name: name, Width: width, Openers: openers, RowSpacing: apart,
		Sections: machine.EqualSections(width, sections), AntennaToHitch: behind,
	}
}

const longMeadowAbout = `
# Long Meadow

Linseed with ammonia, sown by two mounted drills at once: one of 40 ft (48
openers 10 in apart, six sections) on the headland and the west of the field,
one of 20 ft (24 openers, two sections) round and round on the east. The farm,
the field and the day are invented; the place is in the Tasman Sea, where nobody
farms. The wide drill logs a fix a second, the narrow one two, without a
heading; the receivers' errors are 1 to 1.5 cm of white noise and 3 cm of drift.

Put in on purpose:

| what | where |
| --- | --- |
| a section plugged (the third from the left, 2.03 m wide) on 148 m of the wide drill's fourth line, driven south; the log shows it shut | {{place "plugged"}} |
| lowered 9 m late at the south end of the wide drill's seventh line | {{place "late"}} |
| 80 m of the wide drill's eleventh line worked a second time at the end of its work | {{place "re-worked"}} |
| work round and round in one pass of ten rounds, laps of 0.1 m: the laps are overlap though one pass made them | around {{place "rounds"}} |
| a wedge at the south end of the first round, where the drill bends inward to the second | the south edge of the east block |
| the corners of those rounds, driven with a radius of 5 m: skips where the outer end cuts the corner | the diagonals of the east block |

All lines lap the headland or the rounds by 3 m at either end, as crews do, and
the sides of the headland begin and end standing: a log of a fix a second does
not know the ends of a pass better than to the 2.6 m driven in that second.

The ground as it was really worked, counted from the noise-free paths of the
bars in cells of 0.2 m ({{.Passes}} passes):

| | |
| --- | --- |
| field | {{.Field}} |
| covered | {{.Covered}} |
| not covered | {{.Skip}} |
| covered twice or more | {{.Overlap}} |
| covered outside the boundary | {{.OverReach}} |
| all swaths together | {{.Swept}} |

Boundary, logs and this page are written by samples/make.
`
