package output

import (
	"os"
	"path/filepath"
	"sync"
)

// unfinished are the files that this process has begun.
var unfinished = newScratch()

// A scratch is what of a process is on the disk only until it has ended.
type scratch struct {
	mu   sync.Mutex      // of sets and made
	sets map[string]bool // directories of sets of files, see [swap]
	made map[string]bool // directories made for what is to come
	// changing is held for reading while names on the disk change, and for good once all
	// is cleared away.
	changing sync.RWMutex
}

func newScratch() *scratch {
	return &scratch{sets: map[string]bool{}, made: map[string]bool{}}
}

// change makes, moves or takes away files of a set; what belongs together happens in one
// call. It does not return once all has been cleared away: the process is about to end.
// Clearing waits for it, so that nothing in it may wait long: for the disk to have written
// something (fsync), say.
func (s *scratch) change(do func() error) error {
	s.changing.RLock()
	defer s.changing.RUnlock()
	return do()
}

// begin makes the directory of a set of files.
func (s *scratch) begin(make func() (string, error)) (dir string, err error) {
	err = s.change(func() error {
		dir, err = make()
		if err == nil {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.sets[dir] = true
		}
		return err
	})
	return dir, err
}

// end forgets the directory of a set, which is no more.
func (s *scratch) end(dir string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.sets, dir)
}

// expect notes directories that were made for files to come, and came that they
// are to stay.
func (s *scratch) expect(dirs []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, dir := range dirs {
		s.made[dir] = true
	}
}

func (s *scratch) came(dirs []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, dir := range dirs {
		delete(s.made, dir)
	}
}

// clear takes away all that was begun. A set that has its places keeps them, whether the
// disk has written it all or not, and one that has none gets none. Nothing can be begun
// after.
func (s *scratch) clear() {
	s.changing.Lock() // for good
	s.mu.Lock()
	defer s.mu.Unlock()
	for dir := range s.sets {
		os.Remove(filepath.Join(dir, swapFile)) // first: without it the rest is no set
		for range 3 {                           // SQLite may be adding to it
			if os.RemoveAll(dir) == nil {
				break
			}
		}
	}
	for range s.made { // outer ones go only once inner ones have gone
		for dir := range s.made {
			if os.Remove(dir) == nil { // only if it is empty
				delete(s.made, dir)
			}
		}
	}
}

// Clear takes away all files that this process has begun and not put in place. Nothing can
// be begun after: it is for a process that is about to end.
func Clear() { unfinished.clear() }
