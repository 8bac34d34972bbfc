package worklog

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/gnsslog/naming"
)

// A Rate is a column of a log that says how much was put down by area.
type Rate struct {
	Column string         // its name
	Unit   quantity.Value // what 1 in the column is
	Of     string         // the rest of its name, as in PlainName: of a product perhaps, or ""
	codes  []uint32
	values []float64 // by code; NaN where the text is no rate
	wrong  []bool    // by code: the text is neither a rate nor empty
}

// At returns the rate at a fix; NaN where the log does not say. wrong tells of
// a value that is no rate.
func (r *Rate) At(fix int) (value float64, wrong bool) {
	code := r.codes[fix]
	return r.values[code], r.wrong[code]
}

// newRate reads the rates in a column.
func newRate(col *gnsslog.Column, unit, of string) Rate {
	r := Rate{Column: col.Name, Unit: oneOfUnit(unit), Of: of, codes: col.Codes,
		values: make([]float64, len(col.Distinct)), wrong: make([]bool, len(col.Distinct))}
	for code, text := range col.Distinct {
		text = strings.TrimSpace(text)
		v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || v < 0 || math.IsInf(v, 0) || math.IsNaN(v) {
			v, r.wrong[code] = math.NaN(), text != ""
		}
		r.values[code] = v
	}
	return r
}

// rateNames are the names of columns of logged rates, written as in ourNames, each
// before the shorter names within it. The rest of a column's name, without the
// unit, may be the product.
var rateNames = []string{"actualappliedrate", "actualrate", "appliedrate", "rateapplied", "applicationrate", "seedingrate", "seedrate", "rate"}

// notApplied are words in the names of columns of other rates than what was put
// down.
var notApplied = []string{"target", "setpoint", "desired", "planned", "prescri", "required", "control", "min", "max", "flow", "yield",
	"harvest", "sample", "sampling", "log", "turn", "speed", "drop"}

// rateUnits are the units of rates as they stand in names of columns, in
// lower case and without what separates words.
var rateUnits = map[string]string{
	"lbac": "lb/ac", "lbsac": "lb/ac", "lbacre": "lb/ac", "lbsacre": "lb/ac", "kgha": "kg/ha", "kgm2": "kg/m2", "tha": "t/ha", "tonac": "ton/ac",
	"galac": "gal/ac", "galacre": "gal/ac", "gpa": "gal/ac", "lha": "L/ha", "litreha": "L/ha", "literha": "L/ha",
	"seedsac": "seeds/ac", "seedsacre": "seeds/ac", "seedsft2": "seeds/ft2", "seedsm2": "seeds/m2", "seedsha": "seeds/ha",
	"lbnac": "lb N/ac", "kgnha": "kg N/ha",
}

// rateOf splits the name of a column of rates into product and unit; false for any
// other column. A unit that is not known is "".
func rateOf(name string) (of, unit string, ok bool) {
	plain, bracket := PlainName(name)
	join := strings.NewReplacer("/", "", "per", "", " ", "", ".", "", "-", "", "_", "", "^", "", "*", "")
	plain = join.Replace(plain)
	if bracket != "" {
		unit = rateUnits[join.Replace(bracket)]
	} else {
		longest := ""
		for end := range rateUnits {
			if strings.HasSuffix(plain, end) && len(end) > len(longest) {
				longest = end
			}
		}
		plain, unit = strings.TrimSuffix(plain, longest), rateUnits[longest]
	}
	stem, cut := naming.MayBeCut(name)
	stem = join.Replace(stem)
	for _, base := range rateNames {
		before, after, found := strings.Cut(plain, base)
		switch {
		case found && cut && unit == "" && len(after) > 1:
			if unit = unitBegun(after); unit != "" {
				after = ""
			}
		case !found && cut && strings.HasPrefix(base, stem):
			before, found = "", true
		}
		if !found {
			continue
		}
		of = before + after
		for _, not := range notApplied {
			if strings.Contains(of, not) {
				return "", "", false
			}
		}
		if strings.HasPrefix(base, "seed") {
			of = "seed" + of
		}
		return of, unit, true
	}
	return "", "", false
}

// unitBegun is the unit of a rate whose name begins so, where all such names are of
// one; else "".
func unitBegun(start string) (unit string) {
	for name, of := range rateUnits {
		if strings.HasPrefix(name, start) {
			if unit != "" && unit != of {
				return ""
			}
			unit = of
		}
	}
	return unit
}

// IsRate reports whether a column of a name may be one of logged rates.
func IsRate(name string) bool {
	_, _, ok := rateOf(name)
	return ok || len(name) >= leastStem && slices.ContainsFunc(rateNames, func(base string) bool { return strings.HasPrefix(base, name) })
}

// Rates are the columns of logged rates, and the names of those that name no
// unit.
func (l Log) Rates() (found []Rate, bare []string) {
	if l.By != nil {
		return slices.Clone(l.rates), nil
	}
	for i := range l.Columns {
		col := &l.Columns[i]
		of, unit, ok := rateOf(col.Name)
		switch {
		case !ok:
		case unit == "":
			bare = append(bare, col.Name)
		default:
			found = append(found, newRate(col, unit, of))
		}
	}
	return found, bare
}

// RateIn reads a column as one of logged rates whatever it is called, if its
// name ends in the unit of one.
func (l Log) RateIn(name string) (Rate, error) {
	wrong := func(found, want string) error {
		return &geo.SyntaxError{File: l.File, Where: where(name), Found: found, Want: want}
	}
	col := l.named(name)
	if col == nil || len(col.Distinct) == 0 {
		return Rate{}, wrong("no such column", "the one that logged_rate names")
	}
	text, bracket := PlainName(col.Name)
	for end, unit := range rateUnits {
		if bracket == "" && strings.HasSuffix(strings.ReplaceAll(text, "/", ""), end) || bracket != "" && strings.ReplaceAll(bracket, "/", "") == end {
			return newRate(col, unit, ""), nil
		}
	}
	return Rate{}, wrong("no unit in its name", `one such as "lb/ac", "kg/ha", "gal/ac" or "seeds/m2" at its end`)
}

func oneOfUnit(unit string) quantity.Value {
	v, err := quantity.Read("1 "+unit, quantity.Rate)
	if err != nil {
		panic("rateUnits: " + err.Error()) // a test reads all of them
	}
	return v
}

// rateMeaning says how the column of a rate is understood; "" where it has no
// unit.
func rateMeaning(of, unit string) string {
	switch {
	case unit == "":
		return ""
	case of == "":
		return "what was put down, in " + unit
	}
	return "what was put down of " + of + ", in " + unit
}
