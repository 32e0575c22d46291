package store

import (
	"context"
	"errors"
	"fmt"
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

// shrunkAtOnce is how many pages of SQLite's are given back to the disk in one
// transaction, which other writers wait for: two megabytes.
const shrunkAtOnce = 512

// Shrink makes the file of SQLite smaller in steps, until no more than a twentieth of it
// is free: new rows would take room from the disk again at once. Files that versions
// before this wrote stay as large as they are, unless SQLite's VACUUM has made them anew
// with auto_vacuum. With PostgreSQL it does nothing.
func (s *Store) Shrink(ctx context.Context) error {
	d, ok := s.database.(*sqlite)
	if !ok {
		return nil
	}
	for before := int64(-1); ; {
		var pages, free int64
		err := errors.Join(
			d.writer.QueryRowContext(ctx, "PRAGMA page_count").Scan(&pages),
			d.writer.QueryRowContext(ctx, "PRAGMA freelist_count").Scan(&free),
		)
		if err != nil || free <= pages/20 || free == before {
			return classified(err)
		}
		before = free
		// It gives a page back for each row that it would have.
		rows, err := d.writer.QueryContext(ctx, fmt.Sprintf("PRAGMA incremental_vacuum(%d)", min(shrunkAtOnce, free-pages/20)))
		if err != nil {
			return classified(err)
		}
		for rows.Next() { //nolint:revive // each step is the work
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			return classified(err)
		}
	}
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
