package store

import (
	"context"
	"database/sql"
	"errors"
	"strings"

	"github.com/jackc/pgx/v5"
)

// Tx is a transaction of either database. Statements number their arguments: $1.
type Tx interface {
	// exec returns how many rows were changed.
	exec(ctx context.Context, statement string, args ...any) (int64, error)
	// many runs a statement once for each list of arguments, in their order, and
	// returns how many rows each changed. It costs less than as many calls of exec.
	many(ctx context.Context, statement string, lists [][]any) ([]int64, error)
	// insert writes rows into a table, the quickest way there is.
	insert(ctx context.Context, table string, columns []string, rows [][]any) error
	// each calls scan for every row.
	each(ctx context.Context, scan func(row) error, statement string, args ...any) error
}

// row is a row that is read into variables.
type row interface{ Scan(into ...any) error }

// SQLTx returns the transaction of a store that is SQLite.
func SQLTx(tx Tx) (*sql.Tx, bool) {
	t, ok := tx.(sqliteTx)
	return t.Tx, ok
}

// PgxTx returns the transaction of a store that is PostgreSQL.
func PgxTx(tx Tx) (pgx.Tx, bool) {
	t, ok := tx.(postgresTx)
	return t.Tx, ok
}

// Scan reads the columns of a row into variables.
type Scan = func(into ...any) error

// Exec runs a statement on tables that others keep beside those of the store, and
// returns how many rows were changed.
func Exec(ctx context.Context, tx Tx, statement string, args ...any) (int64, error) {
	return tx.exec(ctx, statement, args...)
}

// Each calls f for every row of a query on such tables.
func Each(ctx context.Context, tx Tx, f func(Scan) error, statement string, args ...any) error {
	return tx.each(ctx, func(r row) error { return f(r.Scan) }, statement, args...)
}

// one reads a single row; none is [ErrNotFound].
func one(ctx context.Context, tx Tx, into []any, statement string, args ...any) error {
	found := false
	err := tx.each(ctx, func(r row) error {
		found = true
		return r.Scan(into...)
	}, statement, args...)
	if err == nil && !found {
		return ErrNotFound
	}
	return err
}

type sqliteTx struct{ *sql.Tx }

func (t sqliteTx) exec(ctx context.Context, statement string, args ...any) (int64, error) {
	result, err := t.ExecContext(ctx, statement, args...)
	if err != nil {
		return 0, err
	}
	return result.RowsAffected()
}

// many compiles the statement once, which takes SQLite longer than to run it.
func (t sqliteTx) many(ctx context.Context, statement string, lists [][]any) (changed []int64, err error) {
	if len(lists) == 0 {
		return nil, nil
	}
	prepared, err := t.PrepareContext(ctx, statement)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, prepared.Close()) }()
	for _, args := range lists {
		result, err := prepared.ExecContext(ctx, args...)
		if err != nil {
			return nil, err
		}
		n, err := result.RowsAffected()
		if err != nil {
			return nil, err
		}
		changed = append(changed, n)
	}
	return changed, nil
}

func (t sqliteTx) insert(ctx context.Context, table string, columns []string, rows [][]any) error {
	_, err := t.many(ctx, `INSERT INTO `+table+` (`+strings.Join(columns, ", ")+`) VALUES (?`+strings.Repeat(", ?", len(columns)-1)+`)`, rows)
	return err
}

func (t sqliteTx) each(ctx context.Context, scan func(row) error, statement string, args ...any) (err error) {
	rows, err := t.QueryContext(ctx, statement, args...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

type postgresTx struct{ pgx.Tx }

func (t postgresTx) exec(ctx context.Context, statement string, args ...any) (int64, error) {
	tag, err := t.Exec(ctx, statement, args...)
	return tag.RowsAffected(), err
}

// many sends all at once, so that they take one round trip.
func (t postgresTx) many(ctx context.Context, statement string, lists [][]any) (changed []int64, err error) {
	if len(lists) == 0 {
		return nil, nil
	}
	var all pgx.Batch
	for _, args := range lists {
		all.Queue(statement, args...)
	}
	answers := t.SendBatch(ctx, &all)
	defer func() { err = errors.Join(err, answers.Close()) }()
	for range lists {
		tag, err := answers.Exec()
		if err != nil {
			return nil, err
		}
		changed = append(changed, tag.RowsAffected())
	}
	return changed, nil
}

func (t postgresTx) insert(ctx context.Context, table string, columns []string, rows [][]any) error {
	if len(rows) == 0 {
		return nil
	}
	_, err := t.CopyFrom(ctx, pgx.Identifier{table}, columns, pgx.CopyFromRows(rows))
	return err
}

func (t postgresTx) each(ctx context.Context, scan func(row) error, statement string, args ...any) error {
	rows, err := t.Query(ctx, statement, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}
