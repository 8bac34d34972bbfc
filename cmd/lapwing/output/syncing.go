package output

import (
	"os"
	"sync"
)

// A syncing hands the files of a set to the disk while the next ones are made, so that no
// processor waits for it: of a season that was a sixth of the time.
type syncing struct {
	under sync.WaitGroup
	once  sync.Once
	slots chan struct{}

	mu     sync.Mutex
	failed int // the first file that the disk did not take
	err    error
}

// syncsAtOnce is how many files of a set are on their way to the disk: each holds a thread,
// and few are enough for the disk to have them in one go. Judgement.
const syncsAtOnce = 8

// syncFile has what was written to a file written to the disk, which may take long.
var syncFile = (*os.File).Sync

// begin has the i-th file of a set written to the disk, and closes it.
func (y *syncing) begin(i int, f *os.File) {
	y.once.Do(func() { y.slots = make(chan struct{}, syncsAtOnce) })
	y.slots <- struct{}{}
	onDisk := syncFile
	y.under.Go(func() {
		defer func() { <-y.slots }()
		err := onDisk(f)
		if closed := f.Close(); err == nil {
			err = closed
		}
		y.mu.Lock()
		defer y.mu.Unlock()
		if err != nil && (y.err == nil || i < y.failed) {
			y.failed, y.err = i, err
		}
	})
}

// end waits until all files are on the disk, or which was not taken and why.
func (y *syncing) end() (failed int, err error) {
	y.under.Wait()
	return y.failed, y.err
}
