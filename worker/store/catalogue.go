package store

import (
	"context"
	"fmt"
	"strings"
)

// InCatalogue begins the names of columns that are those of a catalogue, where rows are
// chosen or counted by them.
const InCatalogue = "catalogue."

// Named is a member with the name it came under.
type Named struct {
	Number int64
	Name   string
}

// Names lists members of a batch in the order of their numbers, from the one behind after
// on, at most limit.
func Names(ctx context.Context, tx Tx, organization, batch string, after int64, limit int) (all []Named, err error) {
	err = tx.each(ctx, func(r row) error {
		var n Named
		err := r.Scan(&n.Number, &n.Name)
		all = append(all, n)
		return err
	}, `SELECT number, name FROM members WHERE batch_id = $1 AND organization_id = $2 AND number > $3 ORDER BY number LIMIT $4`, batch, organization, after, limit)
	return all, err
}

// Cell is what a catalogue says of a member in one column.
type Cell struct {
	Number      int64
	Name, Value string
}

// SetCatalogue puts what a catalogue says of the members numbered from first to last of a
// batch that is being changed in place of what one said before.
func SetCatalogue(ctx context.Context, tx Tx, b *Batch, first, last int64, cells []Cell) error {
	_, err := tx.exec(ctx, `DELETE FROM catalogue WHERE batch_id = $1 AND number BETWEEN $2 AND $3`, b.ID, first, last)
	if err != nil {
		return err
	}
	rows := make([][]any, len(cells))
	for i, c := range cells {
		rows[i] = []any{b.Organization, b.ID, c.Number, c.Name, c.Value}
	}
	return tx.insert(ctx, "catalogue", []string{"organization_id", "batch_id", "number", "name", "value"}, rows)
}

// inCatalogue wants values in columns of the catalogue.
func (s *statement) inCatalogue(organization string, values map[string]string) {
	for name, value := range values {
		s.beyond = true
		c := fmt.Sprintf("c%d", len(s.args))
		s.from += fmt.Sprintf(" JOIN catalogue %[1]s ON %[1]s.organization_id = %[2]s AND %[1]s.name = %[3]s AND %[1]s.value = %[4]s AND %[1]s.batch_id = t.batch_id AND %[1]s.number = t.number",
			c, organization, s.arg(name), s.arg(value))
	}
}

// column is what a row is counted by, and what has to be joined for it: a column of its
// kind or of the catalogue, which is empty where that says nothing.
func (s *statement) column(name string) (column, join string) {
	of, found := strings.CutPrefix(name, InCatalogue)
	if !found {
		return s.kind.by[name], ""
	}
	c := fmt.Sprintf("c%d", len(s.args))
	return "coalesce(" + c + ".value, '')",
		fmt.Sprintf(" LEFT JOIN catalogue %[1]s ON %[1]s.batch_id = t.batch_id AND %[1]s.number = t.number AND %[1]s.name = %[2]s", c, s.arg(of))
}
