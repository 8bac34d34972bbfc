package sweep_test

import (
	"testing"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
)

// BenchmarkDose times what the dose costs, a part of Sweep.
func BenchmarkDose(b *testing.B) {
	sc := covertest.QuarterSection(10, 0.02, 1)
	passes, _, _ := coverage.Split(sc.Field, sc.Machines, field.Options{})
	dose := sweep.BenchSweptBars(passes, machine.Machines(sc.Machines))
	var d sweep.Dose
	for b.Loop() {
		d = dose()
	}
	if d.Total() == 0 {
		b.Fatal("no ground")
	}
}
