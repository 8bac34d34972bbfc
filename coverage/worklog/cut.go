package worklog

import (
	"slices"
	"strconv"
	"strings"

	"lapwing/geo/gnsslog"
	"lapwing/geo/gnsslog/naming"
)

// meaningOfStem is what a column means whose name was cut and begins with stem,
// where all names that begin so mean one thing. The end of a width's name may be
// the unit.
func meaningOfStem(stem string) (found meaning) {
	if len(stem) < leastStem {
		return noMeaning
	}
	for m := meansWorking; m <= meansPart; m++ {
		if slices.ContainsFunc(ourNames[m], func(name string) bool { return strings.HasPrefix(name, stem) }) {
			if found != noMeaning {
				return noMeaning
			}
			found = m
		}
	}
	return found
}

// leastStem is how many letters of a name must be left for it to be known by them:
// judgement. No test holds it closely.
const leastStem = 5

// meaningOfColumn is meaningOf for a column whose name may be cut as a .dbf does.
// Of such a name the values must be what they would mean.
func meaningOfColumn(col *gnsslog.Column) (m meaning, rank int, unit string) {
	if m, rank, unit = meaningOf(PlainName(col.Name)); m != noMeaning {
		return m, rank, unit
	}
	stem, may := naming.MayBeCut(col.Name)
	if m = meaningOfStem(stem); !may || !slices.ContainsFunc(col.Distinct, func(v string) bool { return strings.TrimSpace(v) != "" }) ||
		slices.ContainsFunc(col.Distinct, func(v string) bool { return !m.fits(strings.TrimSpace(v)) }) {
		return noMeaning, 0, ""
	}
	return m, len(ourNames[m]), "" // behind all whole names
}

// meaningNamed is meaningOfColumn for a column of the log by its name.
func (l Log) meaningNamed(name string) (m meaning, rank int, unit string) {
	for i := range l.Columns {
		if l.Columns[i].Name == name {
			return meaningOfColumn(&l.Columns[i])
		}
	}
	return meaningOf(PlainName(name))
}

// fits reports whether a value may stand in a column of a meaning.
func (m meaning) fits(value string) bool {
	switch m {
	case meansWorking:
		_, ok := answerWords[strings.ToLower(value)]
		return ok
	case meansSections:
		return strings.Trim(value, "01") == ""
	case meansWidth:
		w, err := strconv.ParseFloat(strings.Replace(value, ",", ".", 1), 64)
		return value == "" || err == nil && w >= 0
	case meansPart:
		return len(value) < 16 // a number or an id
	case meansMachine:
		return true
	case noMeaning:
	}
	return false
}
