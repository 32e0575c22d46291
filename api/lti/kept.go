package lti

import (
	"context"
	"time"

	"partwright/worker/store"
)

// Keep keeps everything in the service's database.
func Keep(s *store.Store) Store { return &kept{s} }

type kept struct{ *store.Store }

var _ Store = (*kept)(nil)

// reading runs f in a transaction that reads, and writing in one that writes.
func reading[T any](ctx context.Context, k *kept, f func(store.Tx) (T, error)) (out T, err error) {
	err = k.Read(ctx, func(tx store.Tx) error {
		out, err = f(tx)
		return err
	})
	return out, err
}

func writing[T any](ctx context.Context, k *kept, f func(store.Tx) (T, error)) (out T, err error) {
	err = k.Write(ctx, func(tx store.Tx) error {
		out, err = f(tx)
		return err
	})
	return out, err
}

func (k *kept) Registrations(ctx context.Context, issuer, client string) ([]Registration, error) {
	return reading(ctx, k, func(tx store.Tx) ([]Registration, error) { return store.LTIRegistrationsFrom(ctx, tx, issuer, client) })
}

func (k *kept) Registration(ctx context.Context, id string) (*Registration, error) {
	return reading(ctx, k, func(tx store.Tx) (*Registration, error) { return store.LTIRegistrationByID(ctx, tx, id) })
}

func (k *kept) Register(ctx context.Context, r Registration, deployments ...string) (*Registration, error) {
	return writing(ctx, k, func(tx store.Tx) (*Registration, error) { return k.AddLTIRegistration(ctx, tx, r, deployments...) })
}

func (k *kept) KnowsDeployment(ctx context.Context, registration, deployment string) (bool, error) {
	return reading(ctx, k, func(tx store.Tx) (bool, error) { return store.KnowsLTIDeployment(ctx, tx, registration, deployment) })
}

func (k *kept) AddLogin(ctx context.Context, l Login) error {
	return k.Write(ctx, func(tx store.Tx) error { return k.AddLTILogin(ctx, tx, l) })
}

func (k *kept) Login(ctx context.Context, state string) (*Login, error) {
	return reading(ctx, k, func(tx store.Tx) (*Login, error) { return k.LTILoginByState(ctx, tx, state) })
}

func (k *kept) UseLogin(ctx context.Context, state string) (bool, error) {
	return writing(ctx, k, func(tx store.Tx) (bool, error) { return k.UseLTILogin(ctx, tx, state) })
}

func (k *kept) Keys(ctx context.Context) ([]Key, error) {
	return reading(ctx, k, func(tx store.Tx) ([]Key, error) { return store.LTIKeys(ctx, tx) })
}

func (k *kept) AddKey(ctx context.Context, key Key, before time.Time) error {
	return k.Write(ctx, func(tx store.Tx) error { return store.AddLTIKey(ctx, tx, key, before) })
}

func (k *kept) Invitation(ctx context.Context, hash string, used bool) (string, error) {
	if !used {
		return reading(ctx, k, func(tx store.Tx) (string, error) { return k.LTIInvitation(ctx, tx, hash, false) })
	}
	return writing(ctx, k, func(tx store.Tx) (string, error) { return k.LTIInvitation(ctx, tx, hash, true) })
}

func (k *kept) AddSession(ctx context.Context, s Session) error {
	return k.Write(ctx, func(tx store.Tx) error { return k.AddLTISession(ctx, tx, s) })
}

func (k *kept) EndSession(ctx context.Context, hash string) error {
	return k.Write(ctx, func(tx store.Tx) error { return k.EndLTISession(ctx, tx, hash) })
}

func (k *kept) Session(ctx context.Context, hash string) (*Session, error) {
	return reading(ctx, k, func(tx store.Tx) (*Session, error) { return k.LTISessionByHash(ctx, tx, hash) })
}
