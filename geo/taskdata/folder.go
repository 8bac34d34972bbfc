package taskdata

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"lapwing/geo"
)

// Limits on what is read. A log of ten hours at 10 Hz with 30 values a record
// is 60 MB; a day of boundaries and prescriptions a few MB of XML.
const (
	maxXML = 64 << 20
	maxBIN = 128 << 20
	maxSet = 512 << 20 // all files of a set, unpacked

	// A packed set may be a bomb. Real logs pack to a twentieth, rarely less:
	// past bombSize, unpacked bytes may be at most bombRatio times the packed.
	bombSize  = 64 << 20
	bombRatio = 100

	maxFiles = 100_000 // names in a folder or an archive
	maxDown  = 16      // how many folders down a set may lie
	maxZips  = 4       // how many archives may lie in each other
)

const (
	mainFile = "taskdata.xml"
	wantSet  = "a TASKDATA.XML, or a folder or zip archive that holds one"
)

// A folder holds the files of a set, found by name whatever its case.
type folder struct {
	name  string // for messages
	files map[string]func() (io.ReadCloser, error)
	as    map[string]string // names as they are, by name in lower case
	left  int64             // bytes that may still be read
	close func() error
	more  int // sets farther down, left out
}

// Holds reports whether there is a task set at a name in a file system: an XML
// file that begins as one, or a folder or zip archive with a TASKDATA.XML.
// Whether it can be read, only [Read] says.
func Holds(fsys fs.FS, name string) bool {
	if info, err := fs.Stat(fsys, name); err != nil || !info.IsDir() && !info.Mode().IsRegular() {
		return false
	} else if !info.IsDir() {
		if start := startOf(fsys, name); !isZip(start) {
			return bytes.Contains(start, []byte("<ISO11783_TaskData"))
		}
	}
	set, _, err := openSet(fsys, name, name)
	if err != nil {
		var wrong *SyntaxError
		return errors.As(err, &wrong) && !errors.Is(err, geo.ErrNothing) && !errors.Is(err, geo.ErrFormat)
	}
	set.close()
	return true
}

// startOf returns the first bytes of a file, in which the root of an XML file
// stands: a declaration and comments may come before it.
func startOf(fsys fs.FS, name string) []byte {
	f, err := fsys.Open(name)
	if err != nil {
		return nil
	}
	defer f.Close()
	start, _ := io.ReadAll(io.LimitReader(f, 4096))
	return start
}

func isZip(start []byte) bool {
	return bytes.HasPrefix(start, []byte("PK\x03\x04")) || bytes.HasPrefix(start, []byte("PK\x05\x06"))
}

// openSet finds the set at a name and says which file is the main one.
func openSet(fsys fs.FS, name, shown string) (*folder, string, error) {
	info, err := fs.Stat(fsys, name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, "", &SyntaxError{File: shown, Found: "no such file", Want: wantSet}
	case err != nil:
		return nil, "", err
	case info.IsDir():
		return openFolder(fsys, name, shown)
	}
	if isZip(startOf(fsys, name)) {
		return openZip(fsys, name, shown)
	}
	set, err := folderOf(fsys, path.Dir(name), filepath.Dir(shown))
	if err != nil {
		return nil, "", err
	}
	return set, strings.ToLower(path.Base(name)), nil
}

// openFolder takes the folder at a name, or the one below it that holds a set.
func openFolder(fsys fs.FS, name, shown string) (*folder, string, error) {
	var homes []string
	count := 0
	err := fs.WalkDir(fsys, name, func(at string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if count++; count > maxFiles && len(homes) == 0 {
			return fs.SkipAll // no set's folder, but a disk
		} else if count > maxFiles {
			return &SyntaxError{File: shown, Found: fmt.Sprintf("more than %d files", maxFiles), Want: "the folder of a task set"}
		}
		below := "."
		if at != name {
			below = strings.TrimPrefix(at, name+"/")
			if name == "." {
				below = at
			}
		}
		if d.IsDir() && strings.Count(below, "/") >= maxDown {
			return fs.SkipDir
		}
		if !d.IsDir() && strings.EqualFold(d.Name(), mainFile) {
			homes = append(homes, path.Dir(below))
		}
		return nil
	})
	if err != nil {
		return nil, "", err
	}
	home, err := oneHome(shown, homes)
	if err != nil {
		return nil, "", err
	}
	set, err := folderOf(fsys, path.Join(name, home), filepath.Join(shown, filepath.FromSlash(home)))
	if err != nil {
		return nil, "", err
	}
	set.more = len(homes) - 1
	return set, mainFile, nil
}

// folderOf lists the files in a folder. They are opened through a file system
// of the folder alone, so that one whose Sub is an os.Root's keeps links from
// leading out of it.
func folderOf(fsys fs.FS, name, shown string) (*folder, error) {
	dir, err := fs.Sub(fsys, name)
	if err != nil {
		return nil, err
	}
	set := newFolder(shown, maxSet)
	set.close = func() error { return nil }
	if c, ok := dir.(io.Closer); ok {
		set.close = c.Close
	}
	entries, err := fs.ReadDir(dir, ".")
	if err != nil {
		set.close()
		return nil, err
	}
	for _, e := range entries {
		if name := e.Name(); !e.IsDir() {
			set.add(name, func() (io.ReadCloser, error) { return openRegular(dir, name) })
		}
	}
	return set, nil
}

// openRegular opens a file that can be read to an end: no pipe, no device.
func openRegular(dir fs.FS, name string) (io.ReadCloser, error) {
	info, err := fs.Stat(dir, name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("not a plain file")
	}
	return dir.Open(name)
}

// openZip takes an archive. Nothing is written to disk and no size that the
// archive states is trusted.
func openZip(fsys fs.FS, name, shown string) (*folder, string, error) {
	z, size, closeZip, err := zipReader(fsys, name)
	if errors.Is(err, errNoZip) {
		return nil, "", &SyntaxError{File: shown, Found: "a damaged zip archive", Want: wantSet, Reason: geo.ErrFormat}
	}
	if err != nil {
		return nil, "", err
	}
	set, err := zippedFolder(z, size, maxZips, shown)
	if err != nil {
		closeZip()
		return nil, "", err
	}
	set.close = closeZip
	return set, mainFile, nil
}

// errNoZip says that a file is not a whole zip archive.
var errNoZip = errors.New("no zip archive")

// zipReader opens an archive. It stays where it is if the file can be read
// from anywhere, as one on a disk can; else it is read into memory.
func zipReader(fsys fs.FS, name string) (z *zip.Reader, size int64, closeFile func() error, err error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, 0, nil, err
	}
	at, anywhere := f.(io.ReaderAt)
	if info, err := f.Stat(); err == nil && anywhere {
		size = info.Size()
	} else {
		data, err := io.ReadAll(io.LimitReader(f, maxSet))
		if err != nil {
			f.Close()
			return nil, 0, nil, err
		}
		at, size = bytes.NewReader(data), int64(len(data))
	}
	z, err = zip.NewReader(at, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		f.Close()
		return nil, 0, nil, errNoZip
	}
	return z, size, f.Close, nil
}

// zippedFolder finds the set in an archive of a size, or in the one archive in it,
// where so many may lie in each other.
func zippedFolder(z *zip.Reader, size int64, zips int, shown string) (*folder, error) {
	var homes []string
	var inner []*zip.File
	if len(z.File) > maxFiles {
		return nil, &SyntaxError{File: shown, Found: fmt.Sprintf("more than %d files", maxFiles), Want: "the archive of a task set"}
	}
	for _, f := range z.File {
		f.Name = strings.ReplaceAll(f.Name, `\`, "/") // as some archivers write
		if !filepath.IsLocal(f.Name) {
			return nil, &SyntaxError{File: shown, Found: "a path in the archive that leaves it: " + shorten(f.Name)}
		}
		if strings.EqualFold(path.Base(f.Name), mainFile) && strings.Count(f.Name, "/") <= maxDown {
			homes = append(homes, path.Dir(f.Name))
		}
		if strings.EqualFold(path.Ext(f.Name), ".zip") {
			inner = append(inner, f)
		}
	}
	if len(homes) == 0 && len(inner) == 1 && zips > 1 {
		return innerFolder(inner[0], size, zips-1, shown)
	}
	home, err := oneHome(shown, homes)
	if err != nil {
		return nil, err
	}
	set := newFolder(filepath.Join(shown, shorten(home)), min(maxSet, max(bombSize, bombRatio*size)))
	set.more = len(homes) - 1
	for _, f := range z.File {
		if path.Dir(f.Name) == home && !strings.HasSuffix(f.Name, "/") {
			set.add(path.Base(f.Name), f.Open)
		}
	}
	return set, nil
}

// innerFolder finds the set in an archive within one of a size. What it unpacks to
// is bounded by the size of the outer one.
func innerFolder(f *zip.File, size int64, zips int, shown string) (*folder, error) {
	shown = filepath.Join(shown, shorten(f.Name))
	damaged := &SyntaxError{File: shown, Found: "a damaged zip archive", Want: wantSet, Reason: geo.ErrFormat}
	r, err := f.Open()
	if err != nil {
		return nil, damaged
	}
	defer r.Close()
	most := min(maxSet, max(bombSize, bombRatio*size))
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if int64(len(data)) > most {
		return nil, &SyntaxError{File: shown, Found: "an archive that is too large, unpacked", Want: wantSet}
	}
	if err != nil {
		return nil, damaged
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, damaged
	}
	set, err := zippedFolder(z, size, zips, shown)
	if err != nil {
		return nil, err
	}
	set.left = max(0, set.left-int64(len(data)))
	return set, nil
}

// oneHome chooses the folder nearest to the top; two as near are one too many.
func oneHome(at string, homes []string) (string, error) {
	if len(homes) == 0 {
		return "", &SyntaxError{File: at, Found: "no TASKDATA.XML in it", Want: wantSet, Reason: geo.ErrNothing}
	}
	depth := func(p string) int {
		if p == "." {
			return 0
		}
		return 1 + strings.Count(p, "/")
	}
	slices.SortStableFunc(homes, func(a, b string) int { return depth(a) - depth(b) })
	if len(homes) > 1 && depth(homes[0]) == depth(homes[1]) {
		return "", &SyntaxError{File: at, Found: fmt.Sprintf("several task sets: %s and %s", shorten(homes[0]), shorten(homes[1])), Want: "one"}
	}
	return homes[0], nil
}

func newFolder(name string, left int64) *folder {
	return &folder{name: name, files: map[string]func() (io.ReadCloser, error){}, as: map[string]string{}, left: left}
}

func (f *folder) add(name string, open func() (io.ReadCloser, error)) {
	low := strings.ToLower(name)
	if _, twice := f.files[low]; !twice {
		f.files[low], f.as[low] = open, name
	}
}

// shown is a file of the folder as it stands in messages.
func (f *folder) shown(name string) string {
	if as, ok := f.as[strings.ToLower(name)]; ok {
		name = as
	}
	return filepath.Join(f.name, shorten(name))
}

func (f *folder) has(name string) bool { return f.files[strings.ToLower(name)] != nil }

// read returns what a file of the folder holds, up to limit bytes.
func (f *folder) read(name string, limit int64) ([]byte, error) {
	shown := f.shown(name)
	open := f.files[strings.ToLower(name)]
	if open == nil {
		return nil, &SyntaxError{File: shown, Found: "no such file"}
	}
	r, err := open()
	if err != nil {
		return nil, &SyntaxError{File: shown, Found: "a file that cannot be opened"}
	}
	defer r.Close()
	data, err := io.ReadAll(io.LimitReader(r, min(limit, f.left)+1))
	whole := int64(len(data)) > f.left && f.left < limit
	f.left = max(0, f.left-int64(len(data)))
	switch {
	case whole:
		return nil, &SyntaxError{File: shown, Found: "a set that is too large, unpacked", Want: fmt.Sprintf("%d MiB at most, and at most %d times the packed size", maxSet>>20, bombRatio)}
	case int64(len(data)) > limit:
		return nil, &SyntaxError{File: shown, Found: fmt.Sprintf("more than %d MiB", limit>>20), Want: "a smaller file"}
	case err != nil:
		return nil, &SyntaxError{File: shown, Found: "damaged data"}
	}
	return data, nil
}
