package heap

import (
	"testing"
	"weak"

	"github.com/stretchr/testify/assert"
)

// A heap grows by a share of what lives in it, and within the room that it had
// before.
func TestHeapPercent(t *testing.T) {
	const mb = 1 << 20
	for _, tt := range []struct {
		name       string
		live, size uint64
		percent    int
		next       uint64
	}{
		{"small", 4 * mb, floor, most, floor},
		{"larger than ever", 100 * mb, floor, growth, 115 * mb},
		{"about as large as before", 100 * mb, 120 * mb, 20, 120 * mb},
		{"smaller again", 50 * mb, 150 * mb, most, 150 * mb},
		{"empty", 0, floor, most, floor},
	} {
		percent, next := percentOf(tt.live, tt.size)
		assert.Equal(t, tt.percent, percent, tt.name)
		assert.Equal(t, tt.next, next, tt.name)
	}
}

// Garbage of a heap that is larger than its floor is gone when Collect returns.
func TestCollect(t *testing.T) {
	large := new([floor + 1]byte)
	at := weak.Make(large)
	large[0] = 1
	assert.NotNil(t, at.Value())
	Collect()
	assert.Nil(t, at.Value())
}
