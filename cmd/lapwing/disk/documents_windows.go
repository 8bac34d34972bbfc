package disk

import "golang.org/x/sys/windows"

// Documents is where this user's documents are, wherever that was moved to.
func Documents() (string, error) {
	return windows.KnownFolderPath(windows.FOLDERID_Documents, windows.KF_FLAG_CREATE)
}
