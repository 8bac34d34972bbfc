package gpkg

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The magic numbers are those of statfs(2), https://man7.org/linux/man-pages/man2/statfs.2.html;
// 32-bit systems give them with a sign.
func TestNetworkDrives(t *testing.T) {
	for magic, want := range map[int64]string{
		0x6969: "NFS", 0x517b: "SMB", 0xff534d42: "CIFS", 0xfe534d42 - 1<<32: "SMB", 0x01021997: "9P",
		0xef53: "", 0x9123683e: "", 0x01021994: "", 0x58465342: "", // ext4, btrfs, tmpfs, xfs
	} {
		kind, remote := kindOf(magic)
		assert.Equal(t, want, kind, "%#x", magic)
		assert.Equal(t, want != "", remote, "%#x", magic)
	}
	_, remote := onNetwork(t.TempDir())
	assert.False(t, remote)
}
