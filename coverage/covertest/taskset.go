package covertest

import (
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// TaskSetRate is the rate of a product in a task set, in kg/m², at a share of 1.
const TaskSetRate = 0.01

// A TaskSet is a task set of ISO 11783-10 to write: field i from 0 up is PFDi+1,
// machine i is device DVCi+1 with the implement's geometry, task i is TSKi+1 with a
// log of its own. Places are whole 1e-7 degrees, lengths whole millimetres; headings
// and speeds have no place in such a log, and delays, carts and start headings none
// in the description of a device. The rate of the first product, if a track tells
// of it, is the bar's actual mass by area, [TaskSetRate] at target.
type TaskSet struct {
	Fields   []field.Field
	Areas    []float64 // m², what the set says of each field; nil for nothing
	Machines []machine.Logged
	Tasks    []SetTask
	// Classes are those of the machines in their NAME (ISO 11783-5); nil for none.
	Classes []int
	// LogsOffsets says that the log tells where the bar is, as a combine does that
	// has other headers, and not the description of the device, which then has
	// neither connector nor antenna: the frame's zero is where the positions are of.
	LogsOffsets bool
}

// A SetTask is a task of a [TaskSet]: the field and the machine by their places
// there, and the log.
type SetTask struct {
	Field, Machine int
	Practice       string // "" for none
	Track          machine.Track
	Totals         map[int]int // by dictionary entry, raw, of the bar; nil for none
}

// WriteTaskSet writes a field and the tracks of its machines into a folder as a
// [TaskSet], with a task for each track.
func WriteTaskSet(dir string, f field.Field, machines []machine.Logged) error {
	s := TaskSet{Fields: []field.Field{f}, Machines: machines}
	for i, m := range machines {
		for _, t := range m.Tracks {
			s.Tasks = append(s.Tasks, SetTask{Machine: i, Track: t})
		}
	}
	return s.Write(dir)
}

// Write writes the set into a folder.
func (s *TaskSet) Write(dir string) error {
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ISO11783_TaskData VersionMajor=\"4\" VersionMinor=\"3\" DataTransferOrigin=\"1\">\n")
	var practices []string
	for _, t := range s.Tasks {
		if t.Practice != "" && !slices.Contains(practices, t.Practice) {
			practices = append(practices, t.Practice)
			fmt.Fprintf(&b, "<CPC A=\"CPC%d\" B=%q/>\n", len(practices), t.Practice)
		}
	}
	for i, f := range s.Fields {
		area := ""
		if i < len(s.Areas) {
			area = fmt.Sprintf(" D=\"%.0f\"", s.Areas[i])
		}
		writePartfield(&b, i+1, f, area)
	}
	for i, m := range s.Machines {
		s.writeDevice(&b, i, m)
	}
	for i, t := range s.Tasks {
		name := fmt.Sprintf("TLG%05d", i+1)
		fmt.Fprintf(&b, "<TSK A=\"TSK%d\" E=\"PFD%d\" G=\"4\">", i+1, t.Field+1)
		if at := slices.Index(practices, t.Practice); at >= 0 {
			fmt.Fprintf(&b, "<OTP A=\"CPC%d\"/>", at+1)
		}
		if len(t.Totals) > 0 {
			b.WriteString("<TIM A=\"2025-09-18T08:00:00\" D=\"4\">")
			for _, ddi := range slices.Sorted(maps.Keys(t.Totals)) {
				fmt.Fprintf(&b, "<DLV A=\"%04X\" B=\"%d\" C=\"DET%d01\"/>", ddi, t.Totals[ddi], t.Machine+1)
			}
			b.WriteString("</TIM>")
		}
		fmt.Fprintf(&b, "<DAN A=\"\" C=\"DVC%d\"/><TLG A=\"%s\" C=\"1\"/></TSK>\n", t.Machine+1, name)
		if err := s.writeTaskLog(dir, name, t); err != nil {
			return err
		}
	}
	b.WriteString("</ISO11783_TaskData>\n")
	return os.WriteFile(filepath.Join(dir, "TASKDATA.XML"), []byte(b.String()), 0o644)
}

func writePartfield(b *strings.Builder, id int, f field.Field, area string) {
	fmt.Fprintf(b, "<PFD A=\"PFD%d\" C=%q%s>\n", id, f.Name, area)
	for _, p := range f.Boundary {
		b.WriteString("<PLN A=\"1\">\n")
		for i, ring := range p.Rings() {
			fmt.Fprintf(b, "<LSG A=\"%d\">\n", min(i, 1)+1)
			for _, at := range ring {
				place := f.Frame.ToEarth(at)
				fmt.Fprintf(b, "<PNT A=\"2\" C=\"%.9f\" D=\"%.9f\"/>\n", place.Lat, place.Lon)
			}
			b.WriteString("</LSG>\n")
		}
		b.WriteString("</PLN>\n")
	}
	b.WriteString("</PFD>\n")
}

// writeDevice describes an implement. The zero of its frame is the pin, or
// the bar where there is none:
//
//	antenna (ahead, right)   pin (0, 0)   bar (behind, offset)   sections right of the frame's zero
func (s *TaskSet) writeDevice(b *strings.Builder, at int, m machine.Logged) {
	im, id := m.Implement, at+1
	name := ""
	if at < len(s.Classes) {
		name = fmt.Sprintf(" D=\"%016X\"", uint64(0xa)<<60|uint64(s.Classes[at])<<49)
	}
	connector := 3
	if im.Towed {
		connector = 1
	}
	fmt.Fprintf(b, "<DVC A=\"DVC%d\" B=%q%s>\n<DET A=\"DET%d00\" B=\"1\" C=\"1\" E=\"0\" F=\"0\"/>\n", id, m.Name, name, id)
	property := 100
	var properties strings.Builder
	element := func(number, kind, parent int, values ...int) {
		fmt.Fprintf(b, "<DET A=\"DET%d%02d\" B=\"%d\" C=\"%d\" E=\"%d\" F=\"%d\">", id, number, number+1, kind, number, parent)
		for i := 0; i < len(values); i += 2 {
			fmt.Fprintf(b, "<DOR A=\"%d\"/>", property)
			fmt.Fprintf(&properties, "<DPT A=\"%d\" B=\"%04X\" C=\"%d\"/>\n", property, values[i], values[i+1])
			property++
		}
		b.WriteString("</DET>\n")
	}
	if s.LogsOffsets {
		element(1, 2, 1, 70, mm(im.Width))
		b.WriteString(properties.String() + "</DVC>\n")
		return
	}
	element(1, 2, 1, 134, -mm(im.HitchToBar), 135, mm(im.Offset), 70, mm(im.Width))
	element(2, 6, 1, 134, 0, 135, 0, 157, connector)
	element(3, 7, 1, 134, mm(im.AntennaToHitch), 135, mm(im.AntennaRight))
	for i, part := range im.Sections {
		element(4+i, 4, 2, 135, mm(im.Offset+(part.Left+part.Right)/2), 70, mm(part.Right-part.Left))
	}
	b.WriteString(properties.String() + "</DVC>\n")
}

// writeTaskLog writes the two files of a log. Its records have the clock's
// time, the receiver's, and on change the bar's work state and the sections'.
func (s *TaskSet) writeTaskLog(dir, name string, task SetTask) error {
	t, im, device := task.Track, s.Machines[task.Machine].Implement, task.Machine+1
	var values strings.Builder
	words := (len(im.Sections) + 15) / 16
	if t.WorkingLogged {
		fmt.Fprintf(&values, "<DLV A=\"008D\" B=\"\" C=\"DET%d01\"/>", device)
		for i := range words {
			fmt.Fprintf(&values, "<DLV A=\"%04X\" B=\"\" C=\"DET%d01\"/>", 161+i, device)
		}
	}
	rated := len(t.Rates) > 0 && t.Rates[0] != nil
	if rated {
		fmt.Fprintf(&values, "<DLV A=\"0007\" B=\"\" C=\"DET%d01\"/>", device)
	}
	if s.LogsOffsets {
		fmt.Fprintf(&values, "<DLV A=\"0086\" B=\"\" C=\"DET%d01\"/><DLV A=\"0087\" B=\"\" C=\"DET%d01\"/>", device, device)
	}
	header := `<TIM A="" D="4"><PTN A="" B="" D="" H="" I=""/>` + values.String() + "</TIM>\n"
	if err := os.WriteFile(filepath.Join(dir, name+".XML"), []byte(header), 0o644); err != nil {
		return err
	}
	var out []byte
	var before []uint32
	for _, f := range t.Fixes {
		since := f.Time.Time().Sub(time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC))
		ms, days := uint32((since%(24*time.Hour))/time.Millisecond), uint16(since/(24*time.Hour))
		clock := binary.LittleEndian.AppendUint16(binary.LittleEndian.AppendUint32(nil, ms), days)
		out = append(out, clock...)
		out = binary.LittleEndian.AppendUint32(out, uint32(int32(math.Round(f.At.Lat*1e7))))
		out = binary.LittleEndian.AppendUint32(out, uint32(int32(math.Round(f.At.Lon*1e7))))
		out = append(append(out, positionStatus(f.Quality)), clock...)
		count := len(out)
		out = append(out, 0)
		now := workValues(t, f, im, words)
		if rated {
			now = append(now, uint32(math.Round(float64(t.Rates[0][f.Row])*TaskSetRate*1e6))) // mg/m²
		}
		if s.LogsOffsets { // before it has worked a device may not know its header
			ahead, right := -mm(im.AntennaToHitch), mm(im.Offset)
			if !f.Working && len(before) == 0 {
				ahead, right = 0, 0
			}
			now = append(now, uint32(int32(ahead)), uint32(int32(right)))
		}
		for i, v := range now {
			if len(before) > i && before[i] == v {
				continue
			}
			out[count]++
			out = binary.LittleEndian.AppendUint32(append(out, byte(i)), v)
		}
		before = now
	}
	return os.WriteFile(filepath.Join(dir, name+".BIN"), out, 0o644)
}

// mm is a length in whole millimetres.
func mm(l plane.Length) int { return int(math.Round(l.Metres() * 1000)) }

// positionStatus is a quality as the status of a position: the numbers of GGA,
// 0 for no position and 15 for what is not known.
func positionStatus(q geo.Quality) byte {
	switch q {
	case geo.NoFix:
		return 0
	case geo.QualityUnknown:
		return 15
	}
	return byte(q)
}

// workValues are the bar's work state and the sections' condensed ones, 2 bits
// each; bits for sections that are not there say so.
func workValues(t machine.Track, f machine.Fix, im machine.Implement, words int) []uint32 {
	if !t.WorkingLogged {
		return nil
	}
	out := make([]uint32, 1+words)
	if f.Working {
		out[0] = 1
	}
	for i := range 16 * words {
		state := uint32(3)
		if i < len(im.Sections) {
			state = 0
			if f.Working && open(t.States[f.State], im.Sections[i]) {
				state = 1
			}
		}
		out[1+i/16] |= state << (i % 16 * 2)
	}
	return out
}
