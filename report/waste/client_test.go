package waste

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
)

// A client reads what, where, how it was measured, how sure, one map, one table and
// one recommendation, with the sources that the method names.
func TestClient(t *testing.T) {
	w := twoFields()
	w.Fields[0].Runs = 200
	var b bytes.Buffer
	require.NoError(t, w.Client(&b))
	page := b.String()
	for _, want := range []string{"What was found", "What to do", "Where", "How much", "How it was measured, and how sure it is", "Sources", "each field was measured again 200", "was not looked into on 1"} {
		require.Contains(t, page, want)
	}
	main := page[strings.Index(page, `class="client"`):strings.Index(page, "Warnings about the input")]
	require.Equal(t, 1, strings.Count(main, `role="img"`), "one map")
	require.Equal(t, 1, strings.Count(main, "<table"))
	require.Equal(t, 1, strings.Count(main, "advice\">"), "one recommendation")
	require.Equal(t, len(sources), 4)
	for _, number := range []string{"[1]", "[2]", "[3]", "[4]"} {
		require.Contains(t, main, number, "each source is named where it is used")
	}
	require.Contains(t, main, "anhydrous ammonia the label, the local code and licensed practice")
	require.NotContains(t, main, "<img")

	hostile := `"><img src=x onerror=alert(1)></style></script><script>alert(2)</script>`
	w.Fields[0].Name, w.Fields[0].Machines, w.Run = hostile, []string{hostile}, hostile
	w.Fields[0].Tallies[0].Product, w.Fields[0].Tallies[0].Currency = hostile, hostile
	w.Fields[0].Receivers = []Receiver{{hostile, 0.1, 0.1}}
	b.Reset()
	require.NoError(t, w.Client(&b))
	require.Equal(t, 1, strings.Count(b.String(), "<script"))
	require.NotContains(t, b.String(), "<img")
}

// The one recommendation is what saves most of what needs nothing new on the machine;
// never what is worse than today; else the cause that wasted most.
func TestAdvice(t *testing.T) {
	w := twoFields()
	w.Fields = w.Fields[:1]
	study := agronomy.LapStudy{Length: 100, Mean: 0.2, Best: 0.1, Cost: 50, BestCost: 40}
	ask := func(own int64) *WhatIf {
		return &WhatIf{Strip: agronomy.StripCosts{Currency: "USD"}, Laps: []agronomy.LapStudy{study},
			Choices: []assess.SectionChoice{choice(whatif.AsDriven, 0, 10), choice(whatif.OwnSections, 2, own), choice(whatif.Equal, 8, 1)}}
	}
	w.Fields[0].WhatIf = ask(4)
	require.Equal(t, "Let the bar's own sections shut by themselves over covered ground and outside the boundary. That would have saved 6.00 ha, 6.0 kg N, 60.00 USD on 1 field against today's bars as they were driven.", w.advice(quantity.Metric))
	w.Fields[0].WhatIf = ask(13)
	require.Equal(t, "Drive with the lap that costs least: a lap of 10 cm, where a lap of 20 cm was driven on average. That would have saved 10.00 USD on 1 field, by the prices of crop and products. It needs nothing new on the machine.", w.advice(quantity.Metric))
	w.Fields[0].WhatIf = nil
	require.Contains(t, w.advice(quantity.Metric), "Shut off at the boundary. Most was wasted “outside the boundary”: 29.31 USD and 12.6 kg of nitrogen at most.")
	w.Fields[0].Tallies = nil
	require.Equal(t, "Nothing was put down twice or outside: go on as you do.", w.advice(quantity.Metric))
}
