package quantity

import (
	"math"
	"strconv"
	"strings"
)

// A Value is a number in the SI unit of its kind.
type Value struct {
	SI   float64
	Kind Kind
	// Nutrient is "N", "P2O5" or "K2O" in a [NutrientRate], else "".
	Nutrient string
	// Currency is three capital letters in a price, else "".
	Currency string
}

// An Error says that a text is not the quantity it should be.
type Error struct {
	Found string // `found "50"`
	Want  string // `a length such as "50 ft" or "16.5 m"`
}

func (e *Error) Error() string { return e.Found + ", want " + e.Want }

// Parse returns the value of text, a number and a unit such as "50 ft", in
// the SI unit of kind. A failure is an [*Error].
func Parse(text string, kind Kind) (float64, error) {
	v, err := Read(text, Just(kind))
	return v.SI, err
}

// most is the largest number that a quantity may be, in its SI unit: more than
// anything on a farm weighs, measures or costs. Sums and products of some of them
// stay numbers.
const most = 1e15

// Read returns the value of text, which is to be of one of the kinds wished
// for. Numbers are plain decimals; only lengths, temperatures and angles may
// be below zero. Feet and inches may stand together: "14 ft 4.5 in". A
// failure is an [*Error].
func Read(text string, want Wish) (Value, error) {
	plain := tidy(text)
	fail := func(why string) (Value, error) {
		found := "found " + quote(text)
		if why != "" {
			found += ", " + why
		}
		return Value{}, &Error{Found: found, Want: want.String()}
	}
	number, rest := cutNumber(plain)
	if number == "" {
		return fail("")
	}
	n, err := strconv.ParseFloat(number, 64)
	if err != nil { // the syntax is right, so it is the size
		return fail("a number too large")
	}
	if rest == "" {
		return fail("")
	}
	if strings.HasPrefix(rest, ",") {
		return fail("with a comma in the number")
	}
	if v, ok := feetAndInches(n, strings.HasPrefix(number, "-"), rest); ok && want.grants(Length) {
		return v, nil
	}
	u, err := compound(rest)
	if err != nil {
		return fail(err.Error())
	}
	if !want.grants(u.kind) {
		return fail(kinds[u.kind].noun)
	}
	v := Value{SI: (n + u.zero) * u.size, Kind: u.kind}
	switch {
	case u.kind == NutrientRate:
		v.Nutrient = u.word
	case u.word != "":
		v.Currency = u.word
	}
	switch {
	case !(math.Abs(v.SI) <= most):
		return fail("a number too large")
	case v.SI < 0 && u.kind == Temperature:
		return fail("below absolute zero")
	case v.SI < 0 && !kinds[u.kind].signed:
		return fail("below zero")
	}
	return v, nil
}

// String writes v in the unit of its kind, so that [Read] gives v back (a
// share within the last digit, since it is written in percent).
func (v Value) String() string {
	n := v.SI
	if v.Kind == Percent {
		n *= 100
	}
	unit := strings.Replace(kinds[v.Kind].unit, "%s", v.Nutrient+v.Currency, 1)
	return strconv.FormatFloat(n, 'f', -1, 64) + " " + unit
}

// feetAndInches returns n ft and the inches that follow in rest.
func feetAndInches(feet float64, negative bool, rest string) (Value, bool) {
	i := strings.IndexAny(rest, "0123456789.")
	if i < 0 {
		return Value{}, false
	}
	number, unit := cutNumber(rest[i:])
	inches, err := strconv.ParseFloat(number, 64)
	if err != nil || byName[strings.TrimSpace(rest[:i])] != byName["ft"] || byName[unit] != byName["in"] || !(inches < 12) {
		return Value{}, false
	}
	if negative {
		inches = -inches
	}
	si := feet*Foot + inches*Inch
	return Value{SI: si, Kind: Length}, !math.IsInf(si, 0)
}

// lookalikes are the characters people and programs write for the plain ones.
var lookalikes = strings.NewReplacer("²", "2", "³", "3", "′", "'", "’", "'", "″", `"`, "”", `"`,
	"−", "-", "°", "deg ", " per ", "/", "^", "")

// tidy returns text with plain characters and single spaces.
func tidy(text string) string {
	return strings.Join(strings.Fields(lookalikes.Replace(strings.Join(strings.Fields(text), " "))), " ")
}

// cutNumber splits text after the decimal number it begins with; number is ""
// if it does not begin with one.
func cutNumber(text string) (number, rest string) {
	i := 0
	if i < len(text) && (text[i] == '-' || text[i] == '+') {
		i++
	}
	whole := digits(text[i:])
	i += whole
	part := 0
	if i < len(text) && text[i] == '.' {
		part = digits(text[i+1:])
		if whole+part == 0 {
			return "", text
		}
		i += 1 + part
	}
	if whole+part == 0 {
		return "", text
	}
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if j < len(text) && (text[j] == '-' || text[j] == '+') {
			j++
		}
		if n := digits(text[j:]); n > 0 {
			i = j + n
		}
	}
	return text[:i], strings.TrimSpace(text[i:])
}

// digits returns how many digits text begins with.
func digits(text string) int {
	i := 0
	for i < len(text) && '0' <= text[i] && text[i] <= '9' {
		i++
	}
	return i
}

// quote puts text in quotes on one line, its odd characters escaped, cut
// where it runs on.
func quote(text string) string {
	if r := []rune(text); len(r) > 60 {
		text = string(r[:57]) + "..."
	}
	if strings.Contains(text, `"`) && !strings.Contains(text, "'") && strconv.CanBackquote(text) {
		return "'" + text + "'"
	}
	return strconv.Quote(text)
}
