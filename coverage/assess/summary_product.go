package assess

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/figure"
)

// A ProductSummary is the account of a product; nil is not known.
type ProductSummary struct {
	Name       string          `json:"name"`
	MassRate   *figure.Number  `json:"rate_kg_per_ha"`
	VolumeRate *figure.Number  `json:"rate_l_per_ha"`
	Applied    *figure.Number  `json:"applied_kg"`
	Wasted     *figure.Number  `json:"wasted_kg"`
	Short      *figure.Number  `json:"short_kg"`
	Nitrogen   NitrogenSummary `json:"nitrogen"`
	WastedCost *figure.Number  `json:"wasted_cost"`
	Currency   string          `json:"currency"`
	AppliedL   *figure.Number  `json:"applied_l"`
	WastedL    *figure.Number  `json:"wasted_l"`
	ShortL     *figure.Number  `json:"short_l"`

	Working   *string          `json:"working"`
	Density   *figure.Number   `json:"density_kg_per_m3"`
	Analysis  *AnalysisSummary `json:"analysis"`
	ShortCost *figure.Number   `json:"short_cost"`
	Ground    BasisSummary     `json:"ground"`
	Waste     WasteSummary     `json:"waste"`
	Tanks     []TankSummary    `json:"tanks"`
	Logged    *LoggedSummary   `json:"logged_rate"`
}

// A BasisSummary is the ground that the figures of a product are reckoned on.
type BasisSummary struct {
	Swept  figure.SquareMetres `json:"swept_m2"`
	Wasted figure.SquareMetres `json:"wasted_m2"`
	Short  figure.SquareMetres `json:"short_m2"`
	// NotTold was worked while the log left the rate empty; it is in none of the others.
	NotTold figure.SquareMetres `json:"rate_not_logged_m2,omitempty"`
}

// An AnalysisSummary is the nutrients in a product, as fractions.
type AnalysisSummary struct {
	N         figure.Number `json:"n"`
	Phosphate figure.Number `json:"p2o5"`
	Potash    figure.Number `json:"k2o"`
}

// A NitrogenSummary is the nitrogen in the amounts of a product.
type NitrogenSummary struct {
	Applied *figure.Number `json:"applied_kg"`
	Wasted  *figure.Number `json:"wasted_kg"`
	Short   *figure.Number `json:"short_kg"`
}

// ProductOf writes the account of a product.
func ProductOf(a *agronomy.Account) ProductSummary {
	const perHectare = 1e4 // from a square metre
	p := &a.Product
	out := ProductSummary{
		Name:       p.Name,
		MassRate:   figure.Scaled(p.MassRate, perHectare),
		VolumeRate: figure.Scaled(p.VolumeRate, figure.Litres*perHectare),
		Applied:    figure.Scaled(a.Applied.Mass, 1), Wasted: figure.Scaled(a.Wasted.Mass, 1), Short: figure.Scaled(a.Short.Mass, 1),
		Nitrogen: NitrogenSummary{
			figure.Scaled(a.Applied.N, 1), figure.Scaled(a.Wasted.N, 1), figure.Scaled(a.Short.N, 1),
		},
		WastedCost: figure.Scaled(a.Wasted.Cost, 1),
		AppliedL:   figure.Scaled(a.Applied.Volume, figure.Litres), WastedL: figure.Scaled(a.Wasted.Volume, figure.Litres),
		ShortL:  figure.Scaled(a.Short.Volume, figure.Litres),
		Density: figure.Scaled(p.Density, 1), ShortCost: figure.Scaled(a.Short.Cost, 1),
		Ground: BasisSummary{figure.SquareMetres(a.Applied.Area), figure.SquareMetres(a.Wasted.Area), figure.SquareMetres(a.Short.Area), figure.SquareMetres(a.NotTold)},
		Waste:  summaryWasteOf(a), Tanks: summaryTanksOf(a),
		Logged: summaryLoggedOf(a),
	}
	if p.Working != "" {
		out.Working = &p.Working
	}
	if p.Analysis != nil {
		out.Analysis = &AnalysisSummary{figure.Number(p.Analysis.N), figure.Number(p.Analysis.P2O5), figure.Number(p.Analysis.K2O)}
	}
	if p.Price != nil {
		out.Currency = p.Price.Currency
	}
	return out
}
