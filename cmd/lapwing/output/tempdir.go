package output

import (
	"os"
	"path/filepath"
	"regexp"
	"time"
)

// temporary is where a fault of a temporary directory lies.
const temporary = "temporary directory"

// justMade is how long a directory may have been made and not yet be locked.
const justMade = time.Minute

// NewTempDir makes a directory for what is needed only as long as this process lives, and
// returns it with what takes it away. It takes away too what processes that were killed
// left of the same name: those of others that live are locked.
func NewTempDir(name string) (dir string, remove func(), err error) {
	removeAbandoned(os.TempDir(), name)
	if dir, err = os.MkdirTemp("", name+"-"); err != nil {
		return "", nil, unwritableAt(temporary, os.TempDir(), err)
	}
	held, err := lockDirectory(dir)
	if err != nil {
		os.RemoveAll(dir)
		return "", nil, unwritableAt(temporary, dir, err)
	}
	return dir, func() {
		held.Close() // first: elsewhere than on Unix it is a file in it
		os.RemoveAll(dir)
	}, nil
}

// removeAbandoned takes away the directories of a name that nobody holds.
func removeAbandoned(within, name string) {
	ours := regexp.MustCompile("^" + regexp.QuoteMeta(name) + "-[0-9]+$")
	entries, err := os.ReadDir(within)
	if err != nil {
		return // nothing can be made there either, which says why
	}
	for _, e := range entries {
		at := filepath.Join(within, e.Name())
		info, err := e.Info()
		if err != nil || !e.IsDir() || !ours.MatchString(e.Name()) || time.Since(info.ModTime()) < justMade {
			continue
		}
		if abandoned(at) {
			os.RemoveAll(at)
		}
	}
}
