// Package quantity reads, converts and writes quantities: "50 ft", "70 lb N/ac".
// It knows units, not fields. Values are in SI units throughout.
package quantity

// Units in SI. The foot is the international foot, 0.3048 m exactly, the only
// one since the US survey foot was deprecated (85 FR 62698, 2020).
const (
	Inch      = 0.0254
	Foot      = 0.3048
	Yard      = 3 * Foot
	Mile      = 5280 * Foot
	Acre      = 43560 * Foot * Foot // 4046.8564224 m²
	Hectare   = 1e4
	Pound     = 0.45359237
	Ounce     = Pound / 16
	Ton       = 2000 * Pound // the US short ton
	Tonne     = 1000.0
	Gallon    = 231 * Inch * Inch * Inch // US liquid
	Litre     = 1e-3
	MPH       = Mile / 3600
	KMH       = 1 / 3.6
	Knot      = 1852.0 / 3600
	BushelVol = 2150.42 * Inch * Inch * Inch

	Rankine        = 5.0 / 9 // a degree of the Fahrenheit scale, in K
	FreezingPoint  = 273.15  // 0 °C in K
	FahrenheitZero = 459.67  // 0 °F in degrees of the Fahrenheit scale above absolute zero
)

// InAcres returns an area of m² in acres.
func InAcres(m2 float64) float64 { return m2 / Acre }

// InHectares returns an area of m² in hectares.
func InHectares(m2 float64) float64 { return m2 / Hectare }

// InFeet returns a length of m in feet.
func InFeet(m float64) float64 { return m / Foot }

// InPounds returns a mass of kg in pounds.
func InPounds(kg float64) float64 { return kg / Pound }

// InGallons returns a volume of m³ in US gallons.
func InGallons(m3 float64) float64 { return m3 / Gallon }

// InPoundsPerAcre returns a rate of kg/m² in lb/ac.
func InPoundsPerAcre(rate float64) float64 { return rate * (Acre / Pound) }

// InGallonsPerAcre returns a rate of m³/m² in US gal/ac.
func InGallonsPerAcre(rate float64) float64 { return rate * (Acre / Gallon) }

// InFahrenheit returns a temperature of K in degrees Fahrenheit.
func InFahrenheit(kelvin float64) float64 { return kelvin/Rankine - FahrenheitZero }
