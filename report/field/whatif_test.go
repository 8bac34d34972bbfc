package field

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
)

func TestWhatIfText(t *testing.T) {
	r := asked()
	r.Units = quantity.Metric
	var b bytes.Buffer
	r.textWhatIf(&b)
	text := b.String()
	assert.Regexp(t, `taken out: skip 0\.\d+ ha\s\(0\.10 ha to\s0\.20 ha;\smeasured [^)]*\),\soverlap\s0\.\d+ ha\s\(0\.30 ha to\s0\.40 ha;\smeasured 0\.12 ha\), nine\stimes of ten\.`, text)
	assert.Contains(t, strings.ReplaceAll(text, "\n", " "), "The overlap as measured, 0.12 ha, lies below that")
	r.WhatIf.Sure.Skip = whatif.Interval{Low: 10, Middle: 20, High: 30}
	r.WhatIf.Sure.Overlap = whatif.Interval{Low: 10, Middle: 20, High: 30}
	assert.Regexp(t, "The skip as measured, .* ha, and the overlap as measured, 0.12 ha, lie above that: an error", r.sureSentence(quantity.Metric))
	held := r.Intervals()
	r.WhatIf.Sure.Skip.High, r.WhatIf.Sure.Overlap.High = held[0].Measured.SquareMetres()+1, held[1].Measured.SquareMetres()+1
	assert.NotContains(t, r.sureSentence(quantity.Metric), "as measured,")
	assert.Contains(t, text, "with a gap of 10 cm on average, give or take\n20 cm; a lap of 30 cm would have cost least and saved 10.00 USD.")
	assert.Contains(t, text, "(3.66 USD), worse than today; 2 sections 0.18 ha less (32.98 USD)")
	assert.Contains(t, text, "Worth going back to skips? Leave: 1.")
}

// Every table and chart is on the page, with the sentences of the terminal.
func TestWhatIfPage(t *testing.T) {
	r := asked()
	var b bytes.Buffer
	require.NoError(t, r.Page(&b))
	page := b.String()
	for _, want := range []string{"How sure", "Worth going back?", "How much lap is right", "What sections would save",
		"Table of intervals", "Chart: What another lap would have cost, in the interior", "Chart: Waste by number of sections", ">today<", ">least<"} {
		assert.Contains(t, page, want)
	}
	r.WhatIf = nil
	b.Reset()
	require.NoError(t, r.Page(&b))
	assert.NotContains(t, b.String(), "Worth going back?")
}
