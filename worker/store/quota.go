package store

import (
	"context"
	"fmt"
	"time"
)

// Usage is what an organization has.
type Usage struct{ Scores, Bytes, OpenBatches int64 }

// UsageOf counts what an organization has, in batches and handed in.
func UsageOf(ctx context.Context, tx Tx, organization string) (Usage, error) {
	return usageBeside(ctx, tx, organization, "")
}

// usageBeside leaves out one batch.
func usageBeside(ctx context.Context, tx Tx, organization, batch string) (u Usage, err error) {
	// PostgreSQL's sum of BIGINT is a NUMERIC.
	err = one(ctx, tx, []any{&u.Scores, &u.Bytes, &u.OpenBatches}, `SELECT CAST(coalesce(sum(total), 0) AS BIGINT),
		CAST(coalesce(sum(bytes), 0) AS BIGINT), CAST(coalesce(sum(CASE WHEN state = 'open' THEN 1 ELSE 0 END), 0) AS BIGINT)
		FROM batches WHERE organization_id = $1 AND id <> $2 AND deleted = 0`, organization, batch)
	if err != nil {
		return u, err
	}
	var handIns, bytes int64
	err = one(ctx, tx, []any{&handIns, &bytes}, `SELECT count(*), CAST(coalesce(sum(length(score)), 0) AS BIGINT) FROM hand_ins WHERE organization_id = $1`, organization)
	u.Scores, u.Bytes = u.Scores+handIns, u.Bytes+bytes
	return u, err
}

// admitHandIn checks what was handed in, and is written already, against the quotas.
func admitHandIn(ctx context.Context, tx Tx, organization string) error {
	o, err := OrganizationByID(ctx, tx, organization)
	if err != nil || o.Scores == 0 && o.Bytes == 0 {
		return err
	}
	if o, err = holdOrganization(ctx, tx, organization); err != nil {
		return err
	}
	used, err := UsageOf(ctx, tx, organization)
	if err != nil {
		return err
	}
	switch {
	case o.Scores > 0 && used.Scores > o.Scores:
		return &QuotaError{"scores", o.Scores}
	case o.Bytes > 0 && used.Bytes > o.Bytes:
		return &QuotaError{"bytes", o.Bytes}
	}
	return nil
}

// OrganizationByID finds an organization.
func OrganizationByID(ctx context.Context, tx Tx, id string) (*Organization, error) {
	var o *Organization
	err := tx.each(ctx, func(r row) error {
		o = &Organization{}
		return scanOrganization(r, o)
	}, `SELECT `+organizationColumns+` FROM organizations WHERE id = $1`, id)
	if err == nil && o == nil {
		return nil, ErrNotFound
	}
	return o, err
}

// QuotaError is returned for what would go beyond a quota. The transaction must be
// given up.
type QuotaError struct {
	// What is counted: scores, bytes, or open batches.
	What  string
	Quota int64
}

// Error implements error.
func (e *QuotaError) Error() string {
	return fmt.Sprintf("the organization has reached its quota of %d %s", e.Quota, e.What)
}

// admit checks a batch that is to be written against the quotas of its
// organization. What was accepted is answered even if its results go beyond.
func admit(ctx context.Context, tx Tx, b *Batch) error {
	o, err := OrganizationByID(ctx, tx, b.Organization)
	if err != nil {
		return err
	}
	if o.Scores == 0 && o.Bytes == 0 && o.OpenBatches == 0 {
		return nil
	}
	// Of two that add at once, the second must see what the first has added.
	if o, err = holdOrganization(ctx, tx, b.Organization); err != nil {
		return err
	}
	used, err := usageBeside(ctx, tx, b.Organization, b.ID)
	if err != nil {
		return err
	}
	open := int64(0)
	if b.State == BatchOpen {
		open = 1
	}
	for _, q := range []struct {
		what        string
		quota, used int64
	}{
		{"scores", o.Scores, used.Scores + b.Total},
		{"bytes", o.Bytes, used.Bytes + b.Bytes},
		{"open batches", o.OpenBatches, used.OpenBatches + open},
	} {
		if q.quota > 0 && q.used > q.quota {
			return &QuotaError{q.what, q.quota}
		}
	}
	return nil
}

// PastRetention finds the batches in which nothing has happened for longer than
// their organization keeps them, or than the fallback where it says nothing (0 is
// for ever), at most limit. One whose scores still wait for an answer is kept,
// unless it is open and forgotten; that a score was deleted keeps none for longer.
func (s *Store) PastRetention(ctx context.Context, tx Tx, fallback time.Duration, limit int) ([]*Batch, error) {
	return listBatches(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE deleted = 0 AND state <> 'closed' AND receiver = ''
		AND EXISTS (SELECT 1 FROM organizations o WHERE o.id = batches.organization_id
			AND CASE WHEN o.retention > 0 THEN o.retention ELSE $1 END > 0
			AND batches.created < $2 - 1000000 * CASE WHEN o.retention > 0 THEN o.retention ELSE $1 END
			AND NOT EXISTS (SELECT 1 FROM events e WHERE e.batch_id = batches.id AND e.kind <> 'score-deleted'
				AND e.created >= $2 - 1000000 * CASE WHEN o.retention > 0 THEN o.retention ELSE $1 END))
		ORDER BY created LIMIT $3`, int64(fallback/time.Second), micros(s.now()), limit)
}

// IdleBatches finds the batches of an organization in which nothing has happened
// for a while. One whose scores still wait for an answer is left out, unless it is
// open and forgotten.
func (s *Store) IdleBatches(ctx context.Context, tx Tx, organization string, since time.Duration) ([]*Batch, error) {
	return listBatches(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE organization_id = $1 AND deleted = 0 AND state <> 'closed' AND receiver = ''
		AND created < $2 AND NOT EXISTS (SELECT 1 FROM events e WHERE e.batch_id = batches.id AND e.kind <> 'score-deleted' AND e.created >= $2)
		ORDER BY created`, organization, micros(s.now().Add(-since)))
}

// forgetScores deletes those of some scores that no batch of the organization has
// any more.
func forgetScores(ctx context.Context, tx Tx, organization string, hashes []string) error {
	return inGroups(hashes, func(list string, args []any) error {
		return deleteKept(ctx, tx, `DELETE FROM scores WHERE organization_id = $1 AND hash IN (`+list+`) AND NOT EXISTS (
			SELECT 1 FROM members m WHERE m.organization_id = scores.organization_id AND m.score_hash = scores.hash)`, append([]any{organization}, args...)...)
	})
}
