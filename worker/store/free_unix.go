//go:build unix

package store

import "golang.org/x/sys/unix"

// FreeSpace is how many bytes the disk of the data directory has room for; false
// where that is not ours to know.
func (s *Store) FreeSpace() (bytes uint64, known bool) {
	dir := s.Dir()
	if dir == "" {
		return 0, false
	}
	var disk unix.Statfs_t
	if err := unix.Statfs(dir, &disk); err != nil {
		return 0, false
	}
	return disk.Bavail * uint64(disk.Bsize), true // #nosec G115 -- a block has a positive size
}
