package cab

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A name says whose machine it is, whatever the order in which cabs become known.
func TestBindNames(t *testing.T) {
	heard := []string{"drill A"}
	got := bindNames(heard, []guestKey{{"bbbbbbbb", "drill B"}, {"cccccccc", "Drill a"}, {"dddddddd", "drill D"}, {"eeeeeeee", "DRILL D"}})
	assert.Equal(t, map[guestKey]string{{"bbbbbbbb", "drill B"}: "drill B", {"cccccccc", "Drill a"}: "Drill a (cab cccccccc)",
		{"dddddddd", "drill D"}: "drill D (cab dddddddd)", {"eeeeeeee", "DRILL D"}: "DRILL D (cab eeeeeeee)"}, got)
	assert.Equal(t, map[guestKey]string{{"bbbbbbbb", "drill"}: "drill"}, bindNames(nil, []guestKey{{"bbbbbbbb", "drill"}}))
}
