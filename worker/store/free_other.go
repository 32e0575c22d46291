//go:build !unix

package store

// DiskSpace is not known on this system.
func (s *Store) DiskSpace() (free, size uint64, known bool) { return 0, 0, false }
