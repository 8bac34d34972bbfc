package cab

import (
	"slices"
	"time"

	cabpage "lapwing/report/cab"
)

// shares are what the page says of other cabs: a line for each of their machines, and one for
// each address of which no machine is known.
func (k *Cab) shares() (out []cabpage.Share) {
	told := map[guestKey]bool{}
	for _, g := range k.crew.guests {
		one := cabpage.Share{Name: g.machine, Silent: 1 << 62}
		if g.name != "" {
			one.Name = g.name
		}
		known := false
		for _, c := range k.crew.copies {
			if c.guest() != g.guestKey {
				continue
			}
			known = true
			one.Silent = min(one.Silent, time.Since(c.contact))
			if c.contact.IsZero() {
				one.Silent = min(one.Silent, time.Since(k.crew.began))
			}
			if c.until > one.AsOf {
				one.AsOf, one.Age = c.until, c.age()
			}
			one.Behind = one.Behind || c.told.Size > c.size()+mostAtOnce
			if c.wrong != "" {
				one.Wrong = c.wrong
			}
		}
		for _, s := range k.crew.sharers {
			if away := s.elsewhere[g.guestKey]; away != "" && one.AsOf == 0 {
				one.Wrong = away
			}
		}
		if known {
			told[g.guestKey] = true
			out = append(out, one)
		}
	}
	for _, s := range k.crew.sharers {
		if !slices.ContainsFunc(s.told, func(g guestKey) bool { return told[g] }) {
			one := cabpage.Share{Name: s.client.Address().String(), Wrong: "no contact yet"}
			switch {
			case s.trouble != "" && !s.gone:
				one.Wrong = s.trouble
			case s.trouble != "":
				one.Wrong += " (" + s.trouble + ")"
			case s.cab != "":
				one.Wrong = ""
			}
			out = append(out, one)
		}
	}
	for _, text := range k.crew.wrong {
		out = append(out, cabpage.Share{Name: "--share", Wrong: text})
	}
	return out
}

// A Shared is what answer.json tells of a machine of another cab.
type Shared struct {
	Machine string  `json:"machine"`
	Age     float64 `json:"age_s"`     // since its last record was heard in its own cab
	Contact float64 `json:"contact_s"` // since any cab last told of it
	Until   string  `json:"until"`     // the time of its last fix
	Warning string  `json:"warning"`   // "" while all is well
}

// sharedNow are all lines of [Cab.shares] as answer.json has them.
func (k *Cab) sharedNow() []Shared {
	out := []Shared{}
	for _, s := range k.shares() {
		one := Shared{Machine: s.Name, Age: round(s.Age.Seconds(), 1), Contact: round(s.Silent.Seconds(), 1), Warning: s.Wrong}
		if s.AsOf != 0 {
			one.Until = s.AsOf.Time().Format(time.RFC3339Nano)
		}
		out = append(out, one)
	}
	return out
}
