// Package account knows who may use the service: it makes API keys, tells whose a
// key is, and lets go of what organizations no longer want kept. Begin with [New].
//
// It knows nothing of HTTP; how a key arrives and how a refusal reads is for the
// caller.
package account

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"sync"
	"time"

	"partwright/worker/store"
)

// Errors of [Keeper.Authenticate].
var (
	// ErrUnknownKey is returned for what is no key, or no longer one of ours.
	ErrUnknownKey = errors.New("the key is unknown")
	ErrExpiredKey = errors.New("the key has expired")
	ErrRevokedKey = errors.New("the key was revoked")
)

// Caller is who a request comes from.
type Caller struct {
	Organization string
	// Key is the id of the key, empty without accounts.
	Key    string
	scopes []Scope
}

// SingleUser is the caller where there are no accounts: all is theirs.
var SingleUser = Caller{Organization: store.SingleUser, scopes: Scopes}

// May tells whether the caller has a scope.
func (c Caller) May(s Scope) bool { return slices.Contains(c.scopes, s) }

// trust is how long a key counts as good without asking the database again: a
// revoked one works no longer than that.
const trust = 5 * time.Second

// Keeper tells whose a key is. It is safe for concurrent use.
type Keeper struct {
	store  *store.Store
	logger *slog.Logger

	mu    sync.Mutex
	known map[string]known // by hash
	used  map[string]time.Time
}

type known struct {
	key   *store.Key
	until time.Time
}

// New returns a keeper of the accounts in a store. [Keeper.Run] must run beside
// it.
func New(s *store.Store, logger *slog.Logger) *Keeper {
	return &Keeper{store: s, logger: logger, known: map[string]known{}, used: map[string]time.Time{}}
}

// Authenticate tells who a key belongs to. The error is [ErrUnknownKey],
// [ErrExpiredKey], [ErrRevokedKey], or one of the database.
func (k *Keeper) Authenticate(ctx context.Context, text string) (Caller, error) {
	if !wellFormed(text) {
		return Caller{}, ErrUnknownKey
	}
	key, err := k.find(ctx, hashOf(text))
	if errors.Is(err, store.ErrNotFound) {
		return Caller{}, ErrUnknownKey
	}
	if err != nil {
		return Caller{}, err
	}
	now := k.store.Now()
	switch {
	case !key.Revoked.IsZero():
		return Caller{}, ErrRevokedKey
	case !key.Expires.IsZero() && !now.Before(key.Expires):
		return Caller{}, ErrExpiredKey
	}
	k.mu.Lock()
	k.used[key.ID] = now
	k.mu.Unlock()
	caller := Caller{Organization: key.Organization, Key: key.ID}
	for _, name := range key.Scopes {
		caller.scopes = append(caller.scopes, Scope(name))
	}
	return caller, nil
}

// find looks a key up, at most once in a while. Only keys that exist are kept in
// mind, so that guesses take no memory.
func (k *Keeper) find(ctx context.Context, hash string) (*store.Key, error) {
	now := k.store.Now()
	k.mu.Lock()
	found, ok := k.known[hash]
	k.mu.Unlock()
	if ok && now.Before(found.until) {
		return found.key, nil
	}
	err := k.store.Read(ctx, func(tx store.Tx) (err error) {
		found.key, err = store.KeyByHash(ctx, tx, hash)
		return err
	})
	if err != nil {
		return nil, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.known[hash] = known{found.key, now.Add(trust)}
	return found.key, nil
}

// Flush writes down when keys were last used, and forgets what is out of date.
func (k *Keeper) Flush(ctx context.Context) error {
	now := k.store.Now()
	k.mu.Lock()
	used := k.used
	k.used = map[string]time.Time{}
	for hash, found := range k.known {
		if !now.Before(found.until) {
			delete(k.known, hash)
		}
	}
	k.mu.Unlock()
	if len(used) == 0 {
		return nil
	}
	return k.store.Write(ctx, func(tx store.Tx) error {
		for id, at := range used {
			if err := store.UseKey(ctx, tx, id, at); err != nil {
				return err
			}
		}
		return nil
	})
}
