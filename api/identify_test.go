package api

import (
	"log/slog"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/account"
	"partwright/worker/classroom/classbook"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// tenants are a service with accounts.
type tenants struct {
	*service
	store *store.Store
}

func newTenants(t *testing.T, c store.Config, config Config) *tenants {
	t.Helper()
	s := storetest.Open(t, c)
	config.Accounts = account.New(s, slog.New(slog.DiscardHandler))
	config.Batches = newBatches(t, s, nil)
	config.Classes = classbook.New(s, &worker.Engine{})
	return &tenants{newService(t, &fakePool{}, config), s}
}

// organization makes one and returns its id and a key with scopes.
func (s *tenants) organization(q store.Quotas, scopes ...account.Scope) (id, key string) {
	s.t.Helper()
	err := s.store.Write(s.t.Context(), func(tx store.Tx) error {
		o, err := s.store.CreateOrganization(s.t.Context(), tx, "school", q)
		id = o.ID
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	key, _, err = account.CreateKey(s.t.Context(), s.store, account.NewKey{Organization: id, Scopes: scopes})
	if err != nil {
		s.t.Fatal(err)
	}
	return id, key
}

func with(key string, r *http.Request) *http.Request {
	r.Header.Set("Authorization", "Bearer "+key)
	return r
}

func TestKeyOpensTheService(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newTenants(t, c, Config{})
		_, key := s.organization(store.Quotas{}, account.Scores)
		_, other := s.organization(store.Quotas{}, account.Webhooks)
		for _, c := range []struct {
			name, authorization string
			status              int
			code, challenge     string
		}{
			{"a key", "Bearer " + key, http.StatusOK, "", ""},
			{"schemes have no case (RFC 9110, 11.1)", "bearer " + key, http.StatusOK, "", ""},
			{"nothing", "", http.StatusUnauthorized, "missing-key", `Bearer realm="partwright"`},
			{"another scheme", "Basic dXNlcjpwYXNz", http.StatusUnauthorized, "missing-key", `Bearer realm="partwright"`},
			{"mistyped", "Bearer " + key[:len(key)-1], http.StatusUnauthorized, "unusable-key", `Bearer realm="partwright", error="invalid_token"`},
			{"another scope", "Bearer " + other, http.StatusForbidden, "missing-scope", `Bearer realm="partwright", error="insufficient_scope", scope="scores"`},
		} {
			t.Run(c.name, func(t *testing.T) {
				r := post("/v1/checks", tinyScore)
				if c.authorization != "" {
					r.Header.Set("Authorization", c.authorization)
				}
				w := s.do(r)
				if w.Code != c.status || w.Header().Get("WWW-Authenticate") != c.challenge {
					t.Fatalf("%d, %q", w.Code, w.Header().Get("WWW-Authenticate"))
				}
				if c.code != "" && s.problem(w).Code != c.code {
					t.Errorf("code %s", s.problem(w).Code)
				}
			})
		}
		if log := s.log.String(); strings.Contains(log, key[20:30]) || strings.Contains(log, "Bearer") {
			t.Error("a key is in the log")
		}
		if w := s.do(get("/v1/rules")); w.Code != http.StatusOK {
			t.Errorf("what is open to everybody: %d", w.Code)
		}
	})
}

func TestLimitsOfAKey(t *testing.T) {
	t.Run("requests", func(t *testing.T) {
		s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{Key: KeyLimits{Rate: 1, Burst: 2}})
		_, key := s.organization(store.Quotas{}, account.Scores)
		_, other := s.organization(store.Quotas{}, account.Scores)
		first := s.do(with(key, post("/v1/checks", tinyScore)))
		// By the draft: of a quota of 2 in 2 s one is left, and both are back in 1 s.
		if got := first.Header().Get("RateLimit"); !strings.HasPrefix(got, `"requests";r=1;t=1, "bytes";r=`) {
			t.Errorf("RateLimit: %s", got)
		}
		if got := first.Header().Get("RateLimit-Policy"); !strings.HasPrefix(got, `"requests";q=2;w=2, "bytes";q=1073741824;qu="content-bytes";w=60`) {
			t.Errorf("RateLimit-Policy: %s", got)
		}
		s.do(with(key, post("/v1/checks", tinyScore)))
		third := s.do(with(key, post("/v1/checks", tinyScore)))
		if got := third.Header().Get("RateLimit"); !strings.HasPrefix(got, `"requests";r=0;t=`) {
			t.Errorf("past the limit RateLimit is %s", got)
		}
		if third.Code != http.StatusTooManyRequests || third.Header().Get("Retry-After") != "1" || s.problem(third).Code != "key-limit" {
			t.Errorf("the third: %d, Retry-After %s", third.Code, third.Header().Get("Retry-After"))
		}
		if w := s.do(with(other, post("/v1/checks", tinyScore))); w.Code != http.StatusOK {
			t.Errorf("another key: %d", w.Code)
		}
	})
	t.Run("bytes", func(t *testing.T) {
		s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{Key: KeyLimits{Bytes: 60}})
		_, key := s.organization(store.Quotas{}, account.Scores, account.ReadBatches)
		large := tinyScore + strings.Repeat(" ", 180-len(tinyScore)) // of 60, 120 too many: back in 2 minutes
		s.do(with(key, post("/v1/checks", large)))
		w := s.do(with(key, post("/v1/checks", tinyScore)))
		if after := w.Header().Get("Retry-After"); w.Code != http.StatusTooManyRequests || after != "121" {
			t.Errorf("%d, Retry-After %s", w.Code, after)
		}
		if w := s.do(with(key, get("/v1/usage"))); w.Code != http.StatusOK {
			t.Errorf("looking at what came of it: %d", w.Code)
		}
	})
	t.Run("at the same time", func(t *testing.T) {
		s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{Key: KeyLimits{Concurrent: 1}})
		_, key := s.organization(store.Quotas{}, account.Scores)
		s.server.handlers.meters.of(s.keyID(key)).running.Add(1)
		if w := s.do(with(key, post("/v1/checks", tinyScore))); w.Code != http.StatusTooManyRequests {
			t.Errorf("beside another: %d", w.Code)
		}
		s.server.handlers.meters.of(s.keyID(key)).running.Add(-1)
		if w := s.do(with(key, post("/v1/checks", tinyScore))); w.Code != http.StatusOK {
			t.Errorf("alone: %d", w.Code)
		}
	})
}

func (s *tenants) keyID(key string) string {
	s.t.Helper()
	caller, err := s.server.handlers.config.Accounts.Authenticate(s.t.Context(), key)
	if err != nil {
		s.t.Fatal(err)
	}
	return caller.Key
}

func TestNobodyIsLetInByOversight(t *testing.T) {
	everywhere := &net.TCPAddr{IP: net.IPv4zero, Port: 80}
	s := storetest.Open(t, store.Config{Dir: t.TempDir()})
	for _, c := range []struct {
		name   string
		config Config
		addr   net.Addr
		fine   bool
	}{
		{"this machine", Config{}, &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1)}, true},
		{"this machine, IPv6", Config{}, &net.TCPAddr{IP: net.IPv6loopback}, true},
		{"every address", Config{}, everywhere, false},
		{"every address, IPv6", Config{}, &net.TCPAddr{IP: net.IPv6unspecified}, false},
		{"another address", Config{}, &net.TCPAddr{IP: net.IPv4(192, 0, 2, 1)}, false},
		{"with accounts", Config{Accounts: account.New(s, slog.New(slog.DiscardHandler))}, everywhere, true},
		{"said so", Config{AllowAnyone: true}, everywhere, true},
	} {
		err := newService(t, &fakePool{}, c.config).server.guarded(c.addr)
		if (err == nil) != c.fine {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	started := time.Now()
	err := newService(t, &fakePool{}, Config{Addr: ":0", OperatorAddr: "off"}).server.Run(t.Context())
	if err == nil || time.Since(started) > time.Minute {
		t.Errorf("Run on every address: %v", err)
	}
}
