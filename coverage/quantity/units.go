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
	Ton       = 2000 * Pound // the US short ton
	Tonne     = 1000.0
	Gallon    = 231 * Inch * Inch * Inch // US liquid
	Litre     = 1e-3
	MPH       = Mile / 3600
	KMH       = 1 / 3.6
	Knot      = 1852.0 / 3600
	BushelVol = 2150.42 * Inch * Inch * Inch
)
