package taskdata

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
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
)

const (
	mainFile = "taskdata.xml"
	noSet    = "no TASKDATA.XML in it"
	badZip   = "a damaged zip archive"
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

// Holds reports whether there is a task set at a path: an XML file that begins
// as one, or a folder or zip archive with a TASKDATA.XML. Whether it can be
// read, only [Read] says.
func Holds(path string) bool {
	if info, err := os.Stat(path); err != nil || !info.IsDir() && !info.Mode().IsRegular() {
		return false
	} else if !info.IsDir() {
		if start := startOf(path); !isZip(start) {
			return bytes.Contains(start, []byte("<ISO11783_TaskData"))
		}
	}
	set, _, err := openSet(path)
	var wrong *SyntaxError
	switch {
	case errors.As(err, &wrong):
		return wrong.Found != noSet && wrong.Found != badZip
	case err != nil:
		return false
	}
	set.close()
	return true
}

// startOf returns the first bytes of a file, in which the root of an XML file
// stands: a declaration and comments may come before it.
func startOf(path string) []byte {
	f, err := os.Open(path)
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

// openSet finds the set at a path and says which file is the main one.
func openSet(at string) (*folder, string, error) {
	info, err := os.Stat(at)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, "", &SyntaxError{File: at, Found: "no such file", Want: wantSet}
	case err != nil:
		return nil, "", err
	case info.IsDir():
		return openFolder(at)
	}
	f, err := os.Open(at)
	if err != nil {
		return nil, "", err
	}
	defer f.Close()
	start := make([]byte, 4)
	n, err := io.ReadFull(f, start)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, "", err
	}
	if isZip(start[:n]) {
		return openZip(at, info.Size())
	}
	set, err := folderOf(filepath.Dir(at), "")
	if err != nil {
		return nil, "", err
	}
	return set, strings.ToLower(filepath.Base(at)), nil
}

// openFolder takes the folder at a path, or the one below it, two levels deep
// at most, that holds a set.
func openFolder(at string) (*folder, string, error) {
	var homes []string
	count := 0
	err := filepath.WalkDir(at, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if count++; count > maxFiles {
			return &SyntaxError{File: at, Found: fmt.Sprintf("more than %d files", maxFiles), Want: "the folder of a task set"}
		}
		rel, err := filepath.Rel(at, p)
		if err != nil {
			return err
		}
		if d.IsDir() && strings.Count(filepath.ToSlash(rel), "/") >= 2 {
			return fs.SkipDir
		}
		if !d.IsDir() && strings.EqualFold(d.Name(), mainFile) {
			homes = append(homes, filepath.ToSlash(filepath.Dir(rel)))
		}
		return nil
	})
	if err != nil {
		return nil, "", err
	}
	home, err := oneHome(at, homes)
	if err != nil {
		return nil, "", err
	}
	set, err := folderOf(at, home)
	if err != nil {
		return nil, "", err
	}
	set.more = len(homes) - 1
	return set, mainFile, nil
}

// folderOf lists the files in a folder. They are opened below it only, also
// where links lead elsewhere.
func folderOf(at, home string) (*folder, error) {
	dir := filepath.Join(at, filepath.FromSlash(home))
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		root.Close()
		return nil, err
	}
	set := newFolder(dir, maxSet)
	set.close = root.Close
	for _, e := range entries {
		if name := e.Name(); !e.IsDir() {
			set.add(name, func() (io.ReadCloser, error) { return openRegular(root, name) })
		}
	}
	return set, nil
}

// openRegular opens a file that can be read to an end: no pipe, no device.
func openRegular(root *os.Root, name string) (io.ReadCloser, error) {
	info, err := root.Stat(name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("not a plain file")
	}
	return root.Open(name)
}

// openZip takes an archive. Nothing is written to disk and no size that the
// archive states is trusted.
func openZip(at string, size int64) (*folder, string, error) {
	z, err := zip.OpenReader(at)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, "", &SyntaxError{File: at, Found: badZip, Want: wantSet}
	}
	var homes []string
	if len(z.File) > maxFiles {
		z.Close()
		return nil, "", &SyntaxError{File: at, Found: fmt.Sprintf("more than %d files", maxFiles), Want: "the archive of a task set"}
	}
	for _, f := range z.File {
		f.Name = strings.ReplaceAll(f.Name, `\`, "/") // as some archivers write
		if !filepath.IsLocal(f.Name) {
			z.Close()
			return nil, "", &SyntaxError{File: at, Found: "a path in the archive that leaves it: " + shorten(f.Name)}
		}
		if strings.EqualFold(path.Base(f.Name), mainFile) && strings.Count(f.Name, "/") <= 2 {
			homes = append(homes, path.Dir(f.Name))
		}
	}
	home, err := oneHome(at, homes)
	if err != nil {
		z.Close()
		return nil, "", err
	}
	set := newFolder(filepath.Join(at, shorten(home)), min(maxSet, max(bombSize, bombRatio*size)))
	set.close, set.more = z.Close, len(homes)-1
	for _, f := range z.File {
		if path.Dir(f.Name) == home && !strings.HasSuffix(f.Name, "/") {
			set.add(path.Base(f.Name), f.Open)
		}
	}
	return set, mainFile, nil
}

// oneHome chooses the folder nearest to the top; two as near are one too many.
func oneHome(at string, homes []string) (string, error) {
	if len(homes) == 0 {
		return "", &SyntaxError{File: at, Found: noSet, Want: wantSet}
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
