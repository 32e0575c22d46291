package store_test

import (
	"context"
	"errors"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// post creates a batch of an organization with scores in it, in one transaction.
func (f fixture) post(organization string, scores ...string) (b *store.Batch, err error) {
	f.Helper()
	err = f.Write(f.Context(), func(tx store.Tx) error {
		b, err = f.CreateBatch(f.Context(), tx, organization, []byte("{}"))
		if err != nil {
			return err
		}
		b, err = f.Change(f.Context(), tx, organization, b.ID, func(b *store.Batch) error {
			var members []store.NewMember
			for _, s := range scores {
				members = append(members, store.NewMember{Name: "x", Score: store.NewScore([]byte(s))})
			}
			_, err := f.AddMembers(f.Context(), tx, b, members)
			return err
		})
		return err
	})
	return b, err
}

func (f fixture) usage(organization string) (u store.Usage) {
	f.Helper()
	f.read(func(ctx context.Context, tx store.Tx) (err error) {
		u, err = store.UsageOf(ctx, tx, organization)
		return err
	})
	return u
}

func TestQuotas(t *testing.T) {
	long := strings.Repeat("no two lines of this are alike ", 10)
	for _, c := range []struct {
		name   string
		quotas store.Quotas
		// first fits, second does not, what is exceeded.
		first, second []string
		what          string
	}{
		{"scores", store.Quotas{Scores: 3}, []string{"1", "2", "3"}, []string{"4"}, "scores"},
		{"scores, the same again", store.Quotas{Scores: 3}, []string{"1", "1", "1"}, []string{"1"}, "scores"},
		{"bytes", store.Quotas{Bytes: 200}, []string{"short"}, []string{long + "1", long + "2", long + "3", long + "4"}, "bytes"},
		{"open batches", store.Quotas{OpenBatches: 1}, []string{"1"}, nil, "open batches"},
	} {
		t.Run(c.name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, config store.Config) {
				f := fixture{t, storetest.Open(t, config)}
				o := f.organization("bounded", c.quotas)
				b, err := f.post(o.ID, c.first...)
				if err != nil {
					t.Fatal(err)
				}
				before := f.usage(o.ID)
				var quota *store.QuotaError
				if _, err := f.post(o.ID, c.second...); !errors.As(err, &quota) || quota.What != c.what {
					t.Errorf("the second got %v", err)
				}
				if after := f.usage(o.ID); after != before {
					t.Errorf("what was refused left %+v, before it was %+v", after, before)
				}
				if _, err := f.post(store.SingleUser, c.second...); err != nil {
					t.Errorf("another organization got %v", err)
				}
				if err := f.DeleteBatch(t.Context(), o.ID, b.ID); err != nil {
					t.Fatal(err)
				}
				if used := f.usage(o.ID); used != (store.Usage{}) {
					t.Errorf("after deleting it there is still %+v", used)
				}
				if _, err := f.post(o.ID, c.first...); err != nil {
					t.Errorf("with room again: %v", err)
				}
			})
		})
	}
}

// What was accepted is answered, and counts.
func TestAnswersGoBeyondAQuota(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "two")
		used := f.usage(store.SingleUser)
		f.write(func(ctx context.Context, tx store.Tx) error {
			_, err := store.ChangeOrganization(ctx, tx, store.SingleUser, func(o *store.Organization) error {
				o.Bytes = used.Bytes + 1
				return nil
			})
			return err
		})
		result := numbered(1, report("a report"))
		if !f.answer(b.ID, result) {
			t.Error("the answer was not taken")
		}
		if got, want := f.usage(store.SingleUser).Bytes, used.Bytes+int64(len(result.Report)); got != want {
			t.Errorf("%d bytes are used, want %d", got, want)
		}
		var quota *store.QuotaError
		if _, err := f.post(store.SingleUser, "three"); !errors.As(err, &quota) || quota.What != "bytes" {
			t.Errorf("a further score got %v", err)
		}
	})
}

func TestQuotaHoldsAgainstManyAtOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		o := f.organization("bounded", store.Quotas{Scores: 5})
		var posting sync.WaitGroup
		for i := range 12 {
			posting.Go(func() {
				var quota *store.QuotaError
				if _, err := f.post(o.ID, strconv.Itoa(i)); err != nil && !errors.As(err, &quota) {
					t.Error(err)
				}
			})
		}
		posting.Wait()
		if used := f.usage(o.ID); used.Scores != 5 {
			t.Errorf("%d scores got in, of 5 allowed", used.Scores)
		}
	})
}

func TestRetention(t *testing.T) {
	const day = 24 * time.Hour
	for _, c := range []struct {
		name     string
		kept     time.Duration // by the organization
		fallback time.Duration
		ago      time.Duration // when the last thing happened
		make     func(*store.Batch)
		past     bool
		why      string
	}{
		{"past", day, 0, 25 * time.Hour, finish, true, "nothing happened for longer than it is kept"},
		{"recent", day, 0, 23 * time.Hour, finish, false, "it is kept for a day"},
		{"for ever", 0, 0, 1000 * day, finish, false, "nobody said how long"},
		{"by default", 0, day, 25 * time.Hour, finish, true, "the service says how long"},
		{"not by default", 30 * day, day, 25 * time.Hour, finish, false, "the organization has the last word"},
		{"still worked on", day, 0, 25 * time.Hour, func(b *store.Batch) { b.State = store.BatchClosed; b.Tell(store.EventClosed) }, false, "every accepted score is answered"},
		{"forgotten open", day, 0, 25 * time.Hour, func(b *store.Batch) { b.Tell(store.EventAdded) }, true, "nobody added anything for a day"},
		{"canceled", day, 0, 25 * time.Hour, func(b *store.Batch) { b.State = store.BatchCanceled; b.Tell(store.EventCanceled) }, true, "nothing is waited for"},
		{"score deleted", day, 0, 23 * time.Hour, func(b *store.Batch) { b.State = store.BatchFinished; b.Tell(store.EventDeleted) }, true, "the others are kept for no longer"},
	} {
		t.Run(c.name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, config store.Config) {
				now := time.Now()
				config.Now = func() time.Time { return now }
				f := fixture{t, storetest.Open(t, config)}
				// Made long ago: what counts is when something last happened.
				now = now.Add(-2000 * day)
				o := f.organization("keeps", store.Quotas{Retention: c.kept})
				b, err := f.post(o.ID, "score")
				if err != nil {
					t.Fatal(err)
				}
				now = now.Add(2000*day - c.ago)
				f.write(func(ctx context.Context, tx store.Tx) error {
					_, err := f.Change(ctx, tx, o.ID, b.ID, func(b *store.Batch) error {
						c.make(b)
						return nil
					})
					return err
				})
				now = now.Add(c.ago)
				f.read(func(ctx context.Context, tx store.Tx) error {
					past, err := f.PastRetention(ctx, tx, c.fallback, 10)
					if (len(past) == 1) != c.past || len(past) == 1 && past[0].ID != b.ID {
						t.Errorf("past are %d batches: %s", len(past), c.why)
					}
					if err != nil {
						return err
					}
					idle, err := f.IdleBatches(ctx, tx, o.ID, day)
					if want := (c.ago > day || c.name == "score deleted") && c.name != "still worked on"; (len(idle) == 1) != want {
						t.Errorf("%d batches are idle for a day: %s", len(idle), c.why)
					}
					if foreign, err := f.IdleBatches(ctx, tx, store.SingleUser, day); len(foreign) != 0 || err != nil {
						t.Errorf("another organization has %d idle batches, %v", len(foreign), err)
					}
					return err
				})
			})
		})
	}
}

func finish(b *store.Batch) {
	b.State = store.BatchFinished
	b.Tell(store.EventFinished)
}

// The bytes of batches that were there before they were counted.
func TestBytesOfEarlierBatches(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "another")
		f.answer(b.ID, numbered(1, report("a report")))
		counted := f.usage(store.SingleUser).Bytes
		storetest.BackTo(t, f.Store, 4)
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		f = fixture{t, storetest.Open(t, c)}
		if got := f.usage(store.SingleUser).Bytes; got != counted || got == 0 {
			t.Errorf("brought up to date they are %d bytes, counted as they came %d", got, counted)
		}
	})
}
