package cover

import "math"

// A vec is a place or a way on the log's plane, in metres.
type vec struct{ x, y float64 }

func (a vec) sub(b vec) vec           { return vec{a.x - b.x, a.y - b.y} }
func (a vec) add(b vec) vec           { return vec{a.x + b.x, a.y + b.y} }
func (a vec) times(f float64) vec     { return vec{a.x * f, a.y * f} }
func (a vec) dot(b vec) float64       { return a.x*b.x + a.y*b.y }
func (a vec) cross(b vec) float64     { return a.x*b.y - a.y*b.x }
func (a vec) length() float64         { return math.Hypot(a.x, a.y) }
func between(a, b vec, t float64) vec { return a.add(b.sub(a).times(t)) }

// areaOf is the area of an outline, in m².
func areaOf(outline []vec) (area float64) {
	for i, p := range outline {
		area += p.sub(outline[0]).cross(outline[(i+1)%len(outline)].sub(outline[0])) / 2
	}
	return math.Abs(area)
}

// centroid is the centre of the area of an outline; the mean of its corners where it
// has none.
func centroid(outline []vec) vec {
	var sum, mean vec
	twice := 0.0
	for i, p := range outline {
		a, b := p.sub(outline[0]), outline[(i+1)%len(outline)].sub(outline[0])
		sum, twice = sum.add(a.add(b).times(a.cross(b)/3)), twice+a.cross(b)
		mean = mean.add(p.times(1 / float64(len(outline))))
	}
	if math.Abs(twice) < leastArea {
		return mean
	}
	return outline[0].add(sum.times(1 / twice))
}
