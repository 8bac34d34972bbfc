package gpkg

import "golang.org/x/sys/unix"

// networkKinds are the drives of other computers, by the magic number of their file
// system (statfs(2), and Linux's include/uapi/linux/magic.h).
var networkKinds = map[int64]string{
	unix.NFS_SUPER_MAGIC:  "NFS",
	unix.SMB_SUPER_MAGIC:  "SMB",
	unix.CIFS_SUPER_MAGIC: "CIFS",
	unix.SMB2_SUPER_MAGIC: "SMB",
	unix.AFS_SUPER_MAGIC:  "AFS",
	unix.AFS_FS_MAGIC:     "AFS",
	unix.CODA_SUPER_MAGIC: "Coda",
	unix.CEPH_SUPER_MAGIC: "Ceph",
	unix.NCP_SUPER_MAGIC:  "NCP",
	unix.V9FS_MAGIC:       "9P",
}

// onNetwork reports whether a folder is on a drive of another computer, and of which
// kind. Of a file system that runs as a program (FUSE) it cannot tell.
func onNetwork(dir string) (kind string, remote bool) {
	var fs unix.Statfs_t
	if unix.Statfs(dir, &fs) != nil {
		return "", false
	}
	return kindOf(int64(fs.Type))
}

func kindOf(magic int64) (kind string, remote bool) {
	kind, remote = networkKinds[magic&0xffffffff] // some systems give it with a sign
	return kind, remote
}
