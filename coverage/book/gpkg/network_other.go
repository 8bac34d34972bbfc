//go:build !linux && !darwin && !freebsd && !windows

package gpkg

// onNetwork cannot tell here.
func onNetwork(string) (kind string, remote bool) { return "", false }
