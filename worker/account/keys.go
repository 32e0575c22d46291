package account

import (
	"context"
	"errors"
	"time"

	"partwright/worker/store"
)

// NewKey is a key that is to be made.
type NewKey struct {
	Organization string
	// Name says to its owner what the key is for.
	Name   string
	Scopes []Scope
	// Lifetime is how long it works, 0 for ever.
	Lifetime time.Duration
}

// CreateKey makes a key and returns its text, which is shown this once: only a
// hash of it is kept. The error is [store.ErrNotFound] if there is no such
// organization.
func CreateKey(ctx context.Context, s *store.Store, n NewKey) (text string, key store.Key, err error) {
	if n.Lifetime < 0 {
		return "", key, errors.New("a key cannot expire before it is made")
	}
	text = newText(prefix)
	key = store.Key{Organization: n.Organization, Name: n.Name, Hash: hashOf(text), Scopes: ScopeNames(n.Scopes)}
	if n.Lifetime > 0 {
		key.Expires = s.Now().Add(n.Lifetime)
	}
	err = s.Write(ctx, func(tx store.Tx) error {
		created, err := s.CreateKey(ctx, tx, key)
		if err == nil {
			key = created
		}
		return err
	})
	return text, key, err
}
