package account

import (
	"context"
	"errors"
	"time"

	"partwright/worker/store"
)

// Role says for whom a browser acts. The names are permanent.
type Role string

// The roles.
const (
	// Operator acts for the whole organization, as its keys do.
	Operator Role = "operator"
	// Teacher and Pupil are persons, named by the subject of their session.
	Teacher Role = "teacher"
	Pupil   Role = "pupil"
)

// Errors of sessions.
var (
	// ErrNoSession is returned for what opens no session, or one that has ended.
	ErrNoSession = errors.New("the session has ended")
	// ErrUsedLink is returned for a link that was used, or is too old.
	ErrUsedLink = errors.New("the link was used or has expired")
)

const (
	// idle is after which pause a session ends: computers at schools are shared.
	idle = 2 * time.Hour
	// linkLifetime is how long a link waits for the browser that it is meant for.
	linkLifetime = 24 * time.Hour
	// maxSessions is how many sessions and links of one key are kept, the newest.
	maxSessions = 1000
)

// DefaultSessionLifetime is how long a browser stays signed in, used or not.
const DefaultSessionLifetime = 12 * time.Hour

// NewSession is a session or a link that is to be made.
type NewSession struct {
	Organization string
	// Key is the id of the key that it lives and dies with; "" where something else
	// knows who comes, and for how long.
	Key string
	// Role is [Operator] if left out. A person has a Subject, which need mean nothing
	// here; a name does not belong there.
	Role    Role
	Subject string
	// Assignment is the one that a pupil's session is for, "" for any.
	Assignment string
	Scopes     []Scope
	// Lifetime is how long the browser stays signed in ([DefaultSessionLifetime]).
	Lifetime time.Duration
}

// Session is one that a browser has begun.
type Session struct {
	// Text opens it. It is given out this once.
	Text    string
	Caller  Caller
	Expires time.Time
}

// SignIn begins a session with a key. The errors are those of [Keeper.Authenticate].
func (k *Keeper) SignIn(ctx context.Context, text string) (*Session, error) {
	caller, err := k.Authenticate(ctx, text)
	if err != nil {
		return nil, err
	}
	return k.Begin(ctx, NewSession{Organization: caller.Organization, Key: caller.Key, Scopes: caller.scopes, Lifetime: k.SessionLifetime})
}

// Begin begins a session for a browser that somebody has vouched for.
func (k *Keeper) Begin(ctx context.Context, n NewSession) (*Session, error) {
	if n.Lifetime == 0 {
		n.Lifetime = DefaultSessionLifetime
	}
	text := newText(sessionPrefix)
	v := sessionOf(n, text)
	v.Begun, v.Expires = k.store.Now(), k.store.Now().Add(n.Lifetime)
	v, err := create(ctx, k.store, v)
	if err != nil {
		return nil, err
	}
	return &Session{Text: text, Caller: callerOf(&v), Expires: v.Expires}, nil
}

// CreateLink makes what begins one session with what a key may do, and returns its text,
// which is given out this once. The error is [store.ErrNotFound] if there is no such key,
// or [ErrRevokedKey] or [ErrExpiredKey].
func CreateLink(ctx context.Context, s *store.Store, key string) (text string, expires time.Time, err error) {
	var found *store.Key
	err = s.Read(ctx, func(tx store.Tx) (err error) {
		found, err = store.KeyByID(ctx, tx, key)
		return err
	})
	if err == nil {
		err = usable(found, s.Now())
	}
	if err != nil {
		return "", expires, err
	}
	text = newText(linkPrefix)
	v := sessionOf(NewSession{Organization: found.Organization, Key: found.ID, Scopes: scopesOf(found.Scopes)}, text)
	v.Expires = s.Now().Add(linkLifetime)
	v, err = create(ctx, s, v)
	return text, v.Expires, err
}

// PersonLink makes what begins one session of a person whom somebody vouches for, until a
// moment. What it returns is given out this once.
func (k *Keeper) PersonLink(ctx context.Context, n NewSession, until time.Time) (text string, err error) {
	text = newText(linkPrefix)
	v := sessionOf(n, text)
	v.Expires = until
	_, err = create(ctx, k.store, v)
	return text, err
}

// FollowLink begins the session that a link stands for, once. The error is [ErrUsedLink],
// or one of the database.
func (k *Keeper) FollowLink(ctx context.Context, link string) (*Session, error) {
	if !wellFormed(linkPrefix, link) {
		return nil, ErrUsedLink
	}
	text, expires := newText(sessionPrefix), k.store.Now().Add(k.SessionLifetime)
	err := k.store.Write(ctx, func(tx store.Tx) error {
		_, err := k.store.BeginSession(ctx, tx, hashOf(link), hashOf(text), expires)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return nil, ErrUsedLink
	}
	if err != nil {
		return nil, err
	}
	// Only now is asked whether its key still works.
	caller, expires, err := k.Resume(ctx, text)
	if errors.Is(err, ErrNoSession) {
		return nil, ErrUsedLink
	}
	return &Session{Text: text, Caller: caller, Expires: expires}, err
}

// Resume tells who a browser belongs to, by the text that its session began with. The error
// is [ErrNoSession], or one of the database.
func (k *Keeper) Resume(ctx context.Context, text string) (caller Caller, expires time.Time, err error) {
	if !wellFormed(sessionPrefix, text) {
		return Caller{}, expires, ErrNoSession
	}
	found, err := k.findSession(ctx, hashOf(text))
	if errors.Is(err, store.ErrNotFound) {
		return Caller{}, expires, ErrNoSession
	}
	if err != nil {
		return Caller{}, expires, err
	}
	now := k.store.Now()
	k.mu.Lock()
	defer k.mu.Unlock()
	if found.over(now, k.lastUse(found.session)) {
		return Caller{}, expires, ErrNoSession
	}
	k.usedSessions[found.session.ID] = now
	if found.key != nil {
		k.used[found.key.ID] = now
	}
	return callerOf(found.session), found.session.Expires, nil
}

// Lasts is [ErrNoSession] once the session that a text opened has ended, was idle too long,
// or has lost its key. Unlike [Keeper.Resume] it counts as no use of it: a stream of events
// that is open keeps nobody signed in.
func (k *Keeper) Lasts(ctx context.Context, text string) error {
	found, err := k.findSession(ctx, hashOf(text))
	if errors.Is(err, store.ErrNotFound) {
		return ErrNoSession
	}
	if err != nil {
		return err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if found.over(k.store.Now(), k.lastUse(found.session)) {
		return ErrNoSession
	}
	return nil
}

// OrganizationName is what the organization of a caller is called. The error is
// [store.ErrNotFound] if it is there no more.
func (k *Keeper) OrganizationName(ctx context.Context, c Caller) (string, error) {
	var name string
	err := k.store.Read(ctx, func(tx store.Tx) error {
		o, err := store.OrganizationByID(ctx, tx, c.Organization)
		if err == nil {
			name = o.Name
		}
		return err
	})
	return name, err
}

// End signs a browser out. Other processes may go on for as long as they trust what they
// have looked up.
func (k *Keeper) End(ctx context.Context, c Caller) error {
	k.mu.Lock()
	for hash, found := range k.sessions {
		if found.session.ID == c.Session {
			delete(k.sessions, hash)
		}
	}
	delete(k.usedSessions, c.Session)
	k.mu.Unlock()
	return k.store.Write(ctx, func(tx store.Tx) error { return store.DeleteSession(ctx, tx, c.Session) })
}

// knownSession is a session with the key that it depends on, nil for none.
type knownSession struct {
	session *store.Session
	key     *store.Key
	until   time.Time
}

// lastUse is when a session was used last, written down or not yet. The lock is held.
func (k *Keeper) lastUse(s *store.Session) time.Time {
	if used := k.usedSessions[s.ID]; used.After(s.LastUsed) {
		return used
	}
	return s.LastUsed
}

// over tells whether a session that was used last at a time opens nothing any more.
func (s *knownSession) over(now, last time.Time) bool {
	return !now.Before(s.session.Expires) || now.Sub(last) >= idle || s.key != nil && usable(s.key, now) != nil
}

// findSession looks a session up with its key, at most once in a while.
func (k *Keeper) findSession(ctx context.Context, hash string) (knownSession, error) {
	now := k.store.Now()
	k.mu.Lock()
	found, ok := k.sessions[hash]
	k.mu.Unlock()
	if ok && now.Before(found.until) {
		return found, nil
	}
	err := k.store.Read(ctx, func(tx store.Tx) (err error) {
		found = knownSession{until: now.Add(trust)}
		if found.session, err = store.SessionByHash(ctx, tx, hash); err == nil && found.session.Key != "" {
			found.key, err = store.KeyByID(ctx, tx, found.session.Key)
		}
		return err
	})
	if err != nil {
		return found, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.sessions[hash] = found
	return found, nil
}

// usable returns why a key works no longer, if so.
func usable(key *store.Key, now time.Time) error {
	switch {
	case !key.Revoked.IsZero():
		return ErrRevokedKey
	case !key.Expires.IsZero() && !now.Before(key.Expires):
		return ErrExpiredKey
	}
	return nil
}

func sessionOf(n NewSession, text string) store.Session {
	if n.Role == "" {
		n.Role = Operator
	}
	return store.Session{
		Organization: n.Organization, Key: n.Key, Hash: hashOf(text),
		Role: string(n.Role), Subject: n.Subject, Assignment: n.Assignment, Scopes: ScopeNames(n.Scopes),
	}
}

// create writes a session or link; of one key only the newest stay.
func create(ctx context.Context, s *store.Store, v store.Session) (store.Session, error) {
	err := s.Write(ctx, func(tx store.Tx) error {
		created, err := s.CreateSession(ctx, tx, v)
		if err != nil {
			return err
		}
		v = created
		if v.Key == "" {
			return nil
		}
		return store.DeleteOldSessions(ctx, tx, v.Key, maxSessions)
	})
	return v, err
}

func callerOf(v *store.Session) Caller {
	return Caller{
		Organization: v.Organization, Key: v.Key, Session: v.ID,
		Role: Role(v.Role), Subject: v.Subject, Assignment: v.Assignment, scopes: scopesOf(v.Scopes),
	}
}

func scopesOf(names []string) []Scope {
	scopes := make([]Scope, len(names))
	for i, name := range names {
		scopes[i] = Scope(name)
	}
	return scopes
}
