package disk

import (
	"os"
	"path"
	"strings"
	"sync"

	"lapwing/geo/source"
)

// A job may lie in a zip archive, as a desk exports them, with all that it names:
// desk.zip/home.yaml. An archive is opened once, and stays open until the program ends.
var opened sync.Map // of *archive, by the path of the file

// An archive is a zip archive that was opened, or why not.
type archive struct {
	once sync.Once
	zip  *source.Zip
}

// packedAt is the archive that a name leads into, and the name in there; nil where it
// leads into none.
func packedAt(name string) (*source.Zip, string) {
	for dir := path.Dir(name); dir != "." && dir != "/"; dir = path.Dir(dir) {
		info, err := os.Stat(pathOf(dir))
		switch {
		case err != nil:
			continue
		case !info.Mode().IsRegular():
			return nil, ""
		}
		return OpenArchive(dir), strings.TrimPrefix(name, dir+"/")
	}
	return nil, ""
}

// OpenArchive opens the zip archive at a name on disk, once; nil where there is none, or
// none that can be read.
func OpenArchive(name string) *source.Zip {
	kept, _ := opened.LoadOrStore(name, &archive{})
	a := kept.(*archive)
	a.once.Do(func() {
		if files := (source.Files{FS: disk{}}); files.IsZip(name) {
			a.zip, _ = files.OpenZip(name) // what cannot be opened holds nothing
		}
	})
	return a.zip
}
