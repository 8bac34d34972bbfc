package cab

import (
	"fmt"
	"math"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/live"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/words"
)

// An Update is what a page is told: all that changes, and of the drawing what is new to it.
type Update struct {
	Verdict  string      `json:"verdict"` // what to do, as of the last lift
	Also     string      `json:"also"`
	Field    string      `json:"field"` // what is left, and until when
	Edge     string      `json:"edge"`  // of the field, how much is closed
	Machines []MachineUp `json:"machines"`
	Shares   []ShareUp   `json:"shares"` // what other cabs share
	Others   []OtherUp   `json:"others"` // the ground of their journals since the answer
	Run      string      `json:"run"`    // of the cab: a page of another has all to learn anew
	Answer   int         `json:"answer"` // grows with each answer; Marks and Drive come with a new one
	Strips   []Strip     `json:"strips,omitempty"`
	Gone     []int       `json:"gone,omitempty"` // numbers of strips that are not ground of the answer any more
	Strip    int         `json:"strip"`          // the number to go on from, and how many were called back
	Back     int         `json:"back"`
	More     bool        `json:"-"`               // there are strips that the next update will carry
	Marks    []Mark      `json:"marks"`           // null where they stay as they were
	Fewer    string      `json:"fewer,omitempty"` // how many more places there are than Marks
	Drive    []Place     `json:"drive,omitempty"` // that mends the skips
	DriveSay string      `json:"driveSay,omitempty"`
}

// A MachineUp is one machine as of now.
type MachineUp struct {
	Signal  string       `json:"signal"` // "" while all is well
	Works   bool         `json:"works"`
	Told    string       `json:"told"` // where that comes from
	Down    bool         `json:"down"` // as switched
	Bits    string       `json:"bits"` // sections, as switched
	Left    Figure       `json:"left"`
	Right   Figure       `json:"right"`
	At      *Place       `json:"at"` // of the bar's middle; none before it is known
	Heading float64      `json:"heading"`
	Ends    [2]Place     `json:"ends"`
	Opening string       `json:"opening"` // the next of the field's edge
	Tanks   []string     `json:"tanks"`
	First   int          `json:"first"` // bars before this one are ground of the answer
	From    int          `json:"from"`  // bars before this one stay as they are
	Bars    [][5]float64 `json:"bars"`  // left x, y, right x, y, and 1 where the ground before was not worked
}

// A Figure is what lies beside one end of the bar.
type Figure struct {
	Kind string  `json:"kind"` // lap, gap, edge, none
	Word string  `json:"word"`
	Text string  `json:"text"`
	Gap  float64 `json:"gap_m"` // ground left; 0 for none
}

// A Mark is a place worth driving for.
type Mark struct {
	At    Place  `json:"at"`
	Label string `json:"label"` // on the drawing and in the list: E1 for an opening of the edge, 1 for a skip
	Name  string `json:"name"`
	Skip  bool   `json:"skip"` // else an opening of the edge
}

// A View is what a page has already.
type View struct {
	Bars   []int // of each machine
	Answer int   // -1 for none
	Others []int // bars of each journal of other cabs
	Strip  int   // the number of the first strip that it has not
	Back   int   // how many strips that were called back it knows of
}

// Nothing is the view of a page that is new to a cab that hears so many machines.
func Nothing(machines int) View { return View{Bars: make([]int, machines), Answer: -1} }

// After is the view of a page that has got an update.
func (v View) After(up *Update) View {
	v.Answer, v.Strip, v.Back = up.Answer, up.Strip, up.Back
	v.Bars, v.Others = make([]int, len(up.Machines)), make([]int, len(up.Others))
	for i := range up.Machines {
		v.Bars[i] = up.Machines[i].From + len(up.Machines[i].Bars)
	}
	for i := range up.Others {
		v.Others[i] = up.Others[i].From + len(up.Others[i].Bars)
	}
	return v
}

// A Drawn is what has been said of the field, and its ground.
type Drawn struct {
	Run     string
	Answer  int
	Verdict []string // a headline, and what stands under it; none before the first answer
	Ground  *Ground
}

// A Source is what the engine does not know of a machine.
type Source struct {
	Signal string // what is wrong with it; "" while all is well
	Silent bool   // no fix comes
	Down   bool
	Bits   string
}

// UpdateOf tells a page what is new to it.
func UpdateOf(u quantity.Units, e *live.Engine, d Drawn, sources []Source, seen View) Update {
	up := Update{Verdict: "Waiting for the first fix", Run: d.Run, Answer: d.Answer}
	if len(d.Verdict) > 0 {
		up.Verdict, up.Also = d.Verdict[0], d.Verdict[1]
	}
	up.Strips, up.Gone, up.Strip = d.Ground.since(seen.Strip, seen.Back)
	up.Back, up.More = len(d.Ground.gone), up.Strip < d.Ground.next
	f := e.Field()
	a := e.Answer()
	if a != nil {
		up.Field = u.SquareMetres(f.Left) + " not worked yet"
		if f.Finishes && f.Left > 0 {
			up.Field += ", done about " + done(a.Assessment, f.Finish)
		}
		up.Field += "."
		if f.HasEdge {
			up.Edge = "Edge of the field closed along " + words.Percent(f.Closed) + "."
		}
	}
	for i := range sources {
		from := 0
		if i < len(seen.Bars) {
			from = max(0, seen.Bars[i]-1) // the last one may have moved
		}
		up.Machines = append(up.Machines, machineUp(u, e, i, &sources[i], from))
	}
	if a != nil && seen.Answer != d.Answer {
		up.marks(u, a.Assessment, &e.Land().Frame)
	}
	return up
}

// done is a time of day, where the reader lives, and whether that is before the rain: as
// sure as the interval of the last answer, which goes with the time that it is done now.
func done(a *assess.Assessment, at geo.Instant) string {
	out := words.TimeOfDay(a.Local(at), a.Local(a.Forecast.Now))
	if a.RainAt == nil {
		return out
	}
	f := *a.Forecast
	if f.Late != 0 {
		f.Early, f.Late = f.Early+at-f.Finish, f.Late+at-f.Finish
	}
	f.Finish = at
	return out + map[string]string{"yes": ", before the rain", "likely": ", likely before the rain",
		"unlikely": ", likely after the rain begins", "no": ", after the rain begins"}[assess.BeforeRain(&f, geo.InstantOf(*a.RainAt))]
}

func machineUp(u quantity.Units, e *live.Engine, source int, s *Source, from int) MachineUp {
	n := e.Now(source)
	m := MachineUp{Signal: s.Signal, Works: n.Works, Down: s.Down, Bits: s.Bits, Bars: [][5]float64{}, Tanks: []string{},
		Left: figureOf(u, n.Works, n.Left), Right: figureOf(u, n.Works, n.Right)}
	if s.Silent {
		silent := Figure{Kind: "none", Word: "no signal", Text: "–"}
		m.Left, m.Right = silent, silent
	}
	m.Told = "as told"
	if n.Guessed {
		m.Told = "worked out from the motion"
	}
	if n.Known {
		at := placeOf(n.At)
		m.At, m.Heading, m.Ends = &at, math.Round(float64(n.Heading)*1e4)/1e4, [2]Place{placeOf(n.LeftEnd), placeOf(n.RightEnd)}
		if o, open := e.NextOpening(source); open && begun(e) {
			where := "Nearest opening of the edge: "
			if o.Ahead {
				where = "Next opening of the edge ahead: "
			}
			m.Opening = where + u.Length(o.Length) + " long, " + words.WayTo(u, n.At, o.At) + "."
		}
	}
	for _, t := range e.Tanks(source) {
		m.Tanks = append(m.Tanks, tankWords(u, &t))
	}
	first, bars := e.Painted(source, from)
	m.First, m.From, m.Bars = first, max(first, from), barsOf(bars)
	return m
}

// barsOf are bars as a page gets them.
func barsOf(bars []live.Bar) [][5]float64 {
	out := [][5]float64{}
	for _, b := range bars {
		one := [5]float64{hundredth(b.LeftX), hundredth(b.LeftY), hundredth(b.RightX), hundredth(b.RightY)}
		if b.Begins {
			one[4] = 1
		}
		out = append(out, one)
	}
	return out
}

// begun reports whether there is a pass: before the first the whole edge is open.
func begun(e *live.Engine) bool { return e.Answer() != nil && len(e.Answer().Map.Passes) > 0 }

func hundredth(x float32) float64 { return math.Round(float64(x)*100) / 100 }

// joined is what lies too near together to be called a lap or a gap: a fixed position is
// off by as much.
const joined = 1 * plane.Centimetre

func figureOf(u quantity.Units, works bool, s live.Side) Figure {
	switch {
	case !works:
		return Figure{Kind: "none", Word: "bar up", Text: "–"}
	case s.Edge && s.By < 0:
		return Figure{Kind: "edge", Word: "to the edge", Text: short(u, -s.By)}
	case s.Edge:
		return Figure{Kind: "edge", Word: "past the edge", Text: short(u, s.By)}
	case !s.Beside:
		return Figure{Kind: "none", Word: "nothing beside", Text: "–"}
	case s.By.Abs() < plane.Distance(joined):
		return Figure{Kind: "lap", Word: "joined", Text: short(u, 0)}
	case s.By < 0:
		return Figure{Kind: "gap", Word: "gap", Text: short(u, -s.By), Gap: math.Round(-s.By.Metres()*1000) / 1000}
	}
	return Figure{Kind: "lap", Word: "lap", Text: short(u, s.By)}
}

// short is a length that is read at a glance: whole inches or centimetres up to a yard.
func short(u quantity.Units, d plane.Distance) string {
	switch {
	case d.Metres() >= 0.9:
		return u.Length(d)
	case u == quantity.Metric:
		return quantity.Number(100*d.Metres(), 0) + " cm"
	}
	return quantity.Number(d.Metres()/quantity.Inch, 0) + " in"
}

// tankWords say how far a fill goes, and where it ends.
func tankWords(u quantity.Units, t *live.Tank) string {
	out := fmt.Sprintf("%s: %s to go on this fill", words.Clean(t.Product), u.SquareMetres(t.Area))
	if t.For > 0 && t.Area > 0 {
		out += ", about " + words.Minutes(t.For.Round(time.Minute))
	}
	switch {
	case !t.Told || t.Area <= 0:
	case t.Pass == 0:
		out += "; empty " + u.Length(t.Along) + " ahead on this pass"
	case t.Pass == 1:
		out += "; empty on the next pass, " + u.Length(t.Along) + " from where it begins"
	default:
		out += fmt.Sprintf("; empty %d passes from now, %s from where that one begins", t.Pass, u.Length(t.Along))
	}
	return out + "."
}

// mostMarks is how many places a page marks: openings first, then skips, each the largest
// first. No driver reads more.
const mostMarks = 40

// marks are the openings and skips of an answer, and the drive that mends them.
func (up *Update) marks(u quantity.Units, a *assess.Assessment, frame *geo.Frame) {
	m := a.Map
	on := func(p plane.Point) plane.Point { return lay(p, &m.Field.Frame, frame) }
	up.Marks, up.Drive = []Mark{}, []Place{}
	if len(m.Passes) == 0 {
		return // all of it is open
	}
	if !m.Field.Worked {
		for i := range m.Headland.Edge.Openings {
			o := &m.Headland.Edge.Openings[i]
			up.Marks = append(up.Marks, Mark{At: placeOf(on(o.At)), Label: chart.OpeningLabel(i), Name: fmt.Sprintf("opening of %s", u.Length(o.Length))})
		}
	}
	numbers := a.SkipNumbers()
	for _, i := range a.Mistakes() {
		s := &m.Skips[i]
		up.Marks = append(up.Marks, Mark{At: placeOf(on(s.At)), Skip: true, Label: fmt.Sprint(numbers[i]),
			Name: fmt.Sprintf("skip, %s long, %s wide: %s", u.Length(s.Length), u.Length(s.Width), words.Cause(s.Cause))})
	}
	if n := len(up.Marks); n > mostMarks {
		up.Marks = up.Marks[:mostMarks]
		up.Fewer = fmt.Sprintf("And %s more, all smaller; the report at the end lists them.", words.Count(n-mostMarks, "place"))
	}
	if a.Mend == nil || len(a.Mend.Plan.Stops) == 0 {
		return
	}
	for i := range a.Mend.Plan.Stops {
		for _, p := range a.Mend.Plan.Stops[i].Leg.Way {
			up.Drive = append(up.Drive, placeOf(on(p)))
		}
		for _, p := range a.Mend.Plan.Stops[i].Run.Line {
			up.Drive = append(up.Drive, placeOf(on(p)))
		}
	}
	up.DriveSay = fmt.Sprintf("Drive that mends %s: %s, about %s. Bar down along the skips only.", words.Count(len(a.Mend.Plan.Places), "place"),
		u.Length(a.Mend.Plan.Travel()+a.Mend.Plan.Work()), words.Minutes(a.Mend.Plan.Time(m.MeanSpeed())))
}
