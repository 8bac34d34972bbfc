//go:build !windows

package disk

import (
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
)

// documentsLine is the line of a desktop that tells where documents are, as
// xdg-user-dirs writes it.
var documentsLine = regexp.MustCompile(`(?m)^XDG_DOCUMENTS_DIR="((?:[^"\\]|\\.)*)"`)

// Documents is where this user's documents are: what the desktop says, else
// Documents in the home folder, as macOS has it, else the home folder.
func Documents() (string, error) {
	home, err := os.UserHomeDir()
	if err != nil {
		return "", err
	}
	if config, err := os.UserConfigDir(); err == nil && runtime.GOOS != "darwin" {
		text, _ := os.ReadFile(filepath.Join(config, "user-dirs.dirs")) // not every desktop has one
		if said := documentsLine.FindSubmatch(text); said != nil {
			at := strings.ReplaceAll(string(said[1]), "$HOME", home)
			if info, err := os.Stat(at); err == nil && info.IsDir() && filepath.IsAbs(at) {
				return at, nil
			}
		}
	}
	at := filepath.Join(home, "Documents")
	if info, err := os.Stat(at); err == nil && info.IsDir() {
		return at, nil
	}
	return home, nil
}
