package store

import (
	"context"
	"crypto/rand"
	"strings"
	"time"
)

// Key is an API key of an organization. The key itself is not kept.
type Key struct {
	ID, Organization string
	// Name says to its owner what the key is for.
	Name string
	// Hash finds the key; see package account.
	Hash   string
	Scopes []string
	// Expires, LastUsed and Revoked are zero for never.
	Created, Expires, LastUsed, Revoked time.Time
}

const keyColumns = `id, organization_id, name, hash, scopes, created, expires, last_used, revoked`

func scanKey(r row, k *Key) error {
	var scopes string
	var created, expires, used, revoked int64
	err := r.Scan(&k.ID, &k.Organization, &k.Name, &k.Hash, &scopes, &created, &expires, &used, &revoked)
	k.Scopes = strings.Fields(scopes)
	k.Created, k.Expires, k.LastUsed, k.Revoked = moment(created), moment(expires), moment(used), moment(revoked)
	return err
}

// CreateKey writes a key and gives it an id. The error is [ErrNotFound] if there
// is no such organization.
func (s *Store) CreateKey(ctx context.Context, tx Tx, k Key) (Key, error) {
	if _, err := holdOrganization(ctx, tx, k.Organization); err != nil {
		return k, err
	}
	k.ID, k.Created, k.Expires = rand.Text(), moment(micros(s.now())), moment(micros(k.Expires))
	_, err := tx.exec(ctx, `INSERT INTO api_keys (id, organization_id, name, hash, scopes, created, expires) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		k.ID, k.Organization, k.Name, k.Hash, strings.Join(k.Scopes, " "), micros(k.Created), micros(k.Expires))
	return k, err
}

// KeyByHash finds a key, whatever became of it.
func KeyByHash(ctx context.Context, tx Tx, hash string) (*Key, error) {
	return oneKey(keys(ctx, tx, `WHERE hash = $1`, hash))
}

// KeyByID finds a key, whatever became of it.
func KeyByID(ctx context.Context, tx Tx, id string) (*Key, error) {
	return oneKey(keys(ctx, tx, `WHERE id = $1`, id))
}

func oneKey(all []Key, err error) (*Key, error) {
	if err == nil && len(all) == 0 {
		return nil, ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	return &all[0], nil
}

// Keys lists the keys of an organization, the oldest first.
func Keys(ctx context.Context, tx Tx, organization string) ([]Key, error) {
	return keys(ctx, tx, `WHERE organization_id = $1 ORDER BY created, id`, organization)
}

func keys(ctx context.Context, tx Tx, which string, args ...any) ([]Key, error) {
	var all []Key
	err := tx.each(ctx, func(r row) error {
		var k Key
		err := scanKey(r, &k)
		all = append(all, k)
		return err
	}, `SELECT `+keyColumns+` FROM api_keys `+which, args...)
	return all, err
}

// RevokeKey ends a key for good; one that was revoked keeps its moment.
func (s *Store) RevokeKey(ctx context.Context, tx Tx, id string) error {
	n, err := tx.exec(ctx, `UPDATE api_keys SET revoked = CASE WHEN revoked = 0 THEN $1 ELSE revoked END WHERE id = $2`, micros(s.now()), id)
	if err == nil && n == 0 {
		return ErrNotFound
	}
	return err
}

// UseKey notes when a key was last used.
func UseKey(ctx context.Context, tx Tx, id string, at time.Time) error {
	_, err := tx.exec(ctx, `UPDATE api_keys SET last_used = $1 WHERE id = $2 AND last_used < $1`, micros(at), id)
	return err
}
