//go:build unix

package store

import "golang.org/x/sys/unix"

// DiskSpace is how many bytes the disk of the data directory has room for, and how many
// it has in all; false where that is not ours to know.
func (s *Store) DiskSpace() (free, size uint64, known bool) {
	dir := s.Dir()
	if dir == "" {
		return 0, 0, false
	}
	var disk unix.Statfs_t
	if err := unix.Statfs(dir, &disk); err != nil {
		return 0, 0, false
	}
	block := uint64(disk.Bsize) // #nosec G115 -- a block has a positive size
	return disk.Bavail * block, disk.Blocks * block, true
}
