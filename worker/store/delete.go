package store

import (
	"context"
	"errors"
	"slices"
)

// deletedAtOnce is how many scores of a batch are deleted in one transaction: others
// write in between, and what is held in memory does not grow with the batch.
const deletedAtOnce = 500

// DeleteBatch takes a batch away with its results, and the scores that no other batch of
// the organization has. Nobody finds it once this has begun; where it is broken off,
// [Store.FinishDeletion] goes on.
func (s *Store) DeleteBatch(ctx context.Context, organization, id string) error {
	err := s.Write(ctx, func(tx Tx) error {
		n, err := tx.exec(ctx, `UPDATE batches SET deleted = $1 WHERE id = $2 AND organization_id = $3 AND deleted = 0`, micros(s.now()), id, organization)
		if err == nil && n == 0 {
			err = ErrNotFound
		}
		return err
	})
	if err != nil {
		return err
	}
	return s.FinishDeletion(ctx, organization, id)
}

// FinishDeletion deletes what is left of a batch whose deletion has begun, in steps.
func (s *Store) FinishDeletion(ctx context.Context, organization, id string) error {
	for done := false; !done; {
		err := s.Write(ctx, func(tx Tx) (err error) {
			done, err = deleteSome(ctx, tx, organization, id)
			return err
		})
		if errors.Is(err, ErrNotFound) {
			return nil // another process went on with it
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// Deletions finds the batches whose deletion has begun and not ended.
func Deletions(ctx context.Context, tx Tx, limit int) ([]*Batch, error) {
	return listBatches(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE deleted <> 0 ORDER BY deleted, id LIMIT $1`, limit)
}

// deleteSome deletes the first scores of a batch that is to go, or the batch itself once
// there are none.
func deleteSome(ctx context.Context, tx Tx, organization, id string) (done bool, err error) {
	var held string
	err = one(ctx, tx, []any{&held}, `UPDATE batches SET state = state WHERE id = $1 AND organization_id = $2 AND deleted <> 0 RETURNING id`, id, organization)
	if err != nil {
		return false, err
	}
	var hashes []string
	n, last := 0, int64(0)
	err = tx.each(ctx, func(r row) error {
		var hash *string
		err := r.Scan(&last, &hash)
		if n++; hash != nil {
			hashes = append(hashes, *hash)
		}
		return err
	}, `SELECT number, score_hash FROM members WHERE batch_id = $1 ORDER BY number LIMIT $2`, id, deletedAtOnce)
	if err != nil {
		return false, err
	}
	if n == 0 {
		if err := forgetAllFound(ctx, tx, organization, id); err != nil {
			return false, err
		}
		_, err := tx.exec(ctx, `DELETE FROM batches WHERE id = $1`, id)
		return true, err
	}
	for _, table := range foundTables {
		if _, err := tx.exec(ctx, `DELETE FROM `+table+` WHERE organization_id = $1 AND batch_id = $2 AND number <= $3`, organization, id, last); err != nil {
			return false, err
		}
	}
	names, err := namesOf(ctx, tx, `r.batch_id = $1 AND r.number <= $2`, id, last)
	if err != nil {
		return false, err
	}
	if _, err := tx.exec(ctx, `DELETE FROM members WHERE batch_id = $1 AND number <= $2`, id, last); err != nil {
		return false, err
	}
	if err := release(ctx, tx, organization, names); err != nil {
		return false, err
	}
	slices.Sort(hashes)
	return false, forgetScores(ctx, tx, organization, slices.Compact(hashes))
}
