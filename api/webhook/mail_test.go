package webhook

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// batchOf makes a batch of an organization and answers its scores in one change.
func (p *post) batchOf(organization string, scores int) {
	p.Helper()
	err := p.store.Write(p.Context(), func(tx store.Tx) error {
		b, err := p.store.CreateBatch(p.Context(), tx, organization, []byte("{}"))
		if err != nil {
			return err
		}
		_, err = p.store.Change(p.Context(), tx, organization, b.ID, func(b *store.Batch) error {
			var members []store.NewMember
			var results []store.NewResult
			for i := range scores {
				members = append(members, store.NewMember{Name: fmt.Sprint(i), Score: store.NewScore([]byte("score"))})
				results = append(results, store.NewResult{Number: int64(i + 1), Engine: "test", Report: store.Pack([]byte("report"))})
			}
			if _, err := p.store.AddMembers(p.Context(), tx, b, members); err != nil {
				return err
			}
			b.State = store.BatchClosed
			_, err := p.store.SaveResults(p.Context(), tx, b, results...)
			return err
		})
		return err
	})
	if err != nil {
		p.Fatal(err)
	}
}

// More scores than go into one job, one of them refused: all are sent, in order, each
// once; the one has a further attempt of its own.
func TestManyAreToldInOrder(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := newPost(t, c, 1)
		answered := 0
		p.answer = func(w http.ResponseWriter) {
			if answered++; answered == 3 {
				w.WriteHeader(http.StatusInternalServerError)
			}
		}
		w := p.webhook("score.done")
		const scores = 2*mostAtOnce + 6
		p.batchOf(store.SingleUser, scores)
		for i := 1; i <= scores; i++ {
			if came := p.next(); !strings.Contains(string(came.body), fmt.Sprintf(`"score":%d}`, i)) {
				t.Fatalf("as message %d came %s", i, came.body)
			}
		}
		states := map[store.DeliveryState]int{}
		for until := time.Now().Add(4 * time.Second); states[store.DeliveryDelivered] < scores-1; time.Sleep(5 * time.Millisecond) {
			log, err := p.Log(t.Context(), store.DeliveryQuery{Organization: store.SingleUser, Webhook: w.ID, Limit: 100})
			if err != nil || time.Now().After(until) {
				t.Fatalf("%v, %v", states, err)
			}
			clear(states)
			for _, d := range log {
				states[d.State]++
				if d.Attempts > 1 {
					t.Errorf("a message was sent %d times", d.Attempts)
				}
			}
		}
		if states[store.DeliveryWaiting] != 1 {
			t.Errorf("the log has %v; the one that was refused waits", states)
		}
	})
}

// One organization's receiver takes its time over a whole archive; another's messages
// come meanwhile.
func TestSlowReceiverDoesNotStarveOthers(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := newPost(t, c, 2)
		slow := make(chan struct{})
		receiver := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { <-slow }))
		defer receiver.Close()
		defer close(slow)
		var other *store.Organization
		err := p.store.Write(t.Context(), func(tx store.Tx) (err error) {
			other, err = p.store.CreateOrganization(t.Context(), tx, "other", store.Quotas{})
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Create(t.Context(), other.ID, receiver.URL, []string{"score.done"}); err != nil {
			t.Fatal(err)
		}
		p.webhook("score.done")
		p.batchOf(other.ID, 4*mostAtOnce)
		time.Sleep(50 * time.Millisecond) // so that it has what it can get
		p.batchOf(store.SingleUser, 3)
		for range 3 {
			p.next()
		}
	})
}

// A slow receiver has a quarter of the workers; what it cannot take is put off for as
// long as it will need for what is before it.
func TestPace(t *testing.T) {
	now := time.Now()
	p := newPace(8)
	_, first := p.begin("w", 1, now)
	_, second := p.begin("w", 1, now)
	if first == nil || second == nil {
		t.Fatal("two of eight workers are a quarter")
	}
	if wait, end := p.begin("w", 1, now); end != nil || wait != shortestPause {
		t.Errorf("a third, of a receiver that nobody knows yet, waits %v", wait)
	}
	if _, end := p.begin("v", 1, now); end == nil {
		t.Error("another webhook has to wait")
	}
	p.took("w", 10*time.Second)
	for i, want := range []time.Duration{160 * time.Second, 320 * time.Second} {
		now := now.Add(time.Minute)
		if wait, end := p.begin("w", 32, now); end != nil || wait != want {
			t.Errorf("job %d of 32 messages of 10 s, two at once, waits %v, want %v", i, wait, want)
		}
	}
	for range 100 {
		if wait, _ := p.begin("w", 32, now); wait > longestPause {
			t.Fatalf("put off by %v", wait)
		}
	}
	second()
	if _, end := p.begin("w", 1, now); end == nil {
		t.Error("a place was given back and is not to be had")
	}
	p.took("w", 10*time.Millisecond)
	for range 20 {
		if _, end := p.begin("w", 32, now); end == nil {
			t.Fatal("a receiver that is fast may have all workers")
		}
	}
}
