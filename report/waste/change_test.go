package waste

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
	"lapwing/geo/plane"
)

// choice is a choice that wastes so many hectares, at 10 USD each.
func choice(bar whatif.Bar, sections int, ha int64) assess.SectionChoice {
	n := float64(ha)
	return assess.SectionChoice{Bar: bar, Sections: sections, OneBar: true, Ground: plane.Area(ha*1e4) * plane.SquareMetre, N: &n, Costs: []assess.Money{{Value: 10 * n, Currency: "USD"}}}
}

// Changes add up over fields and years, against what was driven, with money; one that
// is worse than that says so, wherever it is told.
func TestChanges(t *testing.T) {
	w := twoFields()
	w.Fields[0].Year, w.Fields[1].Year = 2024, 2025
	strip := agronomy.StripCosts{Skipped: 0.1, Doubled: 0.02, Currency: "USD"}
	curve := []agronomy.LapCost{{Lap: -0.5, Skipped: 90}, {Lap: 0.5, Doubled: 60}}
	w.Fields[0].WhatIf = &WhatIf{Strip: strip, Laps: []agronomy.LapStudy{{Cost: 50, BestCost: 40, Curve: curve}, {Headland: true, Cost: 9, BestCost: 7, Curve: curve}},
		Choices: []assess.SectionChoice{choice(whatif.AsDriven, 0, 10), choice(whatif.OwnSections, 2, 13), choice(whatif.Equal, 8, 4)}}
	w.Fields[1].WhatIf = &WhatIf{Strip: agronomy.StripCosts{Unsaid: []string{"the job has no crop"}},
		Choices: []assess.SectionChoice{choice(whatif.AsDriven, 0, 20), choice(whatif.OwnSections, 4, 19), choice(whatif.Equal, 16, 7)}}

	driven, changes := w.group(everyYear).changes()
	require.Equal(t, choice(whatif.AsDriven, 0, 30).Ground, driven.Ground)
	var says []string
	for i := range changes {
		says = append(says, changes[i].name+": "+changes[i].says(quantity.Metric, driven))
	}
	require.Equal(t, []string{
		"the lap that costs least: 12.00 USD saved",
		"the bars' own sections: 2.00 ha, 2.0 kg N, 20.00 USD more wasted: worse than today",
		"8 sections: 7.00 ha, 7.0 kg N, 70.00 USD saved",     // the second field: its own four
		"16 sections: 19.00 ha, 19.0 kg N, 190.00 USD saved", // the first: eight
	}, says)
	require.Equal(t, 1, changes[0].fields)

	var text, page, doc bytes.Buffer
	require.NoError(t, w.Text(&text))
	require.Contains(t, text.String(), "What a change would save in 2024, against today's bars as driven")
	require.Contains(t, text.String(), "worse than today")
	require.Contains(t, text.String(), "the lap that costs least: 12.00 USD saved (told of 1 field)")
	require.NoError(t, w.Page(&page))
	require.Contains(t, page.String(), "What a change would save")
	require.Contains(t, page.String(), "worse than today")
	require.Contains(t, page.String(), "all years")
	require.NoError(t, w.JSON(&doc))
	var read struct {
		Changes struct {
			Driven  float64 `json:"wasted_as_driven_m2"`
			Changes []struct {
				Saved *float64 `json:"saved_m2"`
				Worse bool     `json:"worse_than_today"`
			}
		}
		Years []struct {
			Changes struct {
				Driven float64 `json:"wasted_as_driven_m2"`
			}
		}
	}
	require.NoError(t, json.Unmarshal(doc.Bytes(), &read))
	require.Equal(t, 30e4, read.Changes.Driven)
	require.Nil(t, read.Changes.Changes[0].Saved)
	require.Equal(t, -2e4, *read.Changes.Changes[1].Saved)
	require.True(t, read.Changes.Changes[1].Worse)
	require.False(t, read.Changes.Changes[2].Worse)
	require.Equal(t, 10e4, read.Years[0].Changes.Driven)
	require.Equal(t, 20e4, read.Years[1].Changes.Driven)
}
