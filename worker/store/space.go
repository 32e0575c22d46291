package store

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"time"
)

// Size is how many bytes the database takes on its disk.
func (s *Store) Size(ctx context.Context) (size int64, err error) {
	d, embedded := s.database.(*sqlite)
	if !embedded {
		err = s.Read(ctx, func(tx Tx) error {
			return one(ctx, tx, []any{&size}, `SELECT pg_database_size(current_database())`)
		})
		return size, err
	}
	for _, name := range []string{dataFile, dataFile + "-wal", dataFile + "-shm"} {
		info, err := os.Stat(filepath.Join(d.dir, name))
		if err != nil && !os.IsNotExist(err) {
			return 0, err
		}
		if err == nil {
			size += info.Size()
		}
	}
	return size, nil
}

// LastBackup is when the last copy of the database was made, zero for never as far as is
// known: whatever makes copies says so in the table backups.
func LastBackup(ctx context.Context, tx Tx) (time.Time, error) {
	var made int64
	err := one(ctx, tx, []any{&made}, `SELECT made FROM backups`)
	if errors.Is(err, ErrNotFound) {
		err = nil
	}
	return moment(made), err
}

// Dir is the data directory, "" for PostgreSQL.
func (s *Store) Dir() string {
	if d, ok := s.database.(*sqlite); ok {
		return d.dir
	}
	return ""
}
