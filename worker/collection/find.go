package collection

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/parquet-go/parquet-go"

	"partwright/worker/store"
)

// Folders lists the folders with tables at and below one, in order. There is an error
// where it cannot be read, and none where no tables are found.
func Folders(dir string) (folders []string, err error) {
	err = filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() && entry.Name() == tableFile(Scores) {
			folders = append(folders, filepath.Dir(path))
		}
		return err
	})
	return folders, err
}

func tableFile(name string) string { return name + ".parquet" }

// Read reads the tables in a folder, score by score, and calls f with what was found in
// each: of a kind of [store.Find], such as [store.FoundFindings], and the score itself. It
// holds one score at a time and some pages of the tables.
func Read(ctx context.Context, dir, kind string, f func(*store.Found) error) (err error) {
	scores, err := openRows[Score](dir, Scores)
	if err != nil {
		return err
	}
	defer scores.close()
	var findings *tableRows[Finding]
	var harmonies *tableRows[Harmony]
	var cadences *tableRows[Cadence]
	switch kind {
	case store.FoundFindings:
		if findings, err = openRows[Finding](dir, Findings); err != nil {
			return err
		}
		defer findings.close()
	case store.FoundHarmonies:
		if harmonies, err = openRows[Harmony](dir, Harmonies); err != nil {
			return err
		}
		defer harmonies.close()
		if cadences, err = openRows[Cadence](dir, Cadences); err != nil {
			return err
		}
		defer cadences.close()
	}
	for ctx.Err() == nil {
		score, err := scores.next()
		if errors.Is(err, io.EOF) {
			return errors.Join(findings.ended(), harmonies.ended(), cadences.ended())
		}
		if err != nil {
			return err
		}
		all := Rows{Score: *score}
		number := score.Score
		all.Findings, err = findings.of(number, func(r *Finding) int64 { return r.Score })
		if err == nil {
			all.Harmonies, err = harmonies.of(number, func(r *Harmony) int64 { return r.Score })
		}
		if err == nil {
			all.Cadences, err = cadences.of(number, func(r *Cadence) int64 { return r.Score })
		}
		if err == nil {
			err = f(all.Found())
		}
		if err != nil {
			return err
		}
	}
	return ctx.Err()
}

// rowsAtOnce is how many rows of a table are held.
const rowsAtOnce = 512

// tableRows reads the rows of a table in their order; nil has none.
type tableRows[Row any] struct {
	name string
	file *os.File
	from *parquet.GenericReader[Row]
	held []Row // that were read
	at   int   // the next of them
}

func openRows[Row any](dir, name string) (*tableRows[Row], error) {
	t := &tableRows[Row]{name: filepath.Join(dir, tableFile(name))}
	file, err := os.Open(t.name)
	if err != nil {
		return nil, err
	}
	t.file = file
	err = t.guarded(func() error {
		info, err := file.Stat()
		if err != nil {
			return err
		}
		whole, err := parquet.OpenFile(file, info.Size())
		if err == nil {
			t.from = parquet.NewGenericReader[Row](whole)
		}
		return err
	})
	if err != nil {
		_ = file.Close()
		return nil, err
	}
	return t, nil
}

// guarded names the table in an error. The library panics over some damaged files.
func (t *tableRows[Row]) guarded(f func() error) (err error) {
	defer func() {
		if value := recover(); value != nil {
			err = fmt.Errorf("%v", value)
		}
		if err != nil {
			err = fmt.Errorf("%s is no table of Parquet that can be read: %w; write it again", t.name, err)
		}
	}()
	return f()
}

// peek is the next row, [io.EOF] behind the last.
func (t *tableRows[Row]) peek() (*Row, error) {
	if t.at == len(t.held) {
		t.held = append(t.held[:0], make([]Row, rowsAtOnce)...)
		t.at = 0
		var n int
		err := t.guarded(func() (err error) {
			if n, err = t.from.Read(t.held); n > 0 || errors.Is(err, io.EOF) {
				err = nil
			}
			return err
		})
		t.held = t.held[:n]
		if err != nil {
			return nil, err
		}
		if n == 0 {
			return nil, io.EOF
		}
	}
	return &t.held[t.at], nil
}

func (t *tableRows[Row]) next() (*Row, error) {
	row, err := t.peek()
	if err == nil {
		t.at++
	}
	return row, err
}

// of takes the next rows, as long as they are those of a score.
func (t *tableRows[Row]) of(number int64, score func(*Row) int64) (rows []Row, err error) {
	for t != nil {
		row, err := t.peek()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if score(row) != number {
			break
		}
		rows = append(rows, *row)
		t.at++
	}
	return rows, nil
}

// ended refuses rows that no score came for.
func (t *tableRows[Row]) ended() error {
	if t == nil {
		return nil
	}
	if _, err := t.peek(); !errors.Is(err, io.EOF) {
		if err == nil {
			err = fmt.Errorf("%s does not belong to the scores beside it: write both again", t.name)
		}
		return err
	}
	return nil
}

func (t *tableRows[Row]) close() {
	_ = t.from.Close()
	_ = t.file.Close()
}
