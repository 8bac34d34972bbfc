package quantity

import (
	"fmt"
	"strings"
)

// A unit is one measure: SI value = (number + zero) × size.
type unit struct {
	kind Kind
	size float64
	zero float64 // only for temperatures
	word string  // a nutrient or a currency
}

// simple are the units that stand alone, the usual name first.
var simple = []struct {
	names string
	unit
}{
	{"mm millimetre millimetres millimeter millimeters", unit{kind: Length, size: 1e-3}},
	{"cm centimetre centimetres centimeter centimeters", unit{kind: Length, size: 1e-2}},
	{"m metre metres meter meters", unit{kind: Length, size: 1}},
	{"km kilometre kilometres kilometer kilometers", unit{kind: Length, size: 1e3}},
	{"in inch inches \"", unit{kind: Length, size: Inch}},
	{"ft foot feet '", unit{kind: Length, size: Foot}},
	{"yd yard yards", unit{kind: Length, size: Yard}},
	{"mi mile miles", unit{kind: Length, size: Mile}},

	{"m2 sqm", unit{kind: Area, size: 1}},
	{"ft2 sqft", unit{kind: Area, size: Foot * Foot}},
	{"ac acre acres", unit{kind: Area, size: Acre}},
	{"ha hectare hectares", unit{kind: Area, size: Hectare}},

	{"ms", unit{kind: Duration, size: 1e-3}},
	{"s sec second seconds", unit{kind: Duration, size: 1}},
	{"min minute minutes", unit{kind: Duration, size: 60}},
	{"h hr hour hours", unit{kind: Duration, size: 3600}},

	{"mph", unit{kind: Speed, size: MPH}},
	{"kmh kph", unit{kind: Speed, size: KMH}},
	{"kn kt knot knots", unit{kind: Speed, size: Knot}},

	{"K kelvin", unit{kind: Temperature, size: 1}},
	{"C degC celsius", unit{kind: Temperature, size: 1, zero: FreezingPoint}},
	{"F degF fahrenheit", unit{kind: Temperature, size: Rankine, zero: FahrenheitZero}},

	{"deg degree degrees", unit{kind: Angle, size: 1}},

	{"g gram grams", unit{kind: Mass, size: 1e-3}},
	{"kg kilogram kilograms", unit{kind: Mass, size: 1}},
	{"t tonne tonnes", unit{kind: Mass, size: Tonne}},
	{"oz ounce ounces", unit{kind: Mass, size: Ounce}},
	{"lb lbs pound pounds", unit{kind: Mass, size: Pound}},
	{"ton tons", unit{kind: Mass, size: Ton}},

	{"m3", unit{kind: Volume, size: 1}},
	{"ft3", unit{kind: Volume, size: Foot * Foot * Foot}},
	{"L litre litres liter liters", unit{kind: Volume, size: Litre}},
	{"mL millilitre millilitres milliliter milliliters", unit{kind: Volume, size: Litre / 1000}},
	{"gal gallon gallons", unit{kind: Volume, size: Gallon}},
	{"qt quart quarts", unit{kind: Volume, size: Gallon / 4}},
	{"pt pint pints", unit{kind: Volume, size: Gallon / 8}},

	{"% percent", unit{kind: Percent, size: 0.01}},

	{"seeds seed", unit{kind: seeds, size: 1}},
	{"bu bushel bushels", unit{kind: bushels, size: 1}},
}

// ratios are the kinds that one kind over another makes.
var ratios = map[[2]Kind]Kind{
	{Length, Duration}: Speed,
	{Mass, Area}:       MassRate,
	{Volume, Area}:     VolumeRate,
	{seeds, Area}:      SeedRate,
	{bushels, Area}:    BushelRate,
	{Mass, Volume}:     Density,
	{seeds, Mass}:      SeedCount,
	{money, Mass}:      PricePerMass,
	{money, Volume}:    PricePerVolume,
	{money, bushels}:   PricePerBushel,
	{money, Duration}:  PricePerTime,
}

// nutrients are the names a nutrient rate may carry.
var nutrients = []string{"N", "P2O5", "K2O"}

// byName holds the simple units by every name, and by the name in lower case, so
// that "50 FT" is understood. "T" is refused, since it may be a tonne or a ton.
var byName, names = func() (map[string]unit, []string) {
	m := map[string]unit{}
	var all []string
	for _, u := range simple {
		for _, n := range strings.Fields(u.names) {
			m[n] = u.unit
			m[strings.ToLower(n)] = u.unit
			all = append(all, n)
		}
	}
	return m, all
}()

// A strange is a word that is no unit.
type strange string

// named returns the simple unit of that name.
func named(name string) (unit, error) {
	if u, ok := byName[name]; ok {
		return u, nil
	}
	if u, ok := byName[strings.ToLower(name)]; ok && name != "T" {
		return u, nil
	}
	return unit{}, strange(name)
}

func (s strange) Error() string {
	text := "no unit called " + quote(string(s))
	if near := Nearest(string(s), names); near != "" {
		text += ", the nearest is " + quote(near)
	}
	return text
}

// compound returns the unit that text writes: one alone, or one over another
// with a nutrient or a currency in it, such as "ft", "lb N/ac" and "USD/ton".
func compound(text string) (unit, error) {
	over, under, isRatio := strings.Cut(text, "/")
	over, under = strings.TrimSpace(over), strings.TrimSpace(under)
	if !isRatio {
		u, err := named(strings.ReplaceAll(over, " ", ""))
		if err != nil {
			err = strange(over)
		}
		return u, err
	}
	top, err := numerator(over)
	if err != nil {
		return unit{}, err
	}
	bottom, err := named(under)
	if err != nil {
		return unit{}, err
	}
	kind, ok := ratios[[2]Kind{top.kind, bottom.kind}]
	if top.word != "" && kind == MassRate {
		kind = NutrientRate
	}
	if !ok || top.word != "" && kind != NutrientRate && top.kind != money {
		return unit{}, strange(text)
	}
	return unit{kind: kind, size: top.size / bottom.size, word: top.word}, nil
}

// numerator returns the unit above the line, its nutrient or currency with it.
func numerator(text string) (unit, error) {
	if len(text) == 3 && strings.Trim(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == "" {
		return unit{kind: money, size: 1, word: text}, nil
	}
	name, nutrient, ok := strings.Cut(text, " ")
	u, err := named(name)
	if err != nil || !ok {
		return u, err
	}
	for _, n := range nutrients {
		if strings.EqualFold(n, strings.TrimSpace(nutrient)) {
			u.word = n
			return u, nil
		}
	}
	return unit{}, fmt.Errorf("no nutrient called %s, only N, P2O5 and K2O", quote(strings.TrimSpace(nutrient)))
}
