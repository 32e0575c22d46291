package account

import (
	"errors"
	"log/slog"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// office is a store with one organization, a keeper, and a clock of its own.
type office struct {
	*testing.T
	*Keeper
	organization string
	ahead        atomic.Int64 // of the true time, in nanoseconds
}

func newOffice(t *testing.T, c store.Config) *office {
	t.Helper()
	o := &office{T: t}
	c.Now = func() time.Time { return time.Now().Add(time.Duration(o.ahead.Load())) }
	s := storetest.Open(t, c)
	o.Keeper = New(s, slog.New(slog.DiscardHandler))
	err := s.Write(t.Context(), func(tx store.Tx) error {
		organization, err := s.CreateOrganization(t.Context(), tx, "school", store.Quotas{})
		o.organization = organization.ID
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func (o *office) pass(d time.Duration) { o.ahead.Add(int64(d)) }

func (o *office) key(lifetime time.Duration, scopes ...Scope) (string, store.Key) {
	o.Helper()
	text, key, err := CreateKey(o.Context(), o.store, NewKey{Organization: o.organization, Name: "test", Scopes: scopes, Lifetime: lifetime})
	if err != nil {
		o.Fatal(err)
	}
	return text, key
}

func (o *office) admits(text string, want error) Caller {
	o.Helper()
	caller, err := o.Authenticate(o.Context(), text)
	if !errors.Is(err, want) || (want == nil) != (err == nil) {
		o.Errorf("got %v, want %v", err, want)
	}
	return caller
}

func TestKeyOpensForItsOrganizationAndScopes(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		text, key := o.key(0, Scores, Webhooks)
		caller := o.admits(text, nil)
		if caller.Organization != o.organization || caller.Key != key.ID {
			t.Errorf("caller %+v", caller)
		}
		for _, s := range Scopes {
			if want := s == Scores || s == Webhooks; caller.May(s) != want {
				t.Errorf("may %s: %v", s, caller.May(s))
			}
		}
		other, _ := o.key(0, Scores)
		if other == text {
			t.Error("two keys are the same")
		}
	})
}

func TestOnlyAHashIsKept(t *testing.T) {
	o := newOffice(t, store.Config{Dir: t.TempDir()})
	text, _ := o.key(0, Scores)
	random := strings.TrimPrefix(text, prefix)[:randomLength]
	rows, err := o.store.SQLite().Query(`SELECT id || name || hash || scopes || organization_id FROM api_keys`)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var all string
		if err := rows.Scan(&all); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(all, random) {
			t.Error("the key stands in the database")
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
}

func TestKeyStopsWorking(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		text, _ := o.key(time.Hour, Scores)
		o.admits(text, nil)
		o.pass(time.Hour)
		o.admits(text, ErrExpiredKey)

		text, key := o.key(0, Scores)
		o.admits(text, nil)
		if err := o.store.Write(t.Context(), func(tx store.Tx) error { return o.store.RevokeKey(t.Context(), tx, key.ID) }); err != nil {
			t.Fatal(err)
		}
		o.pass(trust)
		o.admits(text, ErrRevokedKey)

		text, _ = o.key(0, Scores)
		if err := o.store.Write(t.Context(), func(tx store.Tx) error { return store.DeleteOrganization(t.Context(), tx, o.organization) }); err != nil {
			t.Fatal(err)
		}
		o.admits(text, ErrUnknownKey)
	})
}

func TestWhatIsNoKeyIsNotLookedUp(t *testing.T) {
	o := newOffice(t, store.Config{Dir: t.TempDir()})
	text, _ := o.key(0, Scores)
	if err := o.store.Close(); err != nil { // a look-up would be an error of its own
		t.Fatal(err)
	}
	mistyped := []byte(text)
	mistyped[len(prefix)+3] ^= 1
	for _, no := range []string{"", "secret", prefix, string(mistyped), text[:len(text)-1], text + "A", strings.ToLower(text)} {
		o.admits(no, ErrUnknownKey)
	}
	if _, err := o.Authenticate(t.Context(), text); err == nil || errors.Is(err, ErrUnknownKey) {
		t.Errorf("without a database a real key got %v", err)
	}
}

func TestLastUseIsWrittenDown(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		o := newOffice(t, c)
		text, _ := o.key(0, Scores)
		o.admits(text, nil)
		if err := o.Flush(t.Context()); err != nil {
			t.Fatal(err)
		}
		err := o.store.Read(t.Context(), func(tx store.Tx) error {
			keys, err := store.Keys(t.Context(), tx, o.organization)
			if len(keys) != 1 || time.Since(keys[0].LastUsed).Abs() > time.Minute {
				t.Errorf("keys %+v", keys)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}

// The check value of CRC-32/ISO-HDLC is that of the Catalogue of parametrised CRC
// algorithms (G. Cook): cbf43926 for "123456789"; in base 32 (RFC 4648) ZP2DSJQ.
func TestChecksum(t *testing.T) {
	if got := checksum("123456789"); got != "ZP2DSJQ" {
		t.Errorf("checksum %s", got)
	}
	if text := newText(prefix); !wellFormed(prefix, text) || len(text) != 44 {
		t.Errorf("%q is no key", text)
	}
}

func TestParseScopes(t *testing.T) {
	for _, c := range []struct {
		names, want string
		why         string
	}{
		{"scores webhooks", "scores webhooks", "names stay"},
		{"scores scores", "scores", "twice is once"},
		{"", "", "a key that may do nothing is a mistake"},
		{"scores everything", "", "no scope of that name"},
	} {
		scopes, err := ParseScopes(strings.Fields(c.names))
		if got := strings.Join(ScopeNames(scopes), " "); got != c.want || (err == nil) != (c.want != "") {
			t.Errorf("%q became %q, %v: %s", c.names, got, err, c.why)
		}
	}
}
