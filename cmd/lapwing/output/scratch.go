package output

import (
	"os"
	"sync"
)

// unfinished are the files that this process has begun.
var unfinished = scratch{sets: map[string]bool{}, made: map[string]bool{}}

// A scratch is what of a process is on the disk only until it has ended.
type scratch struct {
	mu     sync.Mutex
	sets   map[string]bool // directories of sets of files, see [swap]
	made   map[string]bool // directories made for what is to come
	closed bool
	// placing is held while a set is put in place.
	placing sync.RWMutex
}

// begin makes the directory of a set of files. It does not return once all has
// been cleared away: the process is about to end.
func (s *scratch) begin(make func() (string, error)) (string, error) {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		select {}
	}
	defer s.mu.Unlock()
	dir, err := make()
	if err == nil {
		s.sets[dir] = true
	}
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

// clear takes away all that was begun, once no set is being put in place. Nothing
// can be begun after.
func (s *scratch) clear() {
	s.mu.Lock()
	s.closed = true
	s.mu.Unlock()
	s.placing.Lock() // for good
	s.mu.Lock()
	defer s.mu.Unlock()
	for dir := range s.sets {
		for range 3 { // another goroutine may be adding to it
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

// Clear takes away all files that this process has begun and not put in
// place, once no set is on its way there. Nothing can be begun after: it is for a
// process that is about to end.
func Clear() { unfinished.clear() }
