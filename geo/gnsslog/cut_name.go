package gnsslog

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"lapwing/geo"
)

// cutName is how many characters the name of a column has at most in a .dbf.
// Longer ones are cut, there and in what is made of such a table.
const cutName = 10

// leastStem is how much of a name must be left for it to be known by: "speed_",
// but not "time_". Judgement; no test holds it closely.
const leastStem = 5

// MayBeCut reports whether a column's name may have been cut to what a .dbf has
// room for, and returns what is left of it in normal form: all ten characters, or
// those before the number that keeps two cut names apart, as in "implemen_1".
func MayBeCut(name string) (stem string, ok bool) {
	name = strings.TrimSpace(name)
	if utf8.RuneCountInString(name) != cutName {
		return "", false
	}
	if digits := strings.TrimRight(name, "0123456789"); len(digits) < len(name) && len(digits) > 6 && strings.HasSuffix(digits, "_") {
		name = digits
	}
	name = strings.NewReplacer("(", "", "[", "", "{", "").Replace(name)
	stem, _ = normal(name)
	return stem, len(stem) >= leastStem
}

// roleOfStem finds what a column whose name was cut is, where all names that begin
// so are of one role; roles if there is none. Of a speed, unit is the unit where
// all have one.
func roleOfStem(stem string) (found role, rank int, unit string) {
	found = roles
	for _, stem := range []string{stem, strings.TrimPrefix(stem, "gps"), strings.TrimPrefix(stem, "gnss")} {
		if len(stem) < leastStem {
			continue
		}
		for r := range roles {
			for at, name := range known[r] {
				if strings.HasPrefix(name, stem) {
					if found != roles && found != r {
						return roles, 0, ""
					}
					if found == roles {
						found, rank = r, at
					}
				}
			}
		}
		for at, base := range known[roleSpeed] {
			rest, is := strings.CutPrefix(stem, base)
			if !is || rest == "" {
				continue
			}
			for _, word := range slices.Sorted(maps.Keys(speedUnits)) {
				if strings.HasPrefix(word, rest) {
					if unit != "" && speedUnits[word].word != unit {
						return roles, 0, ""
					}
					found, rank, unit = roleSpeed, at, speedUnits[word].word
				}
			}
		}
	}
	return found, rank, unit
}

// isCut reports whether a column is known by the beginning of its name alone.
func (p *plan) isCut(column int) bool {
	name := p.names[column]
	short, unit := normal(name)
	r, _ := new(plan).roleOf(0, name, short, unit)
	_, may := MayBeCut(name)
	return r == roles && may
}

// explainCutSpeed fills in what a speed's column whose name is cut was taken for.
func (p *plan) explainCutSpeed(column, line int) {
	stem, _ := MayBeCut(p.names[column])
	_, _, word := roleOfStem(stem)
	p.perUnit = 1
	for _, unit := range speedUnits {
		if unit.word == word {
			p.perUnit = unit.mps
		}
	}
	if word == "" {
		word = "m/s"
		p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q: its name is cut, and a unit perhaps with it; taken as m/s", p.names[column])})
	}
	p.understood[column].As = "speed in " + word
}
