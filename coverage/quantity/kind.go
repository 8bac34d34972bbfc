package quantity

// A Kind is what a quantity measures, and so the SI unit of its number.
type Kind int

// The kinds, with the unit of their values. Angles are in degrees, since
// headings are, though that is not SI; all else is.
const (
	Length         Kind = iota // m
	Area                       // m²
	Duration                   // s
	Speed                      // m/s
	Temperature                // K
	Angle                      // degrees
	Mass                       // kg
	Volume                     // m³
	MassRate                   // kg/m²
	VolumeRate                 // m³/m²
	NutrientRate               // kg/m² of the nutrient named, not of the product
	SeedRate                   // seeds/m²
	BushelRate                 // bushels/m²: a measure whose mass the crop decides
	Density                    // kg/m³
	SeedCount                  // seeds/kg
	PricePerMass               // money/kg
	PricePerVolume             // money/m³
	PricePerBushel             // money/bushel
	PricePerTime               // money/s
	Percent                    // a fraction: 85 % is 0.85

	// What only occurs as part of a unit.
	seeds
	bushels
	money
)

// kinds says of each Kind how a person calls it, what one looks like, how it
// is written in its own unit, and whether it may be below zero.
var kinds = [...]struct {
	noun, examples, unit string
	signed               bool
}{
	Length:         {"a length", `"50 ft" or "16.5 m"`, "m", true},
	Area:           {"an area", `"1 m2" or "0.1 ac"`, "m2", false},
	Duration:       {"a time", `"2 s" or "0.5 min"`, "s", false},
	Speed:          {"a speed", `"5 mph" or "2 m/s"`, "m/s", false},
	Temperature:    {"a temperature", `"50 F" or "10 C"`, "K", true},
	Angle:          {"an angle", `"90 deg"`, "deg", true},
	Mass:           {"a mass", `"60 lb" or "27 kg"`, "kg", false},
	Volume:         {"a volume", `"1450 gal" or "5500 L"`, "m3", false},
	MassRate:       {"a mass by area", `"100 lb/ac" or "112 kg/ha"`, "kg/m2", false},
	VolumeRate:     {"a volume by area", `"5 gal/ac" or "50 L/ha"`, "m3/m2", false},
	NutrientRate:   {"a nutrient by area", `"70 lb N/ac" or "80 kg N/ha"`, "kg %s/m2", false},
	SeedRate:       {"seeds by area", `"25 seeds/ft2" or "300 seeds/m2"`, "seeds/m2", false},
	BushelRate:     {"bushels by area", `"45 bu/ac"`, "bu/m2", false},
	Density:        {"a density", `"10.67 lb/gal" or "1.28 kg/L"`, "kg/m3", false},
	SeedCount:      {"seeds by mass", `"12000 seeds/lb"`, "seeds/kg", false},
	PricePerMass:   {"a price by mass", `"800 USD/ton" or "0.9 EUR/kg"`, "%s/kg", false},
	PricePerVolume: {"a price by volume", `"3.5 USD/gal" or "2.10 EUR/L"`, "%s/m3", false},
	PricePerBushel: {"a price by the bushel", `"6 USD/bu"`, "%s/bu", false},
	PricePerTime:   {"a price by time", `"150 USD/h"`, "%s/s", false},
	Percent:        {"a share", `"85 %"`, "%", false},
	seeds:          {noun: "a number of seeds"},
	bushels:        {noun: "a number of bushels"},
	money:          {noun: "an amount of money"},
}

// A Wish is one or more kinds that fit in one place, and how to ask for them.
type Wish struct {
	kinds          []Kind
	noun, examples string
}

// Wishes for more than one kind.
var (
	// Rate is how much goes on the ground: [MassRate], [VolumeRate],
	// [NutrientRate] or [SeedRate].
	Rate = Wish{[]Kind{MassRate, VolumeRate, NutrientRate, SeedRate}, "a rate",
		`"100 lb/ac", "112 kg/ha", "5 gal/ac", "70 lb N/ac" or "25 seeds/ft2"`}
	// Price is [PricePerMass] or [PricePerVolume].
	Price = Wish{[]Kind{PricePerMass, PricePerVolume}, "a price",
		`"800 USD/ton", "0.25 USD/lb" or "2.10 EUR/L"`}
	// Yield is [MassRate] or [BushelRate].
	Yield = Wish{[]Kind{MassRate, BushelRate}, "a yield", `"45 bu/ac" or "6.5 t/ha"`}
	// CropPrice is [PricePerMass] or [PricePerBushel].
	CropPrice = Wish{[]Kind{PricePerMass, PricePerBushel}, "a price", `"6 USD/bu" or "210 EUR/t"`}
	// SeedSize is the [Mass] of a thousand kernels, or a [SeedCount].
	SeedSize = Wish{[]Kind{Mass, SeedCount}, "the mass of 1000 kernels or seeds by mass",
		`"35 g" or "12000 seeds/lb"`}
)

// Just is the wish for one kind.
func Just(k Kind) Wish { return Wish{[]Kind{k}, kinds[k].noun, kinds[k].examples} }

// String says what is wished for: `a length such as "50 ft" or "16.5 m"`.
func (w Wish) String() string { return w.noun + " such as " + w.examples }

func (w Wish) grants(k Kind) bool {
	for _, want := range w.kinds {
		if k == want {
			return true
		}
	}
	return false
}
