package coverage_test

import (
	"fmt"
	"testing"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
)

func BenchmarkStages(b *testing.B) {
	for _, s := range []struct {
		name string
		make func(hz, noise float64, seed uint64) *covertest.Scene
	}{{"quarter", covertest.QuarterSection}, {"section", covertest.Section}} {
		sc := s.make(10, 0.02, 1)
		n := 0
		for _, m := range sc.Machines {
			for _, t := range m.Tracks {
				n += len(t.Fixes)
			}
		}
		name := fmt.Sprintf("%s/fixes=%d", s.name, n)
		passes, _ := coverage.Split(sc.Field, sc.Machines, coverage.Options{})
		ground := coverage.Sweep(passes, sc.Machines)
		b.Run("Split/"+name, func(b *testing.B) {
			for b.Loop() {
				passes, _ = coverage.Split(sc.Field, sc.Machines, coverage.Options{})
			}
		})
		b.Run("Sweep/"+name, func(b *testing.B) {
			for b.Loop() {
				ground = coverage.Sweep(passes, sc.Machines)
			}
		})
		b.Run("Lay/"+name, func(b *testing.B) {
			for b.Loop() {
				coverage.Lay(sc.Field, sc.Machines, ground, coverage.Options{})
			}
		})
	}
}
