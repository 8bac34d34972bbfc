package main

import "golang.org/x/sys/windows"

// documentsFolder is where this user's documents are, wherever that was moved to.
func documentsFolder() (string, error) {
	return windows.KnownFolderPath(windows.FOLDERID_Documents, windows.KF_FLAG_CREATE)
}
