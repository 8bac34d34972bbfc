// Package jobfiles finds the job files of a call, in directories and zip archives too, and
// does many jobs at a time, no more than memory has room for.
package jobfiles

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"unicode"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/job"
)

// A Job is one job file of many.
type Job struct {
	Path string // from where the call was made
	Slug string // the name of the directory that is the job's own, below that of the answer
}

// Find lists the job files given and those in the directories and zip archives given,
// in the order of their paths. out, where the answer is written, is not searched. Its
// errors are of the input.
func Find(args []string, out string) ([]Job, error) {
	var paths []string
	for _, arg := range args {
		info, err := os.Stat(arg)
		switch {
		case err != nil:
			return nil, &job.InputError{File: arg, Found: "no such file or directory", Want: "a job file or a directory with some"}
		case !info.IsDir():
			if packed := jobsPacked(arg); len(packed) > 0 {
				paths = append(paths, packed...)
				continue
			}
			paths = append(paths, filepath.Clean(arg))
			continue
		case isSameDirectory(info, out):
			return nil, output.Wrong(out, "found the directory that the jobs are looked for in", "another one, such as "+filepath.Join(out, "out")+": what is in --out is not searched")
		}
		found, err := jobsIn(arg, out)
		if err != nil {
			return nil, err
		}
		if len(found) == 0 {
			return nil, &job.InputError{File: arg, Found: "no job file in this directory", Want: "files ending in .yaml or .yml that name machines or a boundary"}
		}
		paths = append(paths, found...)
	}
	slices.Sort(paths)
	paths = slices.Compact(paths)
	jobs := make([]Job, len(paths))
	for i, path := range paths {
		jobs[i] = Job{path, slugOf(path, out)}
	}
	return jobs, nil
}

// isSameDirectory reports whether a directory that was found is the one at path.
func isSameDirectory(found os.FileInfo, path string) bool {
	at, err := os.Stat(path)
	return err == nil && os.SameFile(found, at)
}

// IsYAML reports whether a path is meant as that of a job file.
func IsYAML(path string) bool {
	end := strings.ToLower(filepath.Ext(path))
	return end == ".yaml" || end == ".yml"
}

// jobsIn lists the job files in a directory and all below it, hidden ones and
// the season's own apart.
func jobsIn(dir, out string) (paths []string, err error) {
	own, _ := filepath.Abs(out)
	dir = filepath.Clean(dir) + string(filepath.Separator) // so that a link to a directory is one
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if at, _ := filepath.Abs(path); at == own || path != dir && strings.HasPrefix(d.Name(), ".") {
				return filepath.SkipDir
			}
			return nil
		}
		if IsYAML(path) && job.LooksLikeJob(disk.Inputs(nil), path) {
			paths = append(paths, filepath.Clean(path))
		}
		return nil
	})
	return paths, err
}

// jobsPacked lists the job files in an archive; none where it holds none, or is none.
func jobsPacked(at string) (paths []string) {
	name, err := disk.Name(at)
	if err != nil {
		return nil
	}
	z := disk.OpenArchive(name)
	if z == nil {
		return nil
	}
	err = fs.WalkDir(z, ".", func(in string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if p := filepath.Join(at, filepath.FromSlash(in)); IsYAML(in) && !strings.HasPrefix(path.Base(in), ".") && job.LooksLikeJob(disk.Inputs(nil), p) {
			paths = append(paths, p)
		}
		return nil
	})
	if err != nil {
		return nil
	}
	slices.Sort(paths)
	return paths
}

// slugOf names the directory of a job's entry: the last two names of its path
// for people, and a few digits that keep jobs of the same names apart. They
// are of the path as seen from out, so that moving both together keeps them.
func slugOf(path, out string) string {
	from, to := path, path
	if a, err := filepath.Abs(out); err == nil {
		if b, err := filepath.Abs(path); err == nil {
			to = b
			if rel, err := filepath.Rel(a, b); err == nil {
				from = rel
			}
		}
	}
	sum := sha256.Sum256([]byte(filepath.ToSlash(from)))
	name := strings.TrimSuffix(filepath.Base(to), filepath.Ext(to))
	if parent := filepath.Base(filepath.Dir(to)); parent != "." && parent != string(filepath.Separator) {
		if name = parent + "-" + name; strings.HasSuffix(name, "-job") {
			name = parent
		}
	}
	var b strings.Builder
	for _, c := range strings.ToLower(name) {
		if unicode.IsLetter(c) && c < unicode.MaxASCII || unicode.IsDigit(c) && c < unicode.MaxASCII {
			b.WriteRune(c)
		} else if s := b.String(); s != "" && !strings.HasSuffix(s, "-") {
			b.WriteByte('-')
		}
	}
	short := strings.Trim(b.String(), "-")
	short = short[:min(len(short), 48)]
	return fmt.Sprintf("%s-%s", short, hex.EncodeToString(sum[:4]))
}

// weight is about how much memory a job takes, by the bytes of its files.
func (j Job) weight() int64 {
	files, err := job.Files(disk.Inputs(nil), j.Path)
	if err != nil {
		return 0
	}
	var n int64
	for _, path := range files {
		if info, err := os.Stat(path); err == nil {
			n += info.Size()
		}
	}
	return n
}

// roomFor is how many bytes of logs may be worked on at a time. Measuring
// takes some 260 bytes a fix, which has 30 bytes in a packed log and 70 in a
// plain one: so 1 GB at most, but for a job that is larger than this by itself,
// which is worked on alone.
const roomFor = 112 << 20

// A room lets so many jobs in at a time, and only so many bytes of them.
type room struct {
	mu    sync.Mutex
	free  *sync.Cond
	jobs  int
	bytes int64
}

func newRoom(jobs int) *room {
	r := &room{jobs: jobs, bytes: roomFor}
	r.free = sync.NewCond(&r.mu)
	return r
}

func (r *room) enter(bytes int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for r.jobs == 0 || min(bytes, roomFor) > r.bytes {
		r.free.Wait()
	}
	r.jobs--
	r.bytes -= min(bytes, roomFor)
}

func (r *room) leave(bytes int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.jobs++
	r.bytes += min(bytes, roomFor)
	r.free.Broadcast()
}
