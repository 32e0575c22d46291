package account

import (
	"context"
	"errors"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

func (o *office) signsIn(key string) *Session {
	o.Helper()
	s, err := o.SignIn(o.Context(), key)
	if err != nil {
		o.Fatal(err)
	}
	return s
}

func (o *office) resumes(text string, want error) Caller {
	o.Helper()
	caller, _, err := o.Resume(o.Context(), text)
	if !errors.Is(err, want) || (want == nil) != (err == nil) {
		o.Errorf("got %v, want %v", err, want)
	}
	return caller
}

func (o *office) revoke(key store.Key) {
	o.Helper()
	if err := o.store.Write(o.Context(), func(tx store.Tx) error { return o.store.RevokeKey(o.Context(), tx, key.ID) }); err != nil {
		o.Fatal(err)
	}
	o.pass(trust)
}

func TestSessionActsAsItsKey(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		text, key := o.key(0, Scores)
		session := o.signsIn(text)
		caller := o.resumes(session.Text, nil)
		if caller.Organization != o.organization || caller.Key != key.ID || caller.Role != Operator || caller.Session == "" {
			t.Errorf("the caller is %+v", caller)
		}
		if !caller.May(Scores) || caller.May(Webhooks) {
			t.Errorf("the session has the scopes %v", caller.Scopes())
		}
		o.admits(session.Text, ErrUnknownKey) // what opens a session is no key
		o.resumes(text, ErrNoSession)         // and the other way round
		if other := o.signsIn(text); other.Text == session.Text {
			t.Error("two sessions have the same text")
		}
	})
}

func TestSessionEnds(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		text, key := o.key(0, Scores)

		out := o.signsIn(text)
		caller := o.resumes(out.Text, nil)
		stays := o.signsIn(text)
		if err := o.End(t.Context(), caller); err != nil {
			t.Fatal(err)
		}
		o.resumes(out.Text, ErrNoSession)
		o.resumes(stays.Text, nil)

		// Without use it ends after a while, with it later.
		for range 3 {
			o.pass(idle - time.Minute)
			if err := o.Flush(t.Context()); err != nil {
				t.Fatal(err)
			}
			o.resumes(stays.Text, nil)
		}
		o.pass(idle)
		o.resumes(stays.Text, ErrNoSession)

		used := o.signsIn(text)
		for range int(DefaultSessionLifetime/time.Hour) - 1 {
			o.pass(time.Hour)
			o.resumes(used.Text, nil)
		}
		o.pass(time.Hour)
		o.resumes(used.Text, ErrNoSession)

		revoked := o.signsIn(text)
		o.revoke(key)
		o.resumes(revoked.Text, ErrNoSession)
		if _, err := o.SignIn(t.Context(), text); !errors.Is(err, ErrRevokedKey) {
			t.Errorf("a revoked key signs in: %v", err)
		}

		short, _ := o.key(time.Hour, Scores)
		expiring := o.signsIn(short)
		o.pass(time.Hour)
		o.resumes(expiring.Text, ErrNoSession)

		last, _ := o.key(0, Scores)
		gone := o.signsIn(last)
		if err := o.store.Write(t.Context(), func(tx store.Tx) error { return store.DeleteOrganization(t.Context(), tx, o.organization) }); err != nil {
			t.Fatal(err)
		}
		o.pass(trust)
		o.resumes(gone.Text, ErrNoSession)
	})
}

func TestLinkSignsInOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		_, key := o.key(0, ReadBatches)
		link := func() string {
			text, expires, err := CreateLink(t.Context(), o.store, key.ID)
			if err != nil || !expires.After(o.store.Now()) {
				t.Fatalf("a link until %s, %v", expires, err)
			}
			return text
		}
		first := link()
		o.resumes(first, ErrNoSession)
		// Of many who try at once, one gets in.
		var in atomic.Int64
		var all sync.WaitGroup
		for range 8 {
			all.Go(func() {
				session, err := o.FollowLink(t.Context(), first)
				switch {
				case err == nil:
					in.Add(1)
					if caller := o.resumes(session.Text, nil); caller.Key != key.ID || !caller.May(ReadBatches) || caller.May(Scores) {
						t.Errorf("the link lets in %+v", caller)
					}
				case !errors.Is(err, ErrUsedLink):
					t.Error(err)
				}
			})
		}
		all.Wait()
		if in.Load() != 1 {
			t.Errorf("the link let in %d", in.Load())
		}

		late, revoked := link(), link()
		o.pass(linkLifetime)
		if _, err := o.FollowLink(t.Context(), late); !errors.Is(err, ErrUsedLink) {
			t.Errorf("a link that is too old: %v", err)
		}
		o.pass(-linkLifetime)
		o.revoke(key)
		if _, err := o.FollowLink(t.Context(), revoked); !errors.Is(err, ErrUsedLink) {
			t.Errorf("the link of a revoked key: %v", err)
		}
		if _, _, err := CreateLink(t.Context(), o.store, key.ID); !errors.Is(err, ErrRevokedKey) {
			t.Errorf("a link for a revoked key: %v", err)
		}
		if _, _, err := CreateLink(t.Context(), o.store, "nobody"); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("a link for no key: %v", err)
		}
	})
}

// What something else vouches for needs no key, and keeps whom it is about.
func TestSessionOfAPerson(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		s, err := o.Begin(t.Context(), NewSession{Organization: o.organization, Role: Pupil, Subject: "7f3a", Scopes: []Scope{Scores}, Lifetime: time.Hour})
		if err != nil {
			t.Fatal(err)
		}
		if caller := o.resumes(s.Text, nil); caller.Role != Pupil || caller.Subject != "7f3a" || caller.Key != "" {
			t.Errorf("the caller is %+v", caller)
		}
		o.pass(time.Hour)
		o.resumes(s.Text, ErrNoSession)
	})
}

func TestOnlyHashesOfSessionsAreKept(t *testing.T) {
	o := newOffice(t, store.Config{Dir: t.TempDir()})
	text, key := o.key(0, Scores)
	link, _, err := CreateLink(t.Context(), o.store, key.ID)
	if err != nil {
		t.Fatal(err)
	}
	session := o.signsIn(text)
	held := 0
	err = o.store.Read(t.Context(), func(tx store.Tx) error {
		return store.Each(t.Context(), tx, func(scan store.Scan) error {
			var all string
			err := scan(&all)
			held++
			for _, secret := range []string{text, link, session.Text} {
				if random := secret[strings.Index(secret, "_")+1:][:randomLength]; strings.Contains(all, random) {
					t.Error("what opens a session stands in the database")
				}
			}
			return err
		}, `SELECT id || hash || role || subject || scopes || COALESCE(key_id, '') FROM sessions`)
	})
	if err != nil || held != 2 {
		t.Errorf("%d sessions and links, %v", held, err)
	}
}

func TestSessionsThatEndedGo(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		text, key := o.key(0, Scores)
		if _, _, err := CreateLink(t.Context(), o.store, key.ID); err != nil {
			t.Fatal(err)
		}
		o.signsIn(text)
		kept := func() (n int) {
			err := o.store.Read(t.Context(), func(tx store.Tx) error {
				n = 0
				return store.Each(t.Context(), tx, func(scan store.Scan) error { n++; var id string; return scan(&id) }, `SELECT id FROM sessions`)
			})
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		for _, step := range []struct {
			pass time.Duration
			want int
		}{{0, 2}, {idle, 1}, {linkLifetime, 0}} {
			o.pass(step.pass)
			if err := o.Flush(t.Context()); err != nil {
				t.Fatal(err)
			}
			if got := kept(); got != step.want {
				t.Errorf("%s later %d are kept, want %d", step.pass, got, step.want)
			}
		}

		// The newest of a key stay.
		err := o.store.Write(t.Context(), func(tx store.Tx) error {
			for i := range 5 {
				v := sessionOf(NewSession{Organization: o.organization, Key: key.ID}, newText(sessionPrefix))
				v.Begun, v.Expires = o.store.Now(), o.store.Now().Add(time.Duration(i+1)*time.Hour)
				if _, err := o.store.CreateSession(context.WithoutCancel(t.Context()), tx, v); err != nil {
					return err
				}
			}
			return store.DeleteOldSessions(t.Context(), tx, key.ID, 3)
		})
		if got := kept(); err != nil || got != 3 {
			t.Errorf("of 5 sessions %d are kept, %v", got, err)
		}
	})
}
