package large_test

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/large"
)

// A list made is as make has it, however long.
func TestMake(t *testing.T) {
	type record struct {
		name string // a pointer for the collector of garbage to follow
		at   float64
	}
	for _, n := range []int{0, 1, 100, 1 << 20} {
		list := large.Make[record](n)
		assert.Len(t, list, n)
		assert.Equal(t, n, cap(list))
		for i := range list {
			if list[i] != (record{}) {
				t.Fatal("found something in", i)
			}
			list[i] = record{"drill", float64(i)}
		}
	}
	assert.Len(t, large.Make[struct{}](1<<30), 1<<30)
}

// Making and filling lists of which each is new to the system: what the large pages are for.
func BenchmarkMake(b *testing.B) {
	const n = 8 << 20 // floats, 64 MB: the collector gives what is over back between two
	for name, of := range map[string]func(int) []float64{
		"plain": func(n int) []float64 { return make([]float64, n) },
		"large": large.Make[float64],
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				debug.FreeOSMemory()
				b.StartTimer()
				list := of(n)
				for i := 0; i < n; i += 512 {
					list[i] = 1
				}
			}
		})
	}
}
