package assess

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
	"lapwing/coverage/figure"
)

// An AmountSummary is what a product comes to on some ground.
type AmountSummary struct {
	Ground    figure.SquareMetres `json:"ground_m2"`
	Mass      *figure.Number      `json:"kg"`
	Volume    *figure.Number      `json:"l"`
	N         *figure.Number      `json:"n_kg"`
	Phosphate *figure.Number      `json:"p2o5_kg"`
	Potash    *figure.Number      `json:"k2o_kg"`
	Cost      *figure.Number      `json:"cost"`
}

// AmountOf writes an amount.
func AmountOf(a agronomy.Amount) AmountSummary {
	return AmountSummary{
		figure.SquareMetres(a.Area), figure.Scaled(a.Mass, 1), figure.Scaled(a.Volume, figure.Litres),
		figure.Scaled(a.N, 1), figure.Scaled(a.Phosphate, 1), figure.Scaled(a.Potash, 1), figure.Scaled(a.Cost, 1),
	}
}

// A WasteSummary is the waste of a product, taken apart.
type WasteSummary struct {
	Total     AmountSummary   `json:"total"`
	ByCause   []CauseAmount   `json:"by_cause"`
	Slivers   AmountSummary   `json:"too_small"`
	OverReach AmountSummary   `json:"overreach"`
	ByMachine []MachineAmount `json:"by_machine"`
	ByPass    []PassAmount    `json:"by_pass"`
}

// A CauseAmount is the waste of one cause.
type CauseAmount struct {
	Cause cause.OverlapCause `json:"cause"`
	AmountSummary
}

// A MachineAmount is the waste of one machine.
type MachineAmount struct {
	Machine string `json:"machine"`
	AmountSummary
}

// A PassAmount is the waste of one pass.
type PassAmount struct {
	Pass int `json:"pass"`
	AmountSummary
}

func summaryWasteOf(a *agronomy.Account) WasteSummary {
	w := &a.Waste
	out := WasteSummary{
		Total: AmountOf(a.Wasted), Slivers: AmountOf(w.Slivers), OverReach: AmountOf(w.OverReach),
		ByCause: []CauseAmount{}, ByMachine: []MachineAmount{}, ByPass: []PassAmount{},
	}
	for _, c := range w.ByCause {
		out.ByCause = append(out.ByCause, CauseAmount{c.Cause, AmountOf(c.Amount)})
	}
	for _, m := range w.ByMachine {
		out.ByMachine = append(out.ByMachine, MachineAmount{a.Map.Machines[m.Machine].Name, AmountOf(m.Amount)})
	}
	for _, p := range w.ByPass {
		out.ByPass = append(out.ByPass, PassAmount{p.Pass, AmountOf(p.Amount)})
	}
	return out
}

// A ChangeSummary is what mending one cause of waste saves at most.
type ChangeSummary struct {
	Cause    cause.OverlapCause `json:"cause"`
	Cost     *figure.Number     `json:"cost"`
	Currency string             `json:"currency"`
	Saves    []ProductAmount    `json:"saves"`
}

// A ProductAmount is an amount of one product.
type ProductAmount struct {
	Product string `json:"product"`
	AmountSummary
}

func (a *Assessment) summaryChange() *ChangeSummary {
	if len(a.Changes) == 0 {
		return nil
	}
	c := &a.Changes[0]
	out := &ChangeSummary{Cause: c.Cause, Cost: figure.Scaled(c.Cost, 1), Currency: c.Currency, Saves: []ProductAmount{}}
	for i, s := range c.Saves {
		out.Saves = append(out.Saves, ProductAmount{a.Accounts[i].Product.Name, AmountOf(s)})
	}
	return out
}

// A LossSummary is what the skips cost.
type LossSummary struct {
	Ground   figure.SquareMetres `json:"ground_m2"`
	Crop     figure.Number       `json:"crop_kg"`
	Value    *figure.Number      `json:"value"`
	Unspent  *figure.Number      `json:"unspent"`
	Net      *figure.Number      `json:"net"`
	Currency string              `json:"currency"`
	Unsaid   []string            `json:"not_said"`
}

func (a *Assessment) summaryLoss() *LossSummary {
	l := a.Loss
	if l == nil {
		return nil
	}
	return &LossSummary{
		figure.SquareMetres(l.Area), figure.Number(l.Crop), figure.Scaled(l.Value, 1), figure.Scaled(l.Unspent, 1), figure.Scaled(l.Net, 1), l.Currency,
		append([]string{}, l.Unsaid...),
	}
}
