package store

import (
	"context"
	"crypto/rand"
	"time"
)

// Quotas bound what an organization may have; 0 is no bound.
type Quotas struct {
	// Scores counts those of all batches, Bytes all that is stored of them and
	// their results, compressed.
	Scores, Bytes, OpenBatches int64
	// Retention is how long a batch is kept in which nothing happens any more, in
	// whole seconds.
	Retention time.Duration
}

// Organization is who batches, scores and keys belong to.
type Organization struct {
	ID, Name string
	Created  time.Time
	Quotas
}

const organizationColumns = `id, name, created, max_scores, max_bytes, max_open_batches, retention`

func scanOrganization(r row, o *Organization) error {
	var created, retention int64
	err := r.Scan(&o.ID, &o.Name, &created, &o.Scores, &o.Bytes, &o.OpenBatches, &retention)
	o.Created, o.Retention = moment(created), time.Duration(retention)*time.Second
	return err
}

// CreateOrganization writes an organization with a new id.
func (s *Store) CreateOrganization(ctx context.Context, tx Tx, name string, q Quotas) (*Organization, error) {
	o := &Organization{ID: rand.Text(), Name: name, Created: moment(micros(s.now())), Quotas: q}
	_, err := tx.exec(ctx, `INSERT INTO organizations (`+organizationColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		o.ID, o.Name, micros(o.Created), q.Scores, q.Bytes, q.OpenBatches, int64(q.Retention/time.Second))
	return o, err
}

// Organizations lists all, the oldest first.
func Organizations(ctx context.Context, tx Tx) ([]Organization, error) {
	var all []Organization
	err := tx.each(ctx, func(r row) error {
		var o Organization
		err := scanOrganization(r, &o)
		all = append(all, o)
		return err
	}, `SELECT `+organizationColumns+` FROM organizations ORDER BY created, id`)
	return all, err
}

// ChangeOrganization finds an organization, holds it against other changes until
// the transaction ends, and writes the name and quotas that f left.
func ChangeOrganization(ctx context.Context, tx Tx, id string, f func(*Organization) error) (*Organization, error) {
	o, err := holdOrganization(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	if err := f(o); err != nil {
		return nil, err
	}
	_, err = tx.exec(ctx, `UPDATE organizations SET name = $1, max_scores = $2, max_bytes = $3, max_open_batches = $4, retention = $5 WHERE id = $6`,
		o.Name, o.Scores, o.Bytes, o.OpenBatches, int64(o.Retention/time.Second), id)
	return o, err
}

// holdOrganization finds an organization and locks its row: an update that
// changes nothing does that in either database.
func holdOrganization(ctx context.Context, tx Tx, id string) (*Organization, error) {
	var o *Organization
	err := tx.each(ctx, func(r row) error {
		o = &Organization{}
		return scanOrganization(r, o)
	}, `UPDATE organizations SET name = name WHERE id = $1 RETURNING `+organizationColumns, id)
	if err == nil && o == nil {
		return nil, ErrNotFound
	}
	return o, err
}

// DeleteOrganization takes an organization away with all that belongs to it. That
// of [SingleUser] stays, empty.
func DeleteOrganization(ctx context.Context, tx Tx, id string) error {
	if _, err := holdOrganization(ctx, tx, id); err != nil {
		return err
	}
	for _, table := range []string{"blobs", "scores"} {
		if err := notePlaces(ctx, tx, table, id); err != nil {
			return err
		}
	}
	// The batches go first, and members, results and events with them; with assignments,
	// what was handed in and decided.
	for _, statement := range []string{
		`DELETE FROM batches WHERE organization_id = $1`,
		`DELETE FROM blobs WHERE organization_id = $1`,
		`DELETE FROM found_harmonies WHERE organization_id = $1`,
		`DELETE FROM found_findings WHERE organization_id = $1`,
		`DELETE FROM found_words WHERE organization_id = $1`,
		`DELETE FROM found_scores WHERE organization_id = $1`,
		`DELETE FROM found_counts WHERE organization_id = $1`,
		`DELETE FROM scores WHERE organization_id = $1`,
		`DELETE FROM assignments WHERE organization_id = $1`,
		`DELETE FROM idempotency_keys WHERE organization_id = $1`,
		`DELETE FROM turns WHERE organization_id = $1`,
		`DELETE FROM webhooks WHERE organization_id = $1`,
		`DELETE FROM lti_invitations WHERE organization_id = $1`,
		`DELETE FROM lti_registrations WHERE organization_id = $1`,
		`DELETE FROM sessions WHERE organization_id = $1`,
		`DELETE FROM api_keys WHERE organization_id = $1`,
	} {
		if _, err := tx.exec(ctx, statement, id); err != nil {
			return err
		}
	}
	if id == SingleUser {
		return nil
	}
	_, err := tx.exec(ctx, `DELETE FROM organizations WHERE id = $1`, id)
	return err
}
