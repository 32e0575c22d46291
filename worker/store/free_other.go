//go:build !unix

package store

// FreeSpace is not known on this system.
func (s *Store) FreeSpace() (bytes uint64, known bool) { return 0, false }
