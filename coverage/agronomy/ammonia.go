package agronomy

import (
	"fmt"
	"math"

	"lapwing/coverage/quantity"
)

// ammonia is the specific volume of saturated liquid ammonia in ft³/lb by
// degrees Fahrenheit, from an industry data manual with the table of the
// National Bureau of Standards (Circular 142, "Tables of Thermodynamic Properties of
// Ammonia", 1923; that title from memory). It agrees within 0.03 % with the
// saturation table of Thermal-FluidsPedia, "Thermophysical Properties: Ammonia":
// TestAmmoniaDensity.
var ammonia = []struct{ fahrenheit, volume float64 }{
	{0, 0.02419},
	{20, 0.02474},
	{30, 0.02503},
	{40, 0.02533},
	{50, 0.02564},
	{60, 0.02597},
	{70, 0.02632},
	{80, 0.02668},
	{90, 0.02707},
	{100, 0.02747},
}

// AmmoniaDensity returns the density in kg/m³ of anhydrous ammonia in a
// closed tank, where it stands at its own vapour pressure, by its temperature
// in K: straight between the lines of a table that goes from 0 to 100 °F.
// Outside it the error is a [*quantity.Error].
func AmmoniaDensity(kelvin float64) (float64, error) {
	f := math.Round(quantity.InFahrenheit(kelvin)*1e6) / 1e6 // so that 0 F, read to K and back, is in the table
	for i := 1; i < len(ammonia); i++ {
		a, b := ammonia[i-1], ammonia[i]
		if a.fahrenheit <= f && f <= b.fahrenheit {
			along := (f - a.fahrenheit) / (b.fahrenheit - a.fahrenheit)
			volume := a.volume + along*(b.volume-a.volume)
			return quantity.Pound / (quantity.Foot * quantity.Foot * quantity.Foot) / volume, nil
		}
	}
	return 0, &quantity.Error{Found: fmt.Sprintf("found ammonia at %.0f F", f), Want: "0 F to 100 F, or a density"}
}

// IsAmmonia reports whether p is anhydrous ammonia by its analysis, 82-0-0.
func (p Product) IsAmmonia() bool {
	return p.Analysis != nil && *p.Analysis == Analysis{N: 0.82}
}
