package quantity

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ulps is how far a value may be from the exact one: a conversion is at most
// three roundings, each of half a unit in the last place.
const ulps = 4 * 0x1p-53

func near(t *testing.T, want, got float64, tolerance float64) {
	t.Helper()
	assert.LessOrEqual(t, math.Abs(got-want), tolerance*math.Abs(want), "want %v, got %v", want, got)
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		kind Kind
		want float64
	}{
		// 85 FR 62698, 5 Oct 2020: the foot is 0.3048 m exactly.
		{"1 ft", Length, 0.3048},
		{"50 ft", Length, 15.24},
		{"40ft", Length, 12.192},
		{"50'", Length, 15.24},
		{"10 in", Length, 0.254},
		{"7.5″", Length, 0.1905},
		{"14 ft 4.5 in", Length, 172.5 * 0.0254},
		{`14'4.5"`, Length, 172.5 * 0.0254},
		{"-14 ft 4.5 in", Length, -172.5 * 0.0254},
		{"16.5 m", Length, 16.5},
		{"-.3 m", Length, -0.3},
		{"−0.3 m", Length, -0.3},
		{"+2 m", Length, 2},
		{"5. m", Length, 5},
		{"15\u00a0cm", Length, 0.15},
		{"50 FT", Length, 15.24},
		{"1.5e1 m", Length, 15},
		{"1.5e-1 m", Length, 0.15},
		{"2E+1 m", Length, 20},
		{"1 mile", Length, 1609.344},
		// Mesa County, Colorado, "Stationary Calibration Method for Boom Sprayers": an acre is 43,560 ft².
		{"1 ac", Area, 4046.8564224},
		{"43560 ft2", Area, 4046.8564224},
		{"1 m²", Area, 1},
		{"2 ha", Area, 20000},
		{"2 s", Duration, 2},
		{"0.5 min", Duration, 30},
		{"1 h", Duration, 3600},
		{"250 ms", Duration, 0.25},
		// Joplin Globe, R. Klein, UNL: 1 mph is 88 ft/min.
		{"1 mph", Speed, 0.44704},
		{"88 ft/min", Speed, 0.44704},
		{"1.609344 km/h", Speed, 0.44704},
		{"1 kn", Speed, 1852.0 / 3600},
		{"1 m/s", Speed, 1},
		{"50 F", Temperature, 283.15},
		{"50 °F", Temperature, 283.15},
		{"-40 F", Temperature, 233.15},
		{"-40 deg C", Temperature, 233.15},
		{"10 C", Temperature, 283.15},
		{"283.15 K", Temperature, 283.15},
		{"90 deg", Angle, 90},
		{"-90°", Angle, -90},
		{"60 lb", Mass, 60 * 0.45359237},  // the pound: from memory
		{"2000 lb", Mass, 907.18474},      // the short ton: from memory
		{"1 ton", Mass, 907.18474},        // not the tonne
		{"1 t", Mass, 1000},               // not the ton
		{"16 oz", Mass, 0.45359237},       // from memory
		{"1 gal", Volume, 0.003785411784}, // 231 in³, from memory
		{"8 pt", Volume, 0.003785411784},
		{"1 L", Volume, 0.001},
		{"1 l", Volume, 0.001},
		{"1 m³", Volume, 1},
		{"112 kg/ha", MassRate, 0.0112},
		{"6.5 t/ha", MassRate, 0.65},
		{"100 kg per ha", MassRate, 0.01},
		{"25 seeds/ft2", SeedRate, 25 / (0.3048 * 0.3048)},
		{"300 seeds/m²", SeedRate, 300},
		{"1 kg/L", Density, 1000},
		{"12000 seeds/lb", SeedCount, 12000 / 0.45359237},
		{"85 %", Percent, 0.85},
		{"85%", Percent, 0.85},
		{"45 bu/ac", BushelRate, 45 / 4046.8564224},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, err := Parse(c.text, c.kind)
			require.NoError(t, err)
			near(t, c.want, got, ulps)
		})
	}
}

// By exact arithmetic from 0.45359237 kg, 231 in³ and 0.3048 m, to the digits printed.
func TestParseRates(t *testing.T) {
	mass, err := Parse("1 lb/ac", MassRate)
	require.NoError(t, err)
	near(t, 1.120851156, mass*Hectare, 1e-9)
	volume, err := Parse("1 gal/ac", VolumeRate)
	require.NoError(t, err)
	near(t, 9.353956229, volume*Hectare/Litre, 1e-9)
	density, err := Parse("1 lb/gal", Density)
	require.NoError(t, err)
	near(t, 1/0.008345404452, density, 1e-9)
	knot, err := Parse("1 kn", Speed)
	require.NoError(t, err)
	near(t, 1.150779448, knot/MPH, 1e-9)
}

func TestRead(t *testing.T) {
	for _, c := range []struct {
		text string
		wish Wish
		want Value
	}{
		{"70 lb N/ac", Rate, Value{SI: 70 * Pound / Acre, Kind: NutrientRate, Nutrient: "N"}},
		{"40 kg p2o5/ha", Rate, Value{SI: 0.004, Kind: NutrientRate, Nutrient: "P2O5"}},
		{"15 lb K2O / ac", Rate, Value{SI: 15 * Pound / Acre, Kind: NutrientRate, Nutrient: "K2O"}},
		{"5 gal/ac", Rate, Value{SI: 5 * Gallon / Acre, Kind: VolumeRate}},
		{"90 lb/ac", Rate, Value{SI: 90 * Pound / Acre, Kind: MassRate}},
		{"300 seeds/m2", Rate, Value{SI: 300, Kind: SeedRate}},
		{"800 USD/ton", Price, Value{SI: 800 / (2000 * Pound), Kind: PricePerMass, Currency: "USD"}},
		{"0.25 USD/lb", Price, Value{SI: 0.25 / Pound, Kind: PricePerMass, Currency: "USD"}},
		{"2.10 EUR/L", Price, Value{SI: 2100, Kind: PricePerVolume, Currency: "EUR"}},
		{"2EUR/L", Price, Value{SI: 2000, Kind: PricePerVolume, Currency: "EUR"}}, // the E begins no exponent
		{"6 USD/bu", CropPrice, Value{SI: 6, Kind: PricePerBushel, Currency: "USD"}},
		{"180 USD/h", Just(PricePerTime), Value{SI: 0.05, Kind: PricePerTime, Currency: "USD"}},
		{"6.5 t/ha", Yield, Value{SI: 0.65, Kind: MassRate}},
		{"35 g", SeedSize, Value{SI: 0.035, Kind: Mass}},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, err := Read(c.text, c.wish)
			require.NoError(t, err)
			near(t, c.want.SI, got.SI, ulps)
			got.SI = c.want.SI
			assert.Equal(t, c.want, got)
		})
	}
}

func TestReadRefuses(t *testing.T) {
	const length = `, want a length such as "50 ft" or "16.5 m"`
	const rate = `, want a rate such as "100 lb/ac", "112 kg/ha", "5 gal/ac", "70 lb N/ac" or "25 seeds/ft2"`
	const price = `, want a price such as "800 USD/ton", "0.25 USD/lb" or "2.10 EUR/L"`
	for _, c := range []struct {
		text string
		wish Wish
		want string
	}{
		{"50", Just(Length), `found "50"` + length},
		{"", Just(Length), `found ""` + length},
		{"wide", Just(Length), `found "wide"` + length},
		{".", Just(Length), `found "."` + length},
		{"ft 50", Just(Length), `found "ft 50"` + length},
		{"NaN ft", Just(Length), `found "NaN ft"` + length},
		{"Inf ft", Just(Length), `found "Inf ft"` + length},
		{"0x10 ft", Just(Length), `found "0x10 ft", no unit called "x10 ft"` + length},
		{"1e999 ft", Just(Length), `found "1e999 ft", a number too large` + length},
		{"1e308 mi", Just(Length), `found "1e308 mi", a number too large` + length},
		{"16,5 m", Just(Length), `found "16,5 m", with a comma in the number` + length},
		{"50 fet", Just(Length), `found "50 fet", no unit called "fet", the nearest is "feet"` + length},
		{"50 metrs", Just(Length), `found "50 metrs", no unit called "metrs", the nearest is "meters"` + length},
		{"5 ft 12 in", Just(Length), `found "5 ft 12 in", no unit called "ft 12 in"` + length},
		{"5e+", Just(Length), `found "5e+", no unit called "e+"` + length},
		{"50 furlongs", Just(Length), `found "50 furlongs", no unit called "furlongs"` + length},
		{"50 lb", Just(Length), `found "50 lb", a mass` + length},
		{"50 ft\n", Just(Mass), `found "50 ft\n", a length, want a mass such as "60 lb" or "27 kg"`},
		{`50"`, Just(Mass), `found '50"', a length, want a mass such as "60 lb" or "27 kg"`},
		{"-2 s", Just(Duration), `found "-2 s", below zero, want a time such as "2 s" or "0.5 min"`},
		{"-300 C", Just(Temperature), `found "-300 C", below absolute zero, want a temperature such as "50 F" or "10 C"`},
		{"100", Rate, `found "100"` + rate},
		{"-5 lb/ac", Rate, `found "-5 lb/ac", below zero` + rate},
		{"5 T/ha", Rate, `found "5 T/ha", no unit called "T", the nearest is "t"` + rate},
		{"5 gal N/ac", Rate, `found "5 gal N/ac", no unit called "gal N/ac"` + rate},
		{"5 lb S/ac", Rate, `found "5 lb S/ac", no nutrient called "S", only N, P2O5 and K2O` + rate},
		{"70 lb/acr", Rate, `found "70 lb/acr", no unit called "acr", the nearest is "ac"` + rate},
		{"5 lb N/gal", Rate, `found "5 lb N/gal", no unit called "lb N/gal"` + rate},
		{"800", Price, `found "800"` + price},
		{"800 USD", Price, `found "800 USD", no unit called "USD"` + price},
		{"$800/ton", Price, `found "$800/ton"` + price},
		{"6 USD/bu", Price, `found "6 USD/bu", a price by the bushel` + price},
		{"85", Just(Percent), `found "85", want a share such as "85 %"`},
	} {
		t.Run(c.text, func(t *testing.T) {
			_, err := Read(c.text, c.wish)
			require.Error(t, err)
			assert.Equal(t, c.want, err.Error())
		})
	}
}

// An e that ends the text begins no exponent.
func TestReadOfAnExponentAtTheEnd(t *testing.T) {
	_, err := Read("5e", Just(Length))
	assert.ErrorContains(t, err, `found "5e", no unit called "e"`)
}

// The examples in the messages are understood.
func TestExamplesParse(t *testing.T) {
	wishes := []Wish{Rate, Price, Yield, CropPrice, SeedSize}
	for k := Length; k <= Percent; k++ {
		wishes = append(wishes, Just(k))
	}
	for _, w := range wishes {
		for _, example := range quoted(w.examples) {
			_, err := Read(example, w)
			assert.NoError(t, err, example)
		}
	}
}

// quoted returns what stands between quotes in s.
func quoted(s string) (out []string) {
	start := -1
	for i, r := range s {
		switch {
		case r == '"' && start < 0:
			start = i + 1
		case r == '"':
			out = append(out, s[start:i])
			start = -1
		}
	}
	return out
}

func TestNearest(t *testing.T) {
	known := []string{"width", "openers", "on", "off"}
	assert.Equal(t, "width", Nearest("Widht", known))
	assert.Equal(t, "openers", Nearest("opener", known))
	assert.Equal(t, "off", Nearest("of", known), "on and off are both one step away")
	assert.Equal(t, "", Nearest("boundary", known))
	assert.Equal(t, "", Nearest("x", nil))
	assert.Equal(t, "", Nearest("e", []string{"m", `"`}), "of one letter, wrong is all of it")
	assert.Equal(t, "m", Nearest("M", []string{"m", `"`}))
}

func TestIn(t *testing.T) {
	assert.InDelta(t, 160.0, InAcres(647497.027584), 1e-12) // a quarter section, 2640 ft square
	assert.InDelta(t, 0.40468564224, InHectares(Acre), 1e-15)
	assert.InDelta(t, 50, InFeet(15.24), 1e-13)
	assert.InDelta(t, 2000, InPounds(907.18474), 1e-12)
	assert.InDelta(t, 264.172052358, InGallons(1), 1e-9) // from memory
	assert.InDelta(t, 1/1.120851156, InPoundsPerAcre(1/Hectare), 1e-9)
	assert.InDelta(t, 1/9.353956229, InGallonsPerAcre(Litre/Hectare), 1e-9)
	assert.InDelta(t, -40, InFahrenheit(233.15), 1e-12)
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"50 ft", "14 ft 4.5 in", "70 lb N/ac", "800 USD/ton", "85 %", "-40 °F", "1e999 m", "", "5 / ", "1 ", "N/ac", "5\xff m", "300 seeds/m²"} {
		f.Add(s)
	}
	wishes := []Wish{Rate, Price, Yield, CropPrice, SeedSize}
	for k := Length; k <= Percent; k++ {
		wishes = append(wishes, Just(k))
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, w := range wishes {
			v, err := Read(text, w)
			if err != nil {
				assert.NotContains(t, err.Error(), "\n")
				continue
			}
			assert.False(t, math.IsNaN(v.SI) || math.IsInf(v.SI, 0), "%q gives %v", text, v.SI)
			again, err := Read(v.String(), w)
			if v.Kind == Percent && v.SI > math.MaxFloat64/1000 {
				continue // a hundred times it is no float64
			}
			require.NoError(t, err, "%q gives %q", text, v)
			if v.Kind == Percent {
				near(t, v.SI, again.SI, ulps)
				again.SI = v.SI
			}
			assert.Equal(t, v, again)
		}
	})
}
