package lti_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"partwright/api/lti"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// A registration is its organization's, named by issuer and client id.
func TestRegistrationsInTheDatabase(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := storetest.Open(t, c)
		k, ctx := lti.Keep(s), t.Context()
		err := s.Write(ctx, func(tx store.Tx) error {
			_, err := s.CreateOrganization(ctx, tx, "a school", store.Quotas{})
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		first := lti.Registration{Organization: store.SingleUser, Issuer: "https://a.example", ClientID: "1", Token: "https://a.example/t"}
		r, err := k.Register(ctx, first, "d1")
		if err != nil {
			t.Fatal(err)
		}
		first.Token = "https://a.example/moved"
		again, err := k.Register(ctx, first, "d2")
		if err != nil || again.ID != r.ID || again.Token != first.Token {
			t.Errorf("registered again it is %+v, %v", again, err)
		}
		for deployment, want := range map[string]bool{"d1": true, "d2": true, "d3": false} {
			if known, err := k.KnowsDeployment(ctx, r.ID, deployment); known != want || err != nil {
				t.Errorf("%s is known: %v, %v", deployment, known, err)
			}
		}
		first.Organization = organizationNamed(t, s, "a school")
		if _, err := k.Register(ctx, first); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("another organization takes it over: %v", err)
		}
		first.ClientID = "2"
		if _, err := k.Register(ctx, first); err != nil {
			t.Error(err)
		}
		for client, want := range map[string]int{"": 2, "1": 1, "3": 0} {
			if all, err := k.Registrations(ctx, "https://a.example", client); len(all) != want || err != nil {
				t.Errorf("client %q has %d registrations, %v", client, len(all), err)
			}
		}
		err = s.Write(ctx, func(tx store.Tx) error { return store.DeleteOrganization(ctx, tx, first.Organization) })
		if all, err2 := k.Registrations(ctx, "https://a.example", "2"); err != nil || err2 != nil || len(all) != 0 {
			t.Errorf("the deleted organization has %d registrations left, %v, %v", len(all), err, err2)
		}
		if all, err := k.Registrations(ctx, "https://a.example/", ""); len(all) != 0 || err != nil {
			t.Errorf("an issuer with a slash more has %d, %v", len(all), err)
		}
	})
}

// Logins and invitations count once, and what has expired is gone.
func TestKeptInTheDatabase(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		var later atomic.Int64 // minutes
		start := time.Now()
		c.Now = func() time.Time { return start.Add(time.Duration(later.Load()) * time.Minute) }
		s := storetest.Open(t, c)
		k, ctx := lti.Keep(s), t.Context()
		_, hash := lti.NewInvitation()
		err := s.Write(ctx, func(tx store.Tx) error {
			return store.AddLTIInvitation(ctx, tx, store.SingleUser, hash, start.Add(5*time.Minute))
		})
		if err != nil {
			t.Fatal(err)
		}
		r, err := k.Register(ctx, lti.Registration{Organization: store.SingleUser, Issuer: "https://a.example", ClientID: "1"})
		if err != nil {
			t.Fatal(err)
		}
		if err := k.AddLogin(ctx, lti.Login{State: "s", Registration: r.ID, Nonce: "n", Browser: "b", Expires: start.Add(10 * time.Minute)}); err != nil {
			t.Fatal(err)
		}
		var got atomic.Int64
		var all sync.WaitGroup
		for range 8 {
			all.Go(func() {
				if first, err := k.UseLogin(context.WithoutCancel(ctx), "s"); err != nil {
					t.Error(err)
				} else if first {
					got.Add(1)
				}
			})
		}
		all.Wait()
		if l, err := k.Login(ctx, "s"); got.Load() != 1 || err != nil || !l.Used || l.Nonce != "n" {
			t.Errorf("%d used the login, which is %+v, %v", got.Load(), l, err)
		}
		if err := k.AddSession(ctx, lti.Session{Hash: "h", Registration: r.ID, Message: []byte(`{}`), Expires: start.Add(10 * time.Minute)}); err != nil {
			t.Fatal(err)
		}
		if _, err := k.Session(ctx, "h"); err != nil {
			t.Error(err)
		}
		if err := k.AddSession(ctx, lti.Session{Hash: "short", Registration: r.ID, Message: []byte(`{}`), Expires: start.Add(10 * time.Minute)}); err != nil {
			t.Fatal(err)
		}
		for range 2 { // ended twice is ended
			if err := k.EndSession(ctx, "short"); err != nil {
				t.Error(err)
			}
		}
		if _, err := k.Session(ctx, "short"); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("a session that was ended gives %v", err)
		}
		for _, want := range []error{nil, store.ErrNotFound} {
			if organization, err := k.Invitation(ctx, hash, true); !errors.Is(err, want) || err == nil && organization != store.SingleUser {
				t.Errorf("the invitation is of %q, %v", organization, err)
			}
		}
		later.Store(11)
		_, err = k.Login(ctx, "s")
		_, err2 := k.Session(ctx, "h")
		if !errors.Is(err, store.ErrNotFound) || !errors.Is(err2, store.ErrNotFound) {
			t.Errorf("what has expired gives %v, %v", err, err2)
		}
		if err := k.AddKey(ctx, lti.Key{ID: "k1", Private: "p", Created: start}, time.Time{}); err != nil {
			t.Fatal(err)
		}
		if err := k.AddKey(ctx, lti.Key{ID: "k2", Private: "p", Created: start.Add(time.Hour)}, start.Add(time.Minute)); err != nil {
			t.Fatal(err)
		}
		if keys, err := k.Keys(ctx); len(keys) != 1 || keys[0].ID != "k2" || err != nil {
			t.Errorf("the keys are %+v, %v", keys, err)
		}
	})
}

func organizationNamed(t *testing.T, s *store.Store, name string) (id string) {
	t.Helper()
	err := s.Read(t.Context(), func(tx store.Tx) error {
		return store.Each(t.Context(), tx, func(scan store.Scan) error { return scan(&id) }, `SELECT id FROM organizations WHERE name = $1`, name)
	})
	if err != nil {
		t.Fatal(err)
	}
	return id
}
