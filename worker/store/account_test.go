package store_test

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

func (f fixture) organization(name string, q store.Quotas) *store.Organization {
	f.Helper()
	var o *store.Organization
	f.write(func(ctx context.Context, tx store.Tx) (err error) {
		o, err = f.CreateOrganization(ctx, tx, name, q)
		return err
	})
	return o
}

func TestOrganizationsKeepTheirQuotas(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		quotas := store.Quotas{Scores: 100, Bytes: 1 << 40, OpenBatches: 3, Retention: 90 * 24 * time.Hour}
		o := f.organization("evening school", quotas)
		f.write(func(ctx context.Context, tx store.Tx) error {
			_, err := store.ChangeOrganization(ctx, tx, o.ID, func(o *store.Organization) error {
				o.Name, o.Scores = "day school", 200
				return nil
			})
			return err
		})
		f.read(func(ctx context.Context, tx store.Tx) error {
			all, err := store.Organizations(ctx, tx)
			if len(all) != 2 || all[0].ID != store.SingleUser {
				t.Fatalf("organizations %+v, %v", all, err)
			}
			quotas.Scores = 200
			if got := all[1]; got.ID != o.ID || got.Name != "day school" || got.Quotas != quotas || got.Created.IsZero() {
				t.Errorf("kept as %+v", got)
			}
			return err
		})
		err := f.Write(t.Context(), func(tx store.Tx) error {
			_, err := store.ChangeOrganization(t.Context(), tx, "nobody", func(*store.Organization) error { return nil })
			return err
		})
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("an organization that is not there: %v", err)
		}
	})
}

func TestKeysAreFoundByHashAndRevokedForGood(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		o := f.organization("school", store.Quotas{})
		expires := time.Now().Add(time.Hour).Truncate(time.Microsecond).UTC()
		var key store.Key
		f.write(func(ctx context.Context, tx store.Tx) (err error) {
			key, err = f.CreateKey(ctx, tx, store.Key{Organization: o.ID, Name: "hand-ins", Hash: "h", Scopes: []string{"scores", "webhooks"}, Expires: expires})
			return err
		})
		used := time.UnixMicro(1_700_000_000_000_000).UTC()
		f.write(func(ctx context.Context, tx store.Tx) error {
			return errors.Join(store.UseKey(ctx, tx, key.ID, used), store.UseKey(ctx, tx, key.ID, used.Add(-time.Hour)), f.RevokeKey(ctx, tx, key.ID))
		})
		var revoked time.Time
		f.read(func(ctx context.Context, tx store.Tx) error {
			got, err := store.KeyByHash(ctx, tx, "h")
			if err != nil {
				return err
			}
			if got.ID != key.ID || got.Organization != o.ID || got.Name != "hand-ins" || !slices.Equal(got.Scopes, []string{"scores", "webhooks"}) {
				t.Errorf("found %+v", got)
			}
			if !got.Expires.Equal(expires) || !got.LastUsed.Equal(used) || got.Revoked.IsZero() {
				t.Errorf("expires %v, used %v, revoked %v", got.Expires, got.LastUsed, got.Revoked)
			}
			revoked = got.Revoked
			if _, err := store.KeyByHash(ctx, tx, "x"); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("another hash: %v", err)
			}
			if all, err := store.Keys(ctx, tx, store.SingleUser); len(all) != 0 || err != nil {
				t.Errorf("keys of another organization: %v, %v", all, err)
			}
			return nil
		})
		time.Sleep(time.Millisecond)
		f.write(func(ctx context.Context, tx store.Tx) error { return f.RevokeKey(ctx, tx, key.ID) })
		f.read(func(ctx context.Context, tx store.Tx) error {
			all, err := store.Keys(ctx, tx, o.ID)
			if len(all) != 1 || !all[0].Revoked.Equal(revoked) {
				t.Errorf("revoked again: %+v", all)
			}
			return err
		})
		err := f.Write(t.Context(), func(tx store.Tx) error {
			_, err := f.CreateKey(t.Context(), tx, store.Key{Organization: "nobody", Hash: "y"})
			return errors.Join(err, f.RevokeKey(t.Context(), tx, "no key"))
		})
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("a key of nobody: %v", err)
		}
	})
}

func TestDeletedOrganizationLeavesNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		o, kept := f.organization("leaves", store.Quotas{}), f.create("same score")
		f.write(func(ctx context.Context, tx store.Tx) error {
			b, err := f.CreateBatch(ctx, tx, o.ID, []byte("{}"))
			if err != nil {
				return err
			}
			_, err = f.Change(ctx, tx, o.ID, b.ID, func(b *store.Batch) error {
				_, err := f.AddMembers(ctx, tx, b, []store.NewMember{{Name: "a", Score: store.NewScore([]byte("same score"))}})
				b.Tell(store.EventAdded)
				return err
			})
			_, keyErr := f.CreateKey(ctx, tx, store.Key{Organization: o.ID, Hash: "h"})
			_, turnErr := store.TakeTurns(ctx, tx, o.ID, "line", 1, 0, 1)
			_, rememberErr := f.Remember(ctx, tx, o.ID, "k", "f", "a")
			return errors.Join(err, keyErr, turnErr, rememberErr)
		})
		f.write(func(ctx context.Context, tx store.Tx) error { return store.DeleteOrganization(ctx, tx, o.ID) })
		f.read(func(ctx context.Context, tx store.Tx) error {
			for _, table := range []string{"batches", "members", "scores", "events", "results", "idempotency_keys", "turns", "api_keys"} {
				var n int64
				err := store.Each(ctx, tx, func(scan store.Scan) error { return scan(&n) }, `SELECT count(*) FROM `+table+` WHERE organization_id = $1`, o.ID)
				if n != 0 || err != nil {
					t.Errorf("%d rows left in %s, %v", n, table, err)
				}
			}
			waiting, err := store.Waiting(ctx, tx, store.SingleUser, kept.ID, 1, 1)
			if len(waiting) != 1 {
				t.Error("the same score of another organization went with it")
			}
			return err
		})
		err := f.Write(t.Context(), func(tx store.Tx) error { return store.DeleteOrganization(t.Context(), tx, o.ID) })
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("deleted again: %v", err)
		}
		f.write(func(ctx context.Context, tx store.Tx) error {
			return store.DeleteOrganization(ctx, tx, store.SingleUser)
		})
		f.create("the single user goes on")
	})
}

// Who manages accounts does so while the service runs.
func TestDataDirectoryBesideAProcess(t *testing.T) {
	c := store.Config{Dir: t.TempDir()}
	service := fixture{t, storetest.Open(t, c)}
	c.Beside = true
	visitor := fixture{t, storetest.Open(t, c)}
	o := visitor.organization("school", store.Quotas{})
	service.create("one")
	service.read(func(ctx context.Context, tx store.Tx) error {
		all, err := store.Organizations(ctx, tx)
		if len(all) != 2 || all[1].ID != o.ID {
			t.Errorf("the service sees %+v", all)
		}
		return err
	})
	if _, err := service.SQLite().Exec("DELETE FROM goose_db_version WHERE version_id > 2"); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Open(t.Context(), c); !errors.Is(err, store.ErrOlder) {
		t.Errorf("beside an earlier version: %v", err)
	}
}
