package agronomy

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// A Product is something put on the ground at a rate. Masses are of the
// product itself, not of a nutrient in it. The job gives the rate by mass or by
// volume; the other follows where the density is known.
type Product struct {
	Name       string
	Analysis   *Analysis
	MassRate   *float64 // kg/m² of product; nil where only a volume is known
	VolumeRate *float64 // m³/m² of product; nil where only a mass is known
	Density    *float64 // kg/m³; nil where the job does not say
	Price      *Price   // nil where the job does not say
	Machines   []string // names of the machines that carry it; empty means all

	Tank        *float64 // m³ that a full tank would hold; nil where the job does not say
	Fill        float64  // how full it is filled, from 0 to 1
	Temperature *float64 // K, of the liquid in the tank; nil where the job does not say

	// What the crew of the one machine that carries the product said of its
	// fills: how many there were, or when each was, in order. Zero and nil
	// where the job does not say.
	Fills    int
	FilledAt []geo.Instant

	// Working names the column of the logs that says where the product itself
	// was on, and Map is the field as measured by that column; "" and nil where
	// the product was on wherever the machines that carry it worked.
	Working string
	Map     *coverage.Map

	// Told is the field as measured where the logs tell the product's rate, nil where
	// they do wherever the machines that carry it worked.
	Told *coverage.Map

	// RateColumn is the place of the product's rates in [machine.Track.Rates], counted
	// from 1, so that the zero Product has none; 0 where no log has them.
	RateColumn int
}

// An Analysis is the guaranteed analysis N-P2O5-K2O, as mass fractions.
type Analysis struct{ N, P2O5, K2O float64 }

// ParseAnalysis reads an analysis in percent, such as "82-0-0" or "10-34-0".
func ParseAnalysis(text string) (Analysis, error) {
	var parts [3]float64
	words := strings.Split(text, "-")
	ok := len(words) == len(parts)
	sum := 0.0
	for i := 0; ok && i < len(parts); i++ {
		word := strings.TrimSpace(words[i])
		percent, err := strconv.ParseFloat(word, 64)
		ok = err == nil && strings.Trim(word, "0123456789.") == ""
		parts[i] = percent / 100
		sum += percent
	}
	if !ok || sum > 100 {
		return Analysis{}, &quantity.Error{
			Found: fmt.Sprintf("found %q", text),
			Want:  "percentages of N-P2O5-K2O such as 82-0-0, 100 together at most",
		}
	}
	return Analysis{parts[0], parts[1], parts[2]}, nil
}

// of returns the fraction of the nutrient of that name.
func (a Analysis) of(nutrient string) float64 {
	switch nutrient {
	case "N":
		return a.N
	case "P2O5":
		return a.P2O5
	}
	return a.K2O
}

// SetRate gives p the rate of the job, a [quantity.Rate]. Analysis, Density
// and Temperature must be set before. A nutrient's rate becomes the product's
// through the analysis: 70 lb N/ac of 82-0-0 is 85.4 lb/ac. Seeds by area
// become a mass through seed. Where the density is known, or follows from the
// temperature of anhydrous ammonia, the rate is given by mass and by volume.
// A failure is a [*quantity.Error].
func (p *Product) SetRate(rate quantity.Value, seed Seed) error {
	if p.Density == nil && p.Temperature != nil && p.IsAmmonia() {
		density, err := AmmoniaDensity(*p.Temperature)
		if err != nil {
			return err
		}
		p.Density = &density
	}
	p.MassRate, p.VolumeRate = nil, nil
	switch rate.Kind {
	case quantity.VolumeRate:
		p.VolumeRate = &rate.SI
		if p.Density != nil {
			p.MassRate = times(p.VolumeRate, *p.Density)
		}
		return nil
	case quantity.NutrientRate:
		if p.Analysis == nil {
			return &quantity.Error{Found: fmt.Sprintf("found a rate of %s without an analysis", rate.Nutrient),
				Want: "an analysis such as 82-0-0"}
		}
		fraction := p.Analysis.of(rate.Nutrient)
		if fraction == 0 {
			return &quantity.Error{Found: fmt.Sprintf("found a rate of %s, of which the analysis has none", rate.Nutrient),
				Want: "the rate of a nutrient in the product"}
		}
		p.MassRate = times(&rate.SI, 1/fraction)
	case quantity.SeedRate:
		if seed.Kernel == 0 {
			return &quantity.Error{Found: "found a rate in seeds without their size",
				Want: `thousand_kernels such as "35 g" or "12000 seeds/lb"`}
		}
		mass := seed.MassRate(rate.SI)
		p.MassRate = &mass
	default:
		p.MassRate = &rate.SI
	}
	if p.Density != nil {
		p.VolumeRate = times(p.MassRate, 1 / *p.Density)
	}
	return nil
}

// Share returns the factor that turns a logged rate of a kind into a share of
// p's own rate. Nutrient is the one that a [quantity.NutrientRate] is of, and
// kernel the kg of one seed, as sown, that a [quantity.SeedRate] counts. The
// result is false where there is no factor: a volume needs a density, a
// nutrient an analysis, seeds their size.
func (p *Product) Share(kind quantity.Kind, nutrient string, kernel float64) (float64, bool) {
	mass := 1.0
	switch kind {
	case quantity.VolumeRate:
		if p.VolumeRate == nil || *p.VolumeRate <= 0 {
			return 0, false
		}
		return 1 / *p.VolumeRate, true
	case quantity.NutrientRate:
		if p.Analysis == nil || p.Analysis.of(nutrient) == 0 {
			return 0, false
		}
		mass = 1 / p.Analysis.of(nutrient)
	case quantity.SeedRate:
		mass = kernel
	}
	if p.MassRate == nil || *p.MassRate <= 0 || mass <= 0 {
		return 0, false
	}
	return mass / *p.MassRate, true
}

// CarriedBy reports whether the machine of that name carries p.
func (p *Product) CarriedBy(machine string) bool {
	return len(p.Machines) == 0 || slices.Contains(p.Machines, machine)
}

// FillArea returns the m² that one filled tank covers, or nil where the
// tank or the rate by volume is not known.
func (p Product) FillArea() *float64 {
	if p.Tank == nil || p.VolumeRate == nil || *p.VolumeRate == 0 {
		return nil
	}
	return times(p.Tank, p.Fill / *p.VolumeRate)
}

// A Seed is what turns a number of seeds into a mass.
type Seed struct {
	Kernel float64 // kg of one kernel: a thousandth of the thousand-kernel weight
	// Survival is the share of the seeds that becomes plants. Zero means that
	// the rate counts seeds as sown; otherwise it counts the plants wanted.
	Survival float64
}

// MassRate returns the kg/m² for so many seeds (with a survival: plants) by m².
func (s Seed) MassRate(number float64) float64 {
	mass := number * s.Kernel
	if s.Survival > 0 {
		mass /= s.Survival
	}
	return mass
}
