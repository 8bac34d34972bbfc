package heap

import (
	"testing"
	"weak"

	"github.com/stretchr/testify/assert"
)

// A heap grows by a share of what lives in it, and within the room that it had
// before.
func TestPace(t *testing.T) {
	const mb = 1 << 20
	for _, tt := range []struct {
		name       string
		live, size uint64
		percent    int
		next       uint64
	}{
		{"small", 4 * mb, floor, most, floor},
		{"larger than ever", 100 * mb, floor, growth, 110 * mb},
		{"about as large as before", 100 * mb, 120 * mb, 20, 120 * mb},
		{"smaller again", 50 * mb, 150 * mb, most, 150 * mb},
		{"empty", 0, floor, most, floor},
	} {
		p := pace{size: tt.size, most: most}
		assert.Equal(t, tt.percent, p.after(tt.live), tt.name)
		assert.Equal(t, tt.next, p.size, tt.name)
	}
}

// Where many fields are worked through a small heap may grow to many times its size, and a
// large one as before.
func TestRoomyPace(t *testing.T) {
	const mb = 1 << 20
	p := pace{size: floor, most: most}
	assert.Equal(t, most, p.after(10*mb))
	p.widen()
	assert.Equal(t, 860, p.after(10*mb))
	assert.Equal(t, 20, p.after(80*mb))
	assert.Equal(t, growth, p.after(100*mb))
	assert.Equal(t, roomyMost, p.after(mb))
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
