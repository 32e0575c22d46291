package ltitest

import (
	"context"
	"crypto/rand"
	"sync"
	"time"

	"partwright/api/lti"
	"partwright/worker/store"
)

// Memory keeps what a tool keeps as long as a test takes. Clock is nil for [time.Now].
type Memory struct {
	Clock         func() time.Time
	mu            sync.Mutex
	registrations []lti.Registration
	deployments   map[[2]string]bool
	logins        map[string]*lti.Login
	keys          []lti.Key
	invitations   map[string]string
	sessions      map[string]lti.Session
}

var _ lti.Store = (*Memory)(nil)

// Now is the moment of the clock.
func (m *Memory) Now() time.Time {
	if m.Clock != nil {
		return m.Clock()
	}
	return time.Now()
}

// Invite lets an organization's learning system be registered with the secret returned.
func (m *Memory) Invite(organization string) string {
	secret, hash := lti.NewInvitation()
	m.mu.Lock()
	defer m.mu.Unlock()
	put(&m.invitations, hash, organization)
	return secret
}

func put[K comparable, V any](into *map[K]V, key K, value V) {
	if *into == nil {
		*into = map[K]V{}
	}
	(*into)[key] = value
}

// Registrations implements [lti.Store].
func (m *Memory) Registrations(_ context.Context, issuer, client string) ([]lti.Registration, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var all []lti.Registration
	for _, r := range m.registrations {
		if r.Issuer == issuer && (client == "" || r.ClientID == client) {
			all = append(all, r)
		}
	}
	return all, nil
}

// Registration implements [lti.Store].
func (m *Memory) Registration(_ context.Context, id string) (*lti.Registration, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, r := range m.registrations {
		if r.ID == id {
			return &r, nil
		}
	}
	return nil, store.ErrNotFound
}

// Register implements [lti.Store].
func (m *Memory) Register(_ context.Context, r lti.Registration, deployments ...string) (*lti.Registration, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	r.ID = rand.Text()
	m.registrations = append(m.registrations, r)
	for _, d := range deployments {
		put(&m.deployments, [2]string{r.ID, d}, true)
	}
	return &r, nil
}

// KnowsDeployment implements [lti.Store].
func (m *Memory) KnowsDeployment(_ context.Context, registration, deployment string) (bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.deployments[[2]string{registration, deployment}], nil
}

// AddLogin implements [lti.Store].
func (m *Memory) AddLogin(_ context.Context, l lti.Login) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	put(&m.logins, l.State, &l)
	return nil
}

// Login implements [lti.Store].
func (m *Memory) Login(_ context.Context, state string) (*lti.Login, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	l, found := m.logins[state]
	if !found || l.Expires.Before(m.Now()) {
		return nil, store.ErrNotFound
	}
	copied := *l
	return &copied, nil
}

// UseLogin implements [lti.Store].
func (m *Memory) UseLogin(_ context.Context, state string) (bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	l := m.logins[state]
	first := l != nil && !l.Used
	if first {
		l.Used = true
	}
	return first, nil
}

// Keys implements [lti.Store].
func (m *Memory) Keys(context.Context) ([]lti.Key, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]lti.Key(nil), m.keys...), nil
}

// AddKey implements [lti.Store].
func (m *Memory) AddKey(_ context.Context, k lti.Key, before time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	var kept []lti.Key
	for _, one := range m.keys {
		if !one.Created.Before(before) {
			kept = append(kept, one)
		}
	}
	m.keys = append(kept, k)
	return nil
}

// Invitation implements [lti.Store].
func (m *Memory) Invitation(_ context.Context, hash string, used bool) (string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	organization, found := m.invitations[hash]
	if !found {
		return "", store.ErrNotFound
	}
	if used {
		delete(m.invitations, hash)
	}
	return organization, nil
}

// AddSession implements [lti.Store].
func (m *Memory) AddSession(_ context.Context, s lti.Session) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	put(&m.sessions, s.Hash, s)
	return nil
}

// EndSession implements [lti.Store].
func (m *Memory) EndSession(_ context.Context, hash string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.sessions, hash)
	return nil
}

// Session implements [lti.Store].
func (m *Memory) Session(_ context.Context, hash string) (*lti.Session, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	s, found := m.sessions[hash]
	if !found || s.Expires.Before(m.Now()) {
		return nil, store.ErrNotFound
	}
	return &s, nil
}
