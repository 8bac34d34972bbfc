package gpkg

import (
	"path/filepath"
	"strings"

	"golang.org/x/sys/windows"
)

// onNetwork reports whether a folder is on a drive of another computer.
func onNetwork(dir string) (kind string, remote bool) {
	volume := filepath.VolumeName(dir)
	if strings.HasPrefix(volume, `\\`) {
		return volume, true
	}
	root, err := windows.UTF16PtrFromString(volume + `\`)
	if err != nil {
		return "", false
	}
	return volume, windows.GetDriveType(root) == windows.DRIVE_REMOTE
}
