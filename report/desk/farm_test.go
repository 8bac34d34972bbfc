package desk

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lapwing/geo"
)

// origin is where the fields of the tests lie.
var origin = geo.LonLat{Lon: -105, Lat: 40}

// place is a place so many metres east and north of the origin.
func placeAt(east, north float64) geo.LonLat {
	frame := geo.NewFrame(origin)
	return frame.FromMetres(east, north)
}

// box is a boundary file of one field: a rectangle, in metres.
func box(name string, x0, y0, x1, y1 float64) []byte {
	var ring []string
	for _, c := range [][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}} {
		p := placeAt(c[0], c[1])
		ring = append(ring, fmt.Sprintf("[%.9f,%.9f]", p.Lon, p.Lat))
	}
	return fmt.Appendf(nil, `{"type":"Feature","properties":{"name":%q},"geometry":{"type":"Polygon","coordinates":[[%s]]}}`, name, strings.Join(ring, ","))
}

// A drive is a log being driven: passes from south to north and back, a fix a second at
// 2 m/s.
type drive struct {
	at   time.Time
	head string // further columns
	b    strings.Builder
}

func newDrive(begin, head string) *drive {
	at, err := time.Parse(time.RFC3339, begin)
	if err != nil {
		panic(err)
	}
	return &drive{at: at, head: head}
}

// lines drives passes beside one another, the first at x, from y0 to y1.
func (d *drive) lines(passes int, x, apart, y0, y1 float64, more string) *drive {
	frame := geo.NewFrame(origin)
	for pass := range passes {
		at, from, to := x+float64(pass)*apart, y0, y1
		if pass%2 == 1 {
			from, to = y1, y0
		}
		n := int(math.Abs(to-from)/2) + 1
		for i := 0; i <= n; i++ {
			p := frame.FromMetres(at, from+float64(i)/float64(n)*(to-from))
			work := 1
			if i == n {
				work = 0
			}
			fmt.Fprintf(&d.b, "%s,%.9f,%.9f,%d%s\n", d.at.Format(time.RFC3339), p.Lat, p.Lon, work, more)
			d.at = d.at.Add(time.Second)
		}
		d.at = d.at.Add(9 * time.Second)
	}
	return d
}

func (d *drive) csv() []byte {
	return []byte("time,lat,lon,working" + d.head + "\n" + d.b.String())
}

// home is a field of 120 by 200 m, north its log of 10 passes 12 m apart.
func homeField() []byte { return box("Home", 0, 0, 120, 200) }

func dayOne() []byte {
	return newDrive("2026-05-04T08:00:00Z", "").lines(6, 6, 12, 0, 200, "").csv()
}

func dayTwo() []byte {
	return newDrive("2026-05-05T08:00:00Z", "").lines(4, 78, 12, 0, 200, "").csv()
}
