package covertest

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// WriteTrack writes a track of a bar as CSV, places to a number of decimals
// of a degree (8 are 1 mm). Columns that the log does not have are left out:
//
//	time,lat,lon,speed_mps,heading,quality,working,sections
func WriteTrack(w io.Writer, t machine.Track, imp machine.Implement, decimals int) error {
	out := bufio.NewWriter(w)
	has := func(value func(machine.Fix) float64) bool {
		for _, f := range t.Fixes {
			if !math.IsNaN(value(f)) {
				return true
			}
		}
		return false
	}
	speed := has(func(f machine.Fix) float64 { return f.Speed })
	heading := has(func(f machine.Fix) float64 { return float64(f.Heading) })
	quality := slices.ContainsFunc(t.Fixes, func(f machine.Fix) bool { return f.Quality != geo.QualityUnknown })
	sections := t.WorkingLogged && len(imp.Sections) > 1
	out.WriteString("time,lat,lon")
	for _, c := range []struct {
		is   bool
		name string
	}{{speed, ",speed_mps"}, {heading, ",heading"}, {quality, ",quality"}, {t.WorkingLogged, ",working"}, {sections, ",sections"}} {
		if c.is {
			out.WriteString(c.name)
		}
	}
	out.WriteByte('\n')
	var line []byte
	for _, f := range t.Fixes {
		line = f.Time.Time().AppendFormat(line[:0], "2006-01-02T15:04:05.000Z")
		line = appendNumber(append(line, ','), f.At.Lat, decimals)
		line = appendNumber(append(line, ','), f.At.Lon, decimals)
		if speed {
			line = appendNumber(append(line, ','), f.Speed, 2)
		}
		if heading {
			line = appendNumber(append(line, ','), float64(f.Heading), 1)
		}
		if quality {
			line = strconv.AppendUint(append(line, ','), uint64(f.Quality), 10)
		}
		if t.WorkingLogged {
			line = append(line, ',', '0')
			if f.Working {
				line[len(line)-1] = '1'
			}
		}
		if sections {
			line = append(line, ',')
			for _, s := range imp.Sections {
				bit := byte('0')
				if f.Working && open(t.States[f.State], s) {
					bit = '1'
				}
				line = append(line, bit)
			}
		}
		out.Write(append(line, '\n'))
	}
	return out.Flush()
}

// open reports whether a section works in a state.
func open(state machine.State, s machine.Section) bool {
	if state == nil {
		return true
	}
	for _, stretch := range state {
		if stretch.Left <= s.Left && s.Right <= stretch.Right {
			return true
		}
	}
	return false
}

// appendNumber writes v to a number of decimals, nothing where it is NaN, and
// 0 without a sign.
func appendNumber(b []byte, v float64, decimals int) []byte {
	if math.IsNaN(v) {
		return b
	}
	unit := math.Pow10(decimals)
	return strconv.AppendFloat(b, math.Round(v*unit)/unit+0, 'f', decimals, 64)
}

// WriteBoundary writes a field's boundary as GeoJSON, with its name, to 9
// decimals. Edges longer than longest metres are cut, so that they are
// straight on the plane too; 0 leaves them as they are.
func WriteBoundary(w io.Writer, f field.Field, longest float64) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "{\"type\":\"FeatureCollection\",\"features\":[\n")
	fmt.Fprintf(out, "{\"type\":\"Feature\",\"properties\":{\"name\":%q},\"geometry\":{\"type\":\"MultiPolygon\",\"coordinates\":[", f.Name)
	for i, p := range f.Boundary {
		if i > 0 {
			out.WriteByte(',')
		}
		out.WriteByte('[')
		for k, r := range p.Rings() {
			if k > 0 {
				out.WriteByte(',')
			}
			out.WriteString("\n [")
			for _, at := range cut(r, longest) {
				writePlace(out, f.Frame.ToEarth(at))
				out.WriteByte(',')
			}
			writePlace(out, f.Frame.ToEarth(r[0]))
			out.WriteByte(']')
		}
		out.WriteByte(']')
	}
	out.WriteString("]}}\n]}\n")
	return out.Flush()
}

func writePlace(out *bufio.Writer, at geo.LonLat) {
	b := appendNumber([]byte{'['}, at.Lon, 9)
	b = appendNumber(append(b, ','), at.Lat, 9)
	out.Write(append(b, ']'))
}

// cut returns r with its edges cut to at most longest metres.
func cut(r plane.Ring, longest float64) plane.Ring {
	var out plane.Ring
	for i, a := range r {
		b := r[(i+1)%len(r)]
		n := 1.0
		if longest > 0 {
			n = math.Ceil(a.Distance(b).Metres() / longest)
		}
		for k := 0.0; k < n; k++ {
			out = append(out, plane.Point{
				X: a.X + plane.Round(k/n*float64(b.X-a.X)),
				Y: a.Y + plane.Round(k/n*float64(b.Y-a.Y)),
			})
		}
	}
	return out
}
