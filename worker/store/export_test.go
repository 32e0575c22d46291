package store

import "context"

// Explaining is a transaction that records how the database goes about each question, and
// asks it. What SQLite does within another step is set in.
func Explaining(tx Tx, plans *[]string) Tx { return explaining{tx, plans} }

type explaining struct {
	Tx
	plans *[]string
}

func (e explaining) each(ctx context.Context, scan func(row) error, statement string, args ...any) error {
	explain, plan := "EXPLAIN ", ""
	_, embedded := SQLTx(e.Tx)
	if embedded {
		explain = "EXPLAIN QUERY PLAN "
	}
	err := e.Tx.each(ctx, func(r row) error {
		var id, parent, unused int
		var detail string
		into := []any{&detail}
		if embedded {
			into = []any{&id, &parent, &unused, &detail}
		}
		err := r.Scan(into...)
		if parent > 0 {
			detail = "  " + detail
		}
		plan += detail + "\n"
		return err
	}, explain+statement, args...)
	*e.plans = append(*e.plans, plan)
	if err != nil {
		return err
	}
	return e.Tx.each(ctx, scan, statement, args...)
}
