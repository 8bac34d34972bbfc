// Package disk is the files of this computer as an input: one file system, in which a zip
// archive is a folder, in all formats that the program reads; and what the system says
// when a file cannot be read or written.
package disk

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"lapwing/coverage/job"
	"lapwing/geo/source"
)

// Inputs are the files of this computer as inputs, in all [Formats], with what "-"
// means. A pipe may be at the paths that the call names.
func Inputs(stdin io.Reader, called ...string) job.Inputs {
	return job.Inputs{Formats: Formats, Files: source.Files{
		FS: disk{}, Name: Name, Stdin: stdin,
		Called: func(path string) bool { return slices.Contains(called, path) },
	}}
}

// A disk is all files of this computer as one file system. A name is a path
// from the root, with slashes; on Windows the volume is its first part.
type disk struct{}

// Name returns the name on disk of what a path means: its path from the root. The error
// is [source.ErrMissing] for no path at all.
func Name(path string) (string, error) {
	if path == "" {
		return "", source.ErrMissing
	}
	at, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if name := strings.Trim(filepath.ToSlash(at), "/"); name != "" {
		return name, nil
	}
	return ".", nil
}

// pathOf returns the path of a name on disk.
func pathOf(name string) string {
	if name == "." {
		name = ""
	}
	switch volume := filepath.VolumeName(filepath.FromSlash(name)); {
	case volume != "":
		return volume + string(filepath.Separator) + strings.TrimLeft(filepath.FromSlash(name[len(volume):]), string(filepath.Separator))
	case filepath.VolumeName(`\\host\share`) != "": // Windows, and another computer's volume
		return `\\` + filepath.FromSlash(name)
	}
	return string(filepath.Separator) + name
}

func (disk) Open(name string) (fs.File, error) {
	f, err := os.Open(pathOf(name))
	if err != nil {
		if z, inner := packedAt(name); z != nil {
			return z.Open(inner)
		}
		return nil, err
	}
	return f, nil
}

func (disk) ReadDir(name string) ([]fs.DirEntry, error) {
	entries, err := os.ReadDir(pathOf(name))
	if err != nil {
		if z, inner := packedAt(name); z != nil {
			return fs.ReadDir(z, inner)
		}
	}
	return entries, err
}

// Stat says what is at a name. A file that the system makes up as it is read,
// as Linux does below /proc and /sys, calls itself regular and is not: it may
// have no end, and to read some of them does things.
func (disk) Stat(name string) (fs.FileInfo, error) {
	path := pathOf(name)
	info, err := os.Stat(path)
	if err != nil {
		if z, inner := packedAt(name); z != nil {
			return fs.Stat(z, inner)
		}
	}
	if err != nil || runtime.GOOS != "linux" || !info.Mode().IsRegular() {
		return info, err
	}
	at, err := filepath.EvalSymlinks(path)
	if err == nil && (strings.HasPrefix(at, "/proc/") || strings.HasPrefix(at, "/sys/")) {
		return madeUp{info}, nil
	}
	return info, nil
}

// madeUp is a file that the system makes up.
type madeUp struct{ fs.FileInfo }

func (m madeUp) Mode() fs.FileMode { return m.FileInfo.Mode() | fs.ModeIrregular }

// Sub is the file system of one folder. Links in it lead nowhere outside.
func (disk) Sub(name string) (fs.FS, error) {
	root, err := os.OpenRoot(pathOf(name))
	if err != nil {
		if z, inner := packedAt(name); z != nil {
			return fs.Sub(z, inner)
		}
		return nil, err
	}
	return folder{root}, nil
}

// A folder is a folder by itself.
type folder struct{ root *os.Root }

func (f folder) Open(name string) (fs.File, error)          { return f.root.Open(name) }
func (f folder) Stat(name string) (fs.FileInfo, error)      { return f.root.Stat(name) }
func (f folder) ReadDir(name string) ([]fs.DirEntry, error) { return fs.ReadDir(f.root.FS(), name) }
func (f folder) Close() error                               { return f.root.Close() }
