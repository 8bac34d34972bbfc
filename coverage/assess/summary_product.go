package assess

import "lapwing/coverage/agronomy"

// A ProductSummary is the account of a product; nil is not known.
type ProductSummary struct {
	Name       string          `json:"name"`
	MassRate   *Figure         `json:"rate_kg_per_ha"`
	VolumeRate *Figure         `json:"rate_l_per_ha"`
	Applied    *Figure         `json:"applied_kg"`
	Wasted     *Figure         `json:"wasted_kg"`
	Short      *Figure         `json:"short_kg"`
	Nitrogen   NitrogenSummary `json:"nitrogen"`
	WastedCost *Figure         `json:"wasted_cost"`
	Currency   string          `json:"currency"`
	AppliedL   *Figure         `json:"applied_l"`
	WastedL    *Figure         `json:"wasted_l"`
	ShortL     *Figure         `json:"short_l"`

	Working   *string          `json:"working"`
	Density   *Figure          `json:"density_kg_per_m3"`
	Analysis  *AnalysisSummary `json:"analysis"`
	ShortCost *Figure          `json:"short_cost"`
	Ground    BasisSummary     `json:"ground"`
	Waste     WasteSummary     `json:"waste"`
	Tanks     []TankSummary    `json:"tanks"`
	Logged    *LoggedSummary   `json:"logged_rate"`
}

// A BasisSummary is the ground that the figures of a product are reckoned on.
type BasisSummary struct {
	Swept  SquareMetres `json:"swept_m2"`
	Wasted SquareMetres `json:"wasted_m2"`
	Short  SquareMetres `json:"short_m2"`
	// NotTold was worked while the log left the rate empty; it is in none of the others.
	NotTold SquareMetres `json:"rate_not_logged_m2,omitempty"`
}

// An AnalysisSummary is the nutrients in a product, as fractions.
type AnalysisSummary struct {
	N         Figure `json:"n"`
	Phosphate Figure `json:"p2o5"`
	Potash    Figure `json:"k2o"`
}

// A NitrogenSummary is the nitrogen in the amounts of a product.
type NitrogenSummary struct {
	Applied *Figure `json:"applied_kg"`
	Wasted  *Figure `json:"wasted_kg"`
	Short   *Figure `json:"short_kg"`
}

// ProductOf writes the account of a product.
func ProductOf(a *agronomy.Account) ProductSummary {
	const perHectare = 1e4 // from a square metre
	p := &a.Product
	out := ProductSummary{
		Name:       p.Name,
		MassRate:   Scaled(p.MassRate, perHectare),
		VolumeRate: Scaled(p.VolumeRate, Litres*perHectare),
		Applied:    Scaled(a.Applied.Mass, 1), Wasted: Scaled(a.Wasted.Mass, 1), Short: Scaled(a.Short.Mass, 1),
		Nitrogen: NitrogenSummary{
			Scaled(a.Applied.N, 1), Scaled(a.Wasted.N, 1), Scaled(a.Short.N, 1),
		},
		WastedCost: Scaled(a.Wasted.Cost, 1),
		AppliedL:   Scaled(a.Applied.Volume, Litres), WastedL: Scaled(a.Wasted.Volume, Litres),
		ShortL:  Scaled(a.Short.Volume, Litres),
		Density: Scaled(p.Density, 1), ShortCost: Scaled(a.Short.Cost, 1),
		Ground: BasisSummary{SquareMetres(a.Applied.Area), SquareMetres(a.Wasted.Area), SquareMetres(a.Short.Area), SquareMetres(a.NotTold)},
		Waste:  summaryWasteOf(a), Tanks: summaryTanksOf(a),
		Logged: summaryLoggedOf(a),
	}
	if p.Working != "" {
		out.Working = &p.Working
	}
	if p.Analysis != nil {
		out.Analysis = &AnalysisSummary{Figure(p.Analysis.N), Figure(p.Analysis.P2O5), Figure(p.Analysis.K2O)}
	}
	if p.Price != nil {
		out.Currency = p.Price.Currency
	}
	return out
}
