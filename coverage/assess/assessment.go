package assess

import (
	"slices"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
	"lapwing/coverage/sweep"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// An Assessment is a field measured and priced, with what else was asked of it.
// [Do] makes it whole; it does not change after.
type Assessment struct {
	*agronomy.Reckoning // the map, and what it cost

	// Operation is what was done, where a task set tells of several on the field;
	// else "".
	Operation string
	// Stated is what the task set itself says, beside what was measured; nil where
	// there is none, or it says nothing.
	Stated []Stated

	Run    string         // the run id that all files of one run carry
	Units  quantity.Units // in which places are told
	Zone   *time.Location // of the times for people; nil means UTC
	RainAt *time.Time     // when rain is expected; nil where the job does not say
	// Warnings are what the reader should know about the input and the map. What
	// could not be said of a product is in Unsaid.
	Warnings []field.Warning

	// Patches smaller than MinArea, and skips nowhere wider than MinWidth, are
	// in the totals but not in the lists. Zero lists everything.
	MinArea  plane.Area
	MinWidth plane.Length
	// EdgeTolerance is the stand-off up to which the boundary counted as
	// reached. Zero is not known.
	EdgeTolerance plane.Length
	HeadlandLap   plane.Length // by which headland rounds lap each other by plan
	// Laps are how each pass kept to the lap aimed for, in the order of Map.Passes.
	Laps []KeptLap

	// What was asked for; nil where it was not.
	OffRates []sweep.OffRate // the ground that turns put off its rate
	Last     []LastPass
	Verdict  Verdict // on the last passes
	Mend     *Mending
	WhatIf   *WhatIf
}

// FieldName is the name of the field for people, with the operation of several.
func (a *Assessment) FieldName() string {
	name := a.Map.Field.Name
	if name == "" {
		name = "Field without a name"
	}
	if a.Operation != "" {
		name += ", " + a.Operation
	}
	return name
}

// CropName is what grows on the field; "" where the job does not say.
func (a *Assessment) CropName() string {
	if a.Crop == nil {
		return ""
	}
	return a.Crop.Name
}

// CropCurrency is the currency of the crop's price; "" where there is none.
func (a *Assessment) CropCurrency() string {
	if a.Crop == nil || a.Crop.Price == nil {
		return ""
	}
	return a.Crop.Price.Currency
}

// MachineNames returns the names of machines given by their indices.
func (a *Assessment) MachineNames(indices []int) []string {
	names := make([]string, 0, len(indices))
	for _, i := range indices {
		names = append(names, a.MachineName(i))
	}
	return names
}

// MachineName returns the name of a machine; "" for none.
func (a *Assessment) MachineName(i int) string {
	if i < 0 || i >= len(a.Map.Machines) {
		return ""
	}
	return a.Map.Machines[i].Name
}

// HasClock reports whether the times of p mean anything: a log without times is
// in file order only.
func (a *Assessment) HasClock(p *coverage.Pass) bool { return HasClock(a.Map, p) }

// HasClock is [Assessment.HasClock] of a pass of the map m, which may be that of
// one product.
func HasClock(m *coverage.Map, p *coverage.Pass) bool {
	return !p.NoClock && (p.Start != 0 || p.End != 0)
}

// PassKind is "headland" or "interior".
func PassKind(p *coverage.Pass) string {
	if p.Headland {
		return "headland"
	}
	return "interior"
}

// Local is a time where the reader lives.
func (a *Assessment) Local(i geo.Instant) time.Time { return i.Time().In(a.zone()) }

// ZoneName names the time zone of the times for people.
func (a *Assessment) ZoneName() string { return a.zone().String() }

// zone is the time zone for people.
func (a *Assessment) zone() *time.Location {
	if a.Zone == nil || a.Zone.String() == "UTC" {
		return time.UTC
	}
	return a.Zone
}

// AllWarnings are those about the input and the map, then those about products.
func (a *Assessment) AllWarnings() []field.Warning {
	return slices.Concat(a.Warnings, a.Unsaid)
}

// HasAmmonia reports whether a product is anhydrous ammonia.
func (a *Assessment) HasAmmonia() bool {
	return slices.ContainsFunc(a.Accounts, func(account agronomy.Account) bool {
		return account.Product.IsAmmonia() || strings.Contains(strings.ToLower(account.Product.Name), "anhydrous ammonia")
	})
}
