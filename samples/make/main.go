// Make writes the logs and boundaries of the samples, and the notes beside
// them that say what was put in on purpose and where. The job files are
// written by hand.
//
// From the repository's root:
//
//	go run ./samples/make
//
// It draws each machine's path, drives it, and spoils the log with seeded
// noise: the same bytes every time. Change a path here, never a log.
package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"lapwing/coverage/covertest"
	"lapwing/coverage/machine"
)

func main() {
	root := "samples"
	if len(os.Args) > 1 {
		root = os.Args[1]
	}
	if err := write(root); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// write makes the samples' files in their folders under root.
func write(root string) error {
	for _, s := range []*sample{ternBank(), longMeadow()} {
		if err := s.write(filepath.Join(root, s.folder)); err != nil {
			return fmt.Errorf("%s: %w", s.folder, err)
		}
	}
	return nil
}

// A sample is a scene and what is said about it.
type sample struct {
	folder string
	scene  *covertest.Scene
	about  string                  // a template: see about.go
	marks  map[string]covertest.XY // places that the template names
}

// write makes the sample's files in dir.
func (s *sample) write(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := covertest.WriteBoundary(&b, s.scene.Field, 0); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "boundary.geojson"), b.Bytes(), 0o644); err != nil {
		return err
	}
	for _, m := range s.scene.Machines {
		if err := writeTracks(dir, m); err != nil {
			return err
		}
	}
	text, err := s.aboutText()
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "about.md"), []byte(text), 0o644)
}

func writeTracks(dir string, m machine.Logged) error {
	for _, t := range m.Tracks {
		var b bytes.Buffer
		if err := covertest.WriteTrack(&b, t, m.Implement, 8); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, t.File), b.Bytes(), 0o644); err != nil {
			return err
		}
	}
	return nil
}
