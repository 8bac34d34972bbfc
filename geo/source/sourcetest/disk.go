// Package sourcetest gives tests the files of the computer that they run on.
package sourcetest

import (
	"io"
	"os"
	"path/filepath"
	"strings"

	"lapwing/geo/source"
)

// Disk are the files of the volume that the working directory is on, by their
// usual paths; stdin is what "-" means.
func Disk(stdin io.Reader) source.Files {
	here, err := os.Getwd()
	if err != nil {
		panic(err)
	}
	root := filepath.VolumeName(here) + string(filepath.Separator)
	return source.Files{FS: os.DirFS(root), Stdin: stdin, Name: func(path string) (string, error) {
		at, err := filepath.Abs(path)
		if err != nil {
			return "", err
		}
		if name := filepath.ToSlash(strings.TrimPrefix(at, root)); name != "" {
			return name, nil
		}
		return ".", nil
	}}
}
