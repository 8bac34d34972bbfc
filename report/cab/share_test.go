package cab

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/live"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// Each other cab is a line: whose ground, how old, and what is wrong.
func TestSharesOf(t *testing.T) {
	at := geo.InstantOf(time.Date(2026, 5, 4, 13, 2, 59, 0, time.UTC))
	for _, c := range []struct {
		share Share
		want  ShareUp
	}{
		{Share{Name: "drill B", AsOf: at, Age: 11_600 * time.Millisecond}, ShareUp{"drill B's ground, 12 s old.", false}},
		{Share{Name: "drill B", AsOf: at, Age: 119 * time.Second, Silent: 10 * time.Second}, ShareUp{"drill B's ground, 119 s old.", false}},
		{Share{Name: "drill B", AsOf: at, Age: 2 * time.Minute}, ShareUp{"drill B's ground, 2 min old.", false}},
		{Share{Name: "drill B", AsOf: at, Age: 25 * time.Hour}, ShareUp{"drill B's ground, 25 h old.", false}},
		{Share{Name: "drill B", AsOf: at, Age: time.Hour, Behind: true}, ShareUp{"drill B's ground as of 13:02 UTC; more is coming.", false}},
		{Share{Name: "drill B", AsOf: at, Age: 14 * time.Minute, Silent: 14 * time.Minute, Behind: true}, ShareUp{"drill B: no contact for 14 min, ground as of 13:02 UTC.", true}},
		{Share{Name: "drill B", AsOf: at, Wrong: "damaged at byte 7"}, ShareUp{"drill B: ground as of 13:02 UTC; damaged at byte 7.", true}},
		{Share{Name: "drill B"}, ShareUp{"drill B: no ground yet.", false}},
		{Share{Name: "192.168.4.7:8080", Wrong: "it refuses the\nkey"}, ShareUp{"192.168.4.7:8080: it refuses the key.", true}},
	} {
		assert.Equal(t, []ShareUp{c.want}, SharesOf(quantity.US, &live.Engine{}, []Share{c.share}))
	}
	assert.Empty(t, SharesOf(quantity.US, &live.Engine{}, nil))
}
