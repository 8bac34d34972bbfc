package worklog

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/quantity"
)

func TestRateNames(t *testing.T) {
	for _, unit := range rateUnits {
		_, err := quantity.Read("1 "+unit, quantity.Rate)
		assert.NoError(t, err, unit)
	}
	for name, want := range map[string][2]string{
		"rate (lb/ac)":            {"", "lb/ac"},
		"Applied Rate_lb_ac":      {"", "lb/ac"},
		"applied_rate_kg_ha":      {"", "kg/ha"},
		"Rate Applied (gal/ac)":   {"", "gal/ac"},
		"rate l/ha":               {"", "L/ha"},
		"Urea rate [kg/ha]":       {"urea", "kg/ha"},
		"Applied Rate - MAP (lb)": {"map", ""},
		"seed_rate_seeds_m2":      {"seed", "seeds/m2"},
		"Rate lb per ac":          {"", "lb/ac"},
		"rate":                    {"", ""},
		"N rate (lb N/ac)":        {"n", "lb N/ac"},
	} {
		of, unit, ok := rateOf(name)
		assert.True(t, ok, name)
		assert.Equal(t, want, [2]string{of, unit}, name)
	}
	for _, name := range []string{"target rate (lb/ac)", "Rate Setpoint kg/ha", "flow rate", "speed", "moisture", "yield rate lb/ac", "turn rate"} {
		assert.False(t, IsRate(name), name)
	}
}
