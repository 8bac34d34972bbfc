package taskdata

import (
	"math/bits"
	"slices"
)

// A State is a set of sections that are on: section i of [Bar.Sections] is
// bit i%64 of State[i/64].
type State [4]uint64

// MostSections is how many sections a state can tell apart: 16 in each of the
// 16 condensed work states.
const MostSections = 256

// On reports whether section i is on; those past [MostSections] never are.
func (s State) On(i int) bool { return i < MostSections && s[i/64]>>(i%64)&1 == 1 }

func (s *State) set(i int, on bool) {
	s[i/64] &^= 1 << (i % 64)
	if on {
		s[i/64] |= 1 << (i % 64)
	}
}

// Any reports whether any section is on.
func (s State) Any() bool { return s != State{} }

// Len returns how many sections are on.
func (s State) Len() int {
	n := 0
	for _, word := range s {
		n += bits.OnesCount64(word)
	}
	return n
}

// A source is where the log tells something about work: one of its values, and
// which bits of a state it decides.
type source struct {
	of    *Values
	next  int   // in of.Records
	first int   // condensed: the section in its lowest bits
	one   int   // plain: the section it is of; 0 for the bar as a whole
	place []int // where sections sit in Bar.Sections; nil for as they come
}

// works are the sources of one bar.
type works struct {
	plain    []source // of the bar as a whole: any on is on
	sections []source
}

// sources finds where the log tells whether a bar works.
//
//	plain      entry 141 of the bar, else of what it belongs to, else of the
//	           units below it
//	sections   entries 161 to 176 of the bar, else of what it belongs to, else
//	           entry 141 of each section
func (b *bearing) sources(bar int, sections, place []int) works {
	var w works
	for at := bar; at >= 0; at = b.device.Elements[at].Parent {
		if v := b.logged(at, ActualWorkState); v != nil && len(w.plain) == 0 {
			w.plain = []source{{of: v}}
		}
		if len(w.sections) > 0 {
			continue
		}
		for ddi := condensedFirst; ddi <= condensedLast; ddi++ {
			if v := b.logged(at, ddi); v != nil {
				w.sections = append(w.sections, source{of: v, first: int(ddi-condensedFirst) * condensedSections, place: place})
			}
		}
	}
	if len(w.sections) == 0 {
		for i, s := range sections[:min(len(sections), MostSections)] {
			if v := b.logged(s, ActualWorkState); v != nil {
				w.sections = append(w.sections, source{of: v, one: i, place: place})
			}
		}
	}
	if len(w.plain) == 0 {
		for i := range b.device.Elements {
			if v := b.logged(i, ActualWorkState); v != nil && b.device.Elements[i].Type != SectionElement && b.device.within(i, bar) {
				w.plain = append(w.plain, source{of: v})
			}
		}
	}
	return w
}

// ever reports whether sources ever say that something is on.
func ever(sources []source) bool {
	return slices.ContainsFunc(sources, func(s source) bool {
		return slices.ContainsFunc(s.of.Raw, func(raw int32) bool { return saysOn(s.of.DDI, raw) })
	})
}

// saysOn reports whether a work state, plain or condensed, says that something is
// on.
func saysOn(ddi DDI, raw int32) bool {
	if ddi == ActualWorkState {
		return raw == workOn
	}
	states := Condensed(raw)
	return slices.Contains(states[:], workOn)
}

// installed returns how many sections condensed states say there are: up to
// the last that is not "not installed" in the first value.
func installed(sources []source) int {
	most := 0
	for _, s := range sources {
		if s.of.DDI == ActualWorkState {
			continue
		}
		for i, state := range Condensed(s.of.Raw[0]) {
			if state != workNotInstalled {
				most = max(most, s.first+i+1)
			}
		}
	}
	return most
}

// apply sets what a source says at a record, and reports whether that changed.
func (s *source) apply(record int, count int, state *State) bool {
	from := s.next
	for s.next < len(s.of.Records) && int(s.of.Records[s.next]) <= record {
		s.next++
	}
	if s.next == from {
		return false
	}
	raw := s.of.Raw[s.next-1]
	if s.of.DDI == ActualWorkState {
		s.put(state, s.one, count, raw == workOn)
		return true
	}
	for i, one := range Condensed(raw) {
		s.put(state, s.first+i, count, one == workOn)
	}
	return true
}

func (s *source) put(state *State, section, count int, on bool) {
	if section >= count {
		return
	}
	if section < len(s.place) {
		section = s.place[section]
	}
	if section < MostSections { // of more, those at the right end are told by no bit
		state.set(section, on)
	}
}
