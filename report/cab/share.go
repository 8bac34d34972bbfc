package cab

import (
	"time"

	"lapwing/coverage/live"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/report/words"
)

// A Share is a machine of another cab whose ground this one has, or is to get.
type Share struct {
	Name string // of the machine; of the cab's address, for one that never answered
	// Age is how old its ground is, as far as it came, and AsOf the time of its last fix;
	// 0 for none.
	Age  time.Duration
	AsOf geo.Instant
	// Silent is for how long nothing was heard of it: more than some seconds is no contact.
	Silent time.Duration
	Behind bool   // more of it is there, and on its way
	Wrong  string // why no more comes, or none; "" while all is well
}

// A ShareUp is the line of one.
type ShareUp struct {
	Text string `json:"text"`
	Bad  bool   `json:"bad"`
}

// An OtherUp is the ground of another cab's journal that the answer has not, as far as it is
// new to a page.
type OtherUp struct {
	At    *Place       `json:"at"` // of the bar's middle; none before it is known
	Name  string       `json:"name"`
	First int          `json:"first"` // as those of [MachineUp]
	From  int          `json:"from"`
	Bars  [][5]float64 `json:"bars"`
}

// OthersOf is the ground of other cabs' sources of the engine, from so many bars on of
// each; names are those of their machines, and first is the number of the first source.
func OthersOf(e *live.Engine, first int, names []string, seen []int) []OtherUp {
	out := []OtherUp{}
	for i := range names {
		source := first + i
		o := OtherUp{Name: words.Clean(names[i])}
		from := 0
		if i < len(seen) {
			from = max(0, seen[i]-1) // the last one may have moved
		}
		if n := e.Now(source); n.Known {
			at := placeOf(n.At)
			o.At = &at
		}
		settled, bars := e.Painted(source, from)
		o.First, o.From, o.Bars = settled, max(settled, from), barsOf(bars)
		out = append(out, o)
	}
	return out
}

// outOfContact is how long another cab may say nothing, which is asked each second.
const outOfContact = 10 * time.Second

// SharesOf are the lines of what other cabs share.
func SharesOf(u quantity.Units, e *live.Engine, shares []Share) []ShareUp {
	out := []ShareUp{}
	at := func(t geo.Instant) string {
		a := e.Answer()
		if a == nil {
			return words.TimeOfDay(t.Time().UTC(), t.Time().UTC())
		}
		return words.TimeOfDay(a.Local(t), a.Local(e.Time()))
	}
	for _, s := range shares {
		name := words.Clean(s.Name)
		up := ShareUp{Bad: s.Wrong != ""}
		switch {
		case s.AsOf == 0 && s.Wrong != "":
			up.Text = name + ": " + words.Clean(s.Wrong) + "."
		case s.AsOf == 0:
			up.Text = name + ": no ground yet."
		case s.Silent > outOfContact:
			up.Text, up.Bad = name+": no contact for "+ago(s.Silent)+", ground as of "+at(s.AsOf)+".", true
		case s.Wrong != "":
			up.Text = name + ": ground as of " + at(s.AsOf) + "; " + words.Clean(s.Wrong) + "."
		case s.Behind:
			up.Text = name + "'s ground as of " + at(s.AsOf) + "; more is coming."
		default:
			up.Text = name + "'s ground, " + ago(s.Age) + " old."
		}
		out = append(out, up)
	}
	return out
}

// ago is a time as one says it at a glance: seconds up to two minutes, minutes up to two
// hours, then hours.
func ago(d time.Duration) string {
	switch {
	case d < 2*time.Minute:
		return quantity.Number(d.Round(time.Second).Seconds(), 0) + " s"
	case d < 2*time.Hour:
		return quantity.Number(d.Round(time.Minute).Minutes(), 0) + " min"
	}
	return quantity.Number(d.Round(time.Hour).Hours(), 0) + " h"
}
