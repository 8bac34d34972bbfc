package chart

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/report/words"
)

// upDown is a chart of 0 to 100 ft against 1 ft below to 3 ft above.
func upDown() *Chart {
	us, metric := LengthScales()
	return New(words.Same("Gap"), words.Same("Level."),
		Axis{Name: "along", US: us, Metric: metric, Most: 100 * us.One, Ticks: 4},
		Axis{Name: "gap", US: us, Metric: metric, Least: -us.One, Most: 3 * us.One, Ticks: 4})
}

func labels(s Ticks) (out []string) {
	for _, t := range s.Ticks {
		out = append(out, t.Label)
	}
	return out
}

func TestChartTicks(t *testing.T) {
	c := upDown()
	assert.Equal(t, []string{"0", "50", "100", "-1", "0", "1", "2", "3"}, labels(c.US))
	assert.Equal(t, []string{"0", "10", "20", "30", "0.0", "0.5"}, labels(c.Metric))
	assert.Equal(t, "along, ft", c.US.Titles[0].Label)
	assert.Equal(t, "gap, m", c.Metric.Titles[1].Label)
}

// The level axis stands at zero, and marks grow from there both ways.
func TestChartGrowsFromZero(t *testing.T) {
	us, _ := LengthScales()
	c := upDown()
	zero := fixed(150 - (150-14)/4.0)
	assert.Equal(t, "M56 14V150M56 "+zero+"H988", c.Frame)
	c.Area("off", []Point{{0, 0}, {50 * us.One, 3 * us.One}, {100 * us.One, 0}})
	c.Area("overlap", []Point{{0, 0}, {50 * us.One, -9 * us.One}, {100 * us.One, 0}}) // off the axis: to its end
	assert.Equal(t, []Mark{
		{"off", "M56 " + zero + "L522 14L988 " + zero + "z"},
		{"overlap", "M56 " + zero + "L522 150L988 " + zero + "z"},
	}, c.Marks)
}

func TestChartOfNothing(t *testing.T) {
	c := NewBarsForPhone(words.Same("Causes"), words.Same("None."), Axis{Name: "area", Ticks: 4}, []Bar{{Name: words.Same("plugged"), Class: "skip"}})
	assert.Equal(t, "M142 12H142V30H142z", c.Marks[0].D)
	assert.Equal(t, []string{"0.0", "0.5", "1.0"}, labels(c.US))
}
