package covertest

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"sort"
	"time"

	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Rig is a machine on its path. Mounted, its bar's centre drives the path;
// towed, the machine does (the place on its centre line beside the antenna),
// and the bar follows. Towed sections open and shut when the bar, in line
// behind, gets to where the path says so.
type Rig struct {
	Name      string
	Operator  string
	File      string // of the track; "" means Name.csv
	Implement machine.Implement
	Path      *Path
	Begin     time.Time   // zero means 2025-09-18 06:00 UTC
	Speed     float64     // metres per second
	Rate      float64     // fixes a second
	Heading   bool        // the log has the machine's heading
	NoSpeed   bool        // the log has no speed
	NoWorking bool        // the log has no working state
	Quality   geo.Quality // of every fix; 0 where the log does not say
	Seed      uint64
	Defects   []Defect // in the order they befall the log
}

// A Sample is one line of a log before it is laid on the Earth.
type Sample struct {
	Time    float64 // seconds since Begin
	Antenna XY
	Heading float64 // of the machine
	Speed   float64
	Open    Mask
	Nowhere bool // logged at longitude 0, latitude 0
}

// defaultBegin is when machines set out where a rig does not say.
var defaultBegin = time.Date(2025, 9, 18, 6, 0, 0, 0, time.UTC)

// A drive is a rig's path with its times.
type drive struct {
	rig   Rig
	legs  []Leg
	start []float64 // distance at the start of each leg, and of the whole
	clock []float64 // time at the start of each leg, and of the whole
	lead  float64   // towed: how far the bar is behind; 0 mounted
	full  Mask
}

func newDrive(r Rig) *drive {
	d := &drive{rig: r, legs: r.Path.Legs, full: full(r.Implement.Sections)}
	if r.Implement.Towed {
		d.lead = newTow(r.Implement, 0).length()
		// Go on until the bar too is at the end.
		end := Leg{From: r.Path.End(), Length: d.lead}
		d.legs = append(append([]Leg(nil), d.legs...), end)
	}
	var s, t float64
	for _, l := range d.legs {
		d.start, d.clock = append(d.start, s), append(d.clock, t)
		s += l.Length
		t += l.Length/(r.Speed*l.pace()) + l.Stand
	}
	d.start, d.clock = append(d.start, s), append(d.clock, t)
	return d
}

// stance returns the path's stance at a time, and the leg it is on.
func (d *drive) stance(t float64) (Stance, Leg) {
	i := min(max(sort.SearchFloat64s(d.clock, t), 1), len(d.legs)) - 1
	l := d.legs[i]
	if l.Stand > 0 {
		return l.From, l
	}
	return l.At(min(max(0, (t-d.clock[i])*d.rig.Speed*l.pace()), l.Length)), l
}

// reached returns when the path's distance s is reached.
func (d *drive) reached(s float64) float64 {
	i := min(max(sort.SearchFloat64s(d.start, s), 1), len(d.legs)) - 1
	return d.clock[i] + (s-d.start[i])/(d.rig.Speed*d.legs[i].pace())
}

// full is the mask of all sections, of which there are at most 64.
func full(sections []machine.Section) Mask { return All >> (64 - len(sections)) }

// A change is when the sections' states change, to which mask.
type change struct {
	at   float64 // seconds
	open Mask
}

// switches returns when the driver switches what.
func (d *drive) switches() []change {
	var out []change
	last := Shut
	for i, l := range d.legs {
		open := l.Open & d.full
		if open == last || l.Stand > 0 && d.lead > 0 { // the bar passes the place of a stand in no time
			continue
		}
		// Mounted, the clock of the leg; towed, when the bar gets there.
		at := d.clock[i]
		if d.lead > 0 {
			at = d.reached(d.start[i] + d.lead)
		}
		out = append(out, change{at, open})
		last = open
	}
	return out
}

// openAt returns the mask at a time, from changes in order.
func openAt(cs []change, t float64) Mask {
	// A nanosecond of grace: a fix is logged at the very moment of a switch.
	i := sort.Search(len(cs), func(i int) bool { return cs[i].at > t+1e-9 })
	if i == 0 {
		return Shut
	}
	return cs[i-1].open
}

// antenna returns where the antenna is when the path is at s.
func (d *drive) antenna(s Stance) XY {
	imp := d.rig.Implement
	at, r := s.XY, right(s.Heading)
	if !imp.Towed {
		at = at.plus(imp.AntennaToHitch.Metres(), ahead(s.Heading)).plus(-imp.Offset.Metres(), r)
	}
	return at.plus(imp.AntennaRight.Metres(), r)
}

// log returns what a perfect receiver would log.
func (d *drive) log() []Sample {
	switches := d.switches()
	n := int(math.Floor(d.clock[len(d.legs)]*d.rig.Rate + 1e-9))
	out := make([]Sample, 0, n+1)
	for i := range n + 1 {
		t := float64(i) / d.rig.Rate
		s, leg := d.stance(t)
		speed := d.rig.Speed * leg.pace()
		if leg.Stand > 0 {
			speed = 0
		}
		out = append(out, Sample{Time: t, Antenna: d.antenna(s), Heading: s.Heading, Speed: speed, Open: openAt(switches, t)})
	}
	return out
}

func (r Rig) begin() time.Time {
	if r.Begin.IsZero() {
		return defaultBegin
	}
	return r.Begin
}

// Machine returns the rig as a machine with its log, laid on the
// Earth by frame.
func (r Rig) Machine(frame geo.Frame) machine.Logged {
	d := newDrive(r)
	log := d.log()
	for i, defect := range r.Defects {
		log = defect(rand.New(rand.NewPCG(r.Seed, uint64(i))), log)
	}
	begin, file := r.begin(), r.File
	if file == "" {
		file = r.Name + ".csv"
	}
	states := newStates(r.Implement)
	track := machine.Track{File: file, WorkingLogged: !r.NoWorking, Fixes: make([]machine.Fix, len(log))}
	for i, s := range log {
		f := &track.Fixes[i]
		f.Quality = r.Quality
		f.Time = geo.InstantOf(begin) + geo.Instant(math.Round(s.Time*1e3))*1e6
		if !s.Nowhere {
			f.At = frame.FromMetres(s.Antenna.X, s.Antenna.Y)
		}
		f.Heading, f.Speed = geo.Bearing(math.NaN()), math.NaN()
		if r.Heading {
			f.Heading = geo.BearingTowards(plane.Angle(s.Heading))
		}
		if !r.NoSpeed {
			f.Speed = s.Speed
		}
		f.Line = int32(i + 2) // after the header
		if !r.NoWorking && s.Open&d.full != 0 {
			f.Working, f.State = true, states.id(s.Open&d.full)
		}
	}
	track.States = states.table
	return machine.Logged{
		Machine: machine.Machine{Name: r.Name, Operator: r.Operator, Implement: r.Implement},
		Tracks:  []machine.Track{track},
	}
}

// states numbers the masks that occur.
type states struct {
	sections []machine.Section
	table    []machine.State
	ids      map[Mask]machine.StateID
}

func newStates(imp machine.Implement) *states {
	return &states{
		sections: imp.Sections,
		table:    []machine.State{nil},
		ids:      map[Mask]machine.StateID{full(imp.Sections): 0},
	}
}

func (s *states) id(m Mask) machine.StateID {
	id, ok := s.ids[m]
	if !ok {
		id = machine.StateID(len(s.table))
		s.ids[m] = id
		s.table = append(s.table, stretches(s.sections, m))
	}
	return id
}

// stretches joins the open sections that adjoin.
func stretches(sections []machine.Section, m Mask) machine.State {
	out := machine.State{}
	for ; m != 0; m &= m - 1 {
		i := bits.TrailingZeros64(uint64(m))
		if n := len(out); n > 0 && out[n-1].Right == sections[i].Left {
			out[n-1].Right = sections[i].Right
		} else {
			out = append(out, sections[i])
		}
	}
	return out
}
