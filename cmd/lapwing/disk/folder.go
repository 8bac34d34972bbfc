package disk

import "path/filepath"

// IsBelow reports whether a path is that of a folder or in it, links followed.
func IsBelow(path, folder string) bool {
	rel, err := filepath.Rel(RealPath(folder), RealPath(path))
	return err == nil && (rel == "." || filepath.IsLocal(rel))
}

// RealPath is a path without links, as far as it is there.
func RealPath(path string) string {
	path, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	if at, err := filepath.EvalSymlinks(path); err == nil {
		return at
	}
	if up := filepath.Dir(path); up != path {
		return filepath.Join(RealPath(up), filepath.Base(path))
	}
	return path
}
