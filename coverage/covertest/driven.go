package covertest

import (
	"fmt"
	"math"
	"math/rand/v2"

	"lapwing/geo"
)

// A HandDriven is a small field and a machine that strays as a driver does who aims
// by eye. [HandDriven.Logged] is the same drive each time, with what befalls its log.
type HandDriven struct {
	shell Shape
	holes []Shape
	rig   Rig
}

// NewHandDriven draws a field of some size, 0.6 to 1.5 times so many hectares: a rectangle worked square, a polygon of 5
// to 8 sides with its corners driven round, a rectangle with a hole, or a rectangle
// worked round and round inward and then to and fro. The bar is 5 to 12 m wide, laps
// from -0.1 to 0.4 m are aimed at, the driver strays by 1 to 25 cm from pass to pass
// and along each, and there are 1, 2 or 5 fixes a second.
func NewHandDriven(seed uint64, hectares float64) *HandDriven {
	r := rand.New(rand.NewPCG(seed, 0xd21f))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	strayed := func() float64 { return 0.01 * math.Pow(25, r.Float64()) }
	w := between(5, 12)
	spacing := w - between(-0.1, 0.4)
	d := &HandDriven{}
	area := between(0.6, 1.5) * 1e4 * hectares // m²
	ratio := between(0.6, 1.6)
	a, b := math.Sqrt(area*ratio)/2, math.Sqrt(area/ratio)/2
	path := NewPath(7)
	lines := Lines{Width: w, Spacing: spacing, RunIn: 5, Ends: EndRule(r.IntN(3)), HoleRun: 4}
	if r.IntN(2) == 0 {
		lines.Heading = between(0, math.Pi)
	}
	deep := w - between(0, 0.3) // of the headland, as the driver takes it to be
	switch seed % 4 {
	case 0:
		d.shell = Rectangle(-a, -b, a, b)
		path.SquareRound(d.shell, w, 8)
		lines.Ground = d.shell.Inset(deep)
	case 1:
		n := 5 + r.IntN(4)
		d.shell = Disc(XY{}, math.Sqrt(2*area/(float64(n)*math.Sin(2*math.Pi/float64(n)))), n)
		path.Round(d.shell.Inset(w/2), 8, 2)
		lines.Ground = d.shell.Inset(deep)
	case 2:
		d.shell = Rectangle(-a, -b, a, b)
		hole := Disc(XY{between(-0.3, 0.3) * a, between(-0.3, 0.3) * b}, between(8, 15), 12)
		d.holes = []Shape{hole}
		path.SquareRound(d.shell, w, 8).HoleRound(hole, w/2)
		lines.Ground, lines.Holes = d.shell.Inset(deep), []Shape{hole.Inset(-deep)}
	default:
		d.shell = Rectangle(-a, -b, a, b)
		rounds, radius := 3, max(7, 0.8*w)
		room := a - w/2 - float64(rounds-1)*spacing - radius // on the straight of the last round
		path.RoundAndRound(d.shell.Inset(w/2), spacing, radius, min(room, min(a, b)/2), rounds)
		lines.Ground, lines.Heading = d.shell.Inset(w+float64(rounds-1)*spacing), 0
	}
	path.Lines(lines)
	d.rig = Rig{
		Name: "drill", Implement: Mounted(w, between(0, 3), 4), Path: path, Speed: between(1.8, 3.2),
		Rate: []float64{1, 2, 5}[r.IntN(3)], Seed: seed, Defects: []Defect{Strays(strayed(), strayed(), between(15, 60))},
	}
	return d
}

// Logged is the field with a log of fixes of a quality, befallen by defects besides
// the driver's straying.
func (d *HandDriven) Logged(q geo.Quality, defects ...Defect) *Scene {
	rig := d.rig
	rig.Quality = q
	rig.Defects = append(append([]Defect(nil), rig.Defects...), defects...)
	return NewScene(fmt.Sprint("driven by hand ", rig.Seed), d.shell, d.holes...).Drive(rig)
}
