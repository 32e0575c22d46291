package store

import (
	"context"
	"errors"
	"time"
)

// ErrKeyReused is returned for an idempotency key that came before with another
// request.
var ErrKeyReused = errors.New("the idempotency key was used for another request")

// Remembered returns the answer that a request with this key got before, or
// [ErrNotFound]. The fingerprint stands for the content of the request; if it is
// another, the error is [ErrKeyReused].
func Remembered(ctx context.Context, tx Tx, organization, key, fingerprint string) (answer string, err error) {
	var before string
	err = one(ctx, tx, []any{&before, &answer},
		`SELECT fingerprint, answer FROM idempotency_keys WHERE organization_id = $1 AND key = $2`, organization, key)
	if err == nil && before != fingerprint {
		return "", ErrKeyReused
	}
	return answer, err
}

// Remember keeps the answer with the effect of the request, in one transaction.
// It returns false if another request with the key came first: the transaction
// must then be given up, and the answer is [Remembered].
func (s *Store) Remember(ctx context.Context, tx Tx, organization, key, fingerprint, answer string) (bool, error) {
	n, err := tx.exec(ctx, `INSERT INTO idempotency_keys (organization_id, key, fingerprint, answer, created) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (organization_id, key) DO NOTHING`, organization, key, fingerprint, answer, micros(s.now()))
	return n == 1, err
}

// ForgetKeys takes away the keys that were used before a moment.
func ForgetKeys(ctx context.Context, tx Tx, before time.Time) (int64, error) {
	return tx.exec(ctx, `DELETE FROM idempotency_keys WHERE created < $1`, micros(before))
}
