package agronomy

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// A strip of 1 m by 100 m or so between two lanes: 0.01 ha of barley at 4 t/ha
// and 250 USD/t is worth 10 USD, less 0.10 USD of seed that was not spent.
func TestWorths(t *testing.T) {
	s := covertest.Lanes("0-5 6-11", 100)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	rate, price := 0.001, Price{PerKilogram: 1, Currency: "USD"} // 10 USD/ha
	seed := Account{Product: Product{Name: "seed", MassRate: &rate, Price: &price}}
	crop := func(comp float64) *Crop {
		return &Crop{Yield: 0.4, Price: &Price{PerKilogram: 0.25, Currency: "USD"}, Compensation: comp}
	}
	const hour = 3600
	for _, c := range []struct {
		name string
		crop *Crop
		back GoingBack
		sure map[int]float64
		want Verdict
		why  string
	}{
		{"cheap", crop(0), GoingBack{Cost: 1.0 / hour, Currency: "USD"}, nil, Go, "the crop brings more than going back takes, even if its neighbours make up half"},
		{"dear", crop(0), GoingBack{Cost: 200.0 / hour, Currency: "USD"}, nil, Leave, "going back takes more than the crop brings"},
		{"in between", crop(0), GoingBack{Cost: 30.0 / hour, Currency: "USD"}, nil, NotSure, "it pays only if the neighbours make up little of the yield"},
		{"in between, and told", crop(0.1), GoingBack{Cost: 30.0 / hour, Currency: "USD"}, nil, Go, "the crop brings more than going back takes"},
		{"maybe no skip", crop(0), GoingBack{Cost: 1.0 / hour, Currency: "USD"}, map[int]float64{0: 0.3}, NotSure, "the receiver's error alone may have made it: look first"},
		{"no cost", crop(0), GoingBack{}, nil, NotSure, "the job does not say what going back costs by the hour"},
		{"no crop", nil, GoingBack{Cost: 1, Currency: "USD"}, nil, NotSure, "the job has no crop, so what a skip loses is not known"},
		{"two currencies", crop(0), GoingBack{Cost: 1, Currency: "CAD"}, nil, NotSure, "going back is priced in CAD, the crop in USD"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := &Reckoning{Map: m, Crop: c.crop, Accounts: []Account{seed}}
			got := a.Worths(c.back, c.sure)
			require.NotEmpty(t, got)
			assert.Equal(t, c.want, got[0].Verdict)
			assert.Equal(t, c.why, got[0].Reason)
			area := m.Skips[0].Area.SquareMetres()
			assert.InDelta(t, 600+m.Skips[0].Length.Metres()/2, got[0].Time, 2)
			if c.crop != nil {
				assert.InDelta(t, area*(0.1*(1-c.crop.Compensation)-0.001), *got[0].High, 1e-9)
				least := 1 - c.crop.Compensation
				if least == 1 { // not told: the neighbours may make up half
					least = 0.5
				}
				assert.InDelta(t, area*(0.1*least-0.001), *got[0].Low, 1e-9)
			}
			// The bar, 5 m and no sections, drives over a skip 1 m wide again.
			assert.InDelta(t, 5*m.Skips[0].Length.Metres()-area, got[0].Doubled, 1e-9)
			if c.crop != nil {
				assert.InDelta(t, 0.001*got[0].Doubled, *got[0].Again, 1e-9)
			}
			if c.back.Cost > 0 {
				assert.InDelta(t, got[0].Time*c.back.Cost, *got[0].Drive, 1e-9)
			}
		})
	}
}

// A bar in sections opens as many as it takes: over a skip 1 m wide one of 3 m, two
// of 60 cm or four of 30 cm, and what they cover beside the skip is worked again.
func TestWorthOfABarInSections(t *testing.T) {
	s := covertest.Lanes("0-6 7-13", 100)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	skip := &m.Skips[0]
	require.InDelta(t, 1, skip.Width.Metres(), 0.05)
	for sections, open := range map[int]float64{1: 6, 2: 3, 5: 1.2, 10: 1.2, 20: 1.2} {
		m.Machines[0].Implement.Sections = machine.EqualSections(6*plane.Metre, sections)
		got := (&Reckoning{Map: m}).Worths(GoingBack{}, nil)[0]
		assert.InDelta(t, open*skip.Length.Metres()-skip.Area.SquareMetres(), got.Doubled, 1e-9, "%d sections", sections)
	}
}

// The product on ground worked again counts, too: here the drive alone takes
// less than mending brings, and with the product it takes more.
func TestWorthCountsTheProductAgain(t *testing.T) {
	s := covertest.Lanes("0-5 6-11", 100)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	rate, price := 0.001, Price{PerKilogram: 1, Currency: "USD"}
	a := &Reckoning{
		Map:      m,
		Crop:     &Crop{Yield: 0.4, Price: &Price{PerKilogram: 0.25, Currency: "USD"}, Compensation: 0.1},
		Accounts: []Account{{Product: Product{Name: "seed", MassRate: &rate, Price: &price}}},
	}
	w := a.Worths(GoingBack{}, nil)[0]
	require.Positive(t, *w.Again)
	w = a.Worths(GoingBack{Cost: (*w.High - *w.Again/2) / w.Time, Currency: "USD"}, nil)[0]
	assert.Equal(t, Leave, w.Verdict)
	assert.Less(t, *w.Drive, *w.High)
}
