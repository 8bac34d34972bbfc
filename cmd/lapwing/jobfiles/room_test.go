package jobfiles

import (
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Never more jobs, nor more bytes of them, than there is room for; a job that
// is larger than the room gets it to itself.
func TestRoom(t *testing.T) {
	const atOnce = 3
	r := newRoom(atOnce)
	var jobs, bytes atomic.Int64
	var all sync.WaitGroup
	for i := range 60 {
		weight := int64([]int{1, roomFor / 2, roomFor, 5 * roomFor}[i%4])
		r.enter(weight)
		all.Go(func() {
			n := jobs.Add(1)
			assert.LessOrEqual(t, n, int64(atOnce))
			assert.LessOrEqual(t, bytes.Add(min(weight, roomFor)), int64(roomFor))
			bytes.Add(-min(weight, roomFor))
			jobs.Add(-1)
			r.leave(weight)
		})
	}
	all.Wait()
	assert.Equal(t, atOnce, r.jobs)
	assert.Equal(t, int64(roomFor), r.bytes)
}

func TestSlugs(t *testing.T) {
	a := slugOf("jobs/home/job.yaml", "book")
	assert.Regexp(t, `^home-[0-9a-f]{8}$`, a)
	assert.Equal(t, a, slugOf("./jobs/home/job.yaml", "book"))
	assert.NotEqual(t, a, slugOf("jobs/other/home/job.yaml", "book"))
	assert.Regexp(t, `^jobs-l-ng-field-[0-9a-f]{8}$`, slugOf("jobs/Läng  Field!.yaml", "book"))
	assert.Regexp(t, `^[a-z0-9-]{1,57}$`, slugOf("jobs/"+string(make([]byte, 300))+"x.yaml", "book"))
}
