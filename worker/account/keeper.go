// Package account knows who may use the service: it makes API keys, tells whose a
// key is, signs browsers in, and lets go of what organizations no longer want kept.
// Begin with [New].
//
// It knows nothing of HTTP; how a key arrives and how a refusal reads is for the
// caller.
package account

import (
	"cmp"
	"context"
	"errors"
	"log/slog"
	"maps"
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
	// Key is the id of the key, "" without accounts, and for a session without one.
	Key string
	// Session is the id of the session, "" for what is no browser that is signed in.
	Session string
	// Role and Subject are those of the session; who shows a key is an [Operator].
	Role    Role
	Subject string
	// Course is that of a learning system in which the person teaches, "" for none.
	Course string
	// Assignment is the one that a pupil may see and hand in to, "" for any.
	Assignment string
	scopes     []Scope
}

// TeachesAs lists by what texts assignments are given to the caller: as a person or by the
// key, and through the course.
func (c Caller) TeachesAs() []string {
	as := []string{}
	for _, text := range []string{cmp.Or(c.Subject, c.Key), c.Course} {
		if text != "" {
			as = append(as, text)
		}
	}
	return as
}

// SingleUser is the caller where there are no accounts: all is theirs.
var SingleUser = Caller{Organization: store.SingleUser, Role: Operator, scopes: Scopes}

// Person is the caller for whom something other than a key or a session of ours has
// vouched.
func Person(organization string, role Role, subject string, scopes ...Scope) Caller {
	return Caller{Organization: organization, Role: role, Subject: subject, scopes: scopes}
}

// Scopes are what the caller may do.
func (c Caller) Scopes() []Scope { return slices.Clone(c.scopes) }

// May tells whether the caller has a scope.
func (c Caller) May(s Scope) bool { return slices.Contains(c.scopes, s) }

// trust is how long a key counts as good without asking the database again: a
// revoked one works no longer than that.
const trust = 5 * time.Second

// Keeper tells whose a key is. It is safe for concurrent use.
type Keeper struct {
	// SessionLifetime is how long a browser stays signed in with a key or by a link.
	SessionLifetime time.Duration

	store  *store.Store
	logger *slog.Logger

	mu           sync.Mutex
	known        map[string]known        // by hash
	sessions     map[string]knownSession // by hash
	used         map[string]time.Time    // by the id of the key
	usedSessions map[string]time.Time    // by id
	forgot       time.Time               // when sessions that had ended were let go of
}

type known struct {
	key   *store.Key
	until time.Time
}

// New returns a keeper of the accounts in a store. [Keeper.Run] must run beside
// it.
func New(s *store.Store, logger *slog.Logger) *Keeper {
	return &Keeper{
		SessionLifetime: DefaultSessionLifetime, store: s, logger: logger,
		known: map[string]known{}, sessions: map[string]knownSession{}, used: map[string]time.Time{}, usedSessions: map[string]time.Time{},
	}
}

// Authenticate tells who a key belongs to. The error is [ErrUnknownKey],
// [ErrExpiredKey], [ErrRevokedKey], or one of the database.
func (k *Keeper) Authenticate(ctx context.Context, text string) (Caller, error) {
	if !wellFormed(prefix, text) {
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
	if err := usable(key, now); err != nil {
		return Caller{}, err
	}
	k.mu.Lock()
	k.used[key.ID] = now
	k.mu.Unlock()
	return Caller{Organization: key.Organization, Key: key.ID, Role: Operator, scopes: scopesOf(key.Scopes)}, nil
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

// Flush writes down when keys and sessions were last used, lets go of sessions that have
// ended, and forgets what is out of date.
func (k *Keeper) Flush(ctx context.Context) error {
	now := k.store.Now()
	k.mu.Lock()
	used, sessions := k.used, k.usedSessions
	k.used, k.usedSessions = map[string]time.Time{}, map[string]time.Time{}
	maps.DeleteFunc(k.known, func(_ string, found known) bool { return !now.Before(found.until) })
	maps.DeleteFunc(k.sessions, func(_ string, found knownSession) bool { return !now.Before(found.until) })
	for _, found := range k.sessions {
		if at := sessions[found.session.ID]; at.After(found.session.LastUsed) {
			found.session.LastUsed = at
		}
	}
	forget := now.Sub(k.forgot) >= forgetEvery
	if forget {
		k.forgot = now
	}
	k.mu.Unlock()
	if len(used)+len(sessions) == 0 && !forget {
		return nil
	}
	return k.store.Write(ctx, func(tx store.Tx) error {
		for id, at := range used {
			if err := store.UseKey(ctx, tx, id, at); err != nil {
				return err
			}
		}
		for id, at := range sessions {
			if err := store.UseSession(ctx, tx, id, at); err != nil {
				return err
			}
		}
		if !forget {
			return nil
		}
		_, err := k.store.ForgetSessions(ctx, tx, now.Add(-idle))
		return err
	})
}
