//go:build darwin || freebsd

package gpkg

import "golang.org/x/sys/unix"

// onNetwork reports whether a folder is on a drive of another computer.
func onNetwork(dir string) (kind string, remote bool) {
	var fs unix.Statfs_t
	if unix.Statfs(dir, &fs) != nil {
		return "", false
	}
	return "not local", uint64(fs.Flags)&unix.MNT_LOCAL == 0
}
