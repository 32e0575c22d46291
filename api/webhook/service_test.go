package webhook

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// received is what came to a receiver.
type received struct {
	header http.Header
	body   []byte
}

// post is a service that sends to a receiver of ours.
type post struct {
	*testing.T
	*Service
	url    string
	came   chan received
	answer func(http.ResponseWriter)
}

func newPost(t *testing.T, c store.Config, workers int) *post {
	t.Helper()
	p := &post{T: t, came: make(chan received, 100)}
	receiver := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			t.Error(err)
		}
		p.came <- received{r.Header, body}
		if p.answer != nil {
			p.answer(w)
		}
	}))
	t.Cleanup(receiver.Close)
	p.url = receiver.URL
	s := storetest.Open(t, c)
	p.Service = New(Config{Store: s, Plain: true, Allowed: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}})
	kinds := queue.NewKinds()
	p.Handle(kinds)
	config := queue.Config{Store: s, FetchPoll: 20 * time.Millisecond}
	if workers > 0 {
		config.Workers = map[string]int{Line: workers}
	}
	q, err := queue.Open(t.Context(), config, kinds)
	if err != nil {
		t.Fatal(err)
	}
	p.Use(q)
	if err := q.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := q.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return p
}

func (p *post) webhook(kinds ...string) *store.Webhook {
	p.Helper()
	w, err := p.Create(p.Context(), store.SingleUser, p.url, kinds)
	if err != nil {
		p.Fatal(err)
	}
	return w
}

// batch makes a batch with a score, and answers it.
func (p *post) batch() *store.Batch {
	p.Helper()
	var b *store.Batch
	err := p.store.Write(p.Context(), func(tx store.Tx) (err error) {
		if b, err = p.store.CreateBatch(p.Context(), tx, store.SingleUser, []byte("{}")); err != nil {
			return err
		}
		b, err = p.store.Change(p.Context(), tx, store.SingleUser, b.ID, func(b *store.Batch) error {
			members := []store.NewMember{{Name: "pupil.musicxml", Score: store.NewScore([]byte("score"))}}
			if _, err := p.store.AddMembers(p.Context(), tx, b, members); err != nil {
				return err
			}
			b.State = store.BatchClosed
			_, err := p.store.SaveResults(p.Context(), tx, b, store.NewResult{Number: 1, Engine: "test", Report: store.Pack([]byte("report"))})
			return err
		})
		return err
	})
	if err != nil {
		p.Fatal(err)
	}
	return b
}

func (p *post) next() received {
	p.Helper()
	select {
	case r := <-p.came:
		return r
	case <-time.After(10 * time.Second):
		p.Fatal("nothing came")
	}
	return received{}
}

// settled waits until the newest delivery is in a state.
func (p *post) settled(w *store.Webhook, state store.DeliveryState, attempts int64) store.Delivery {
	p.Helper()
	for until := time.Now().Add(10 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		log, err := p.Log(p.Context(), store.DeliveryQuery{Organization: store.SingleUser, Webhook: w.ID, Limit: 10})
		if err != nil {
			p.Fatal(err)
		}
		if len(log) > 0 && log[0].State == state && log[0].Attempts == attempts {
			return log[0]
		}
		if time.Now().After(until) {
			p.Fatalf("the log is %+v", log)
		}
	}
}

func TestEventsAreTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := newPost(t, c, 1)
		w := p.webhook("score.done", "batch.finished")
		b := p.batch()
		for _, want := range []struct{ kind, data string }{
			{"score.done", `{"batch":"` + b.ID + `","score":1}`},
			{"batch.finished", `{"batch":"` + b.ID + `","state":"finished","counts":{"total":1,"waiting":0,"done":1,"failed":0,"canceled":0}}`},
		} {
			came := p.next()
			verifier, err := standardwebhooks.NewWebhook(w.Secret)
			if err != nil {
				t.Fatal(err)
			}
			if err := verifier.Verify(came.body, came.header); err != nil {
				t.Errorf("the signature is not right: %v", err)
			}
			var m struct {
				Type      string
				Timestamp time.Time
				Data      json.RawMessage
			}
			if err := json.Unmarshal(came.body, &m); err != nil {
				t.Fatal(err)
			}
			if m.Type != want.kind || string(m.Data) != want.data || time.Since(m.Timestamp).Abs() > time.Minute {
				t.Errorf("came %s, want %+v", came.body, want)
			}
			if id := came.header.Get("webhook-id"); !strings.HasPrefix(id, "msg_") || strings.Contains(id, ".") {
				t.Errorf("message id %s", id)
			}
			if strings.Contains(string(came.body), "pupil") {
				t.Error("the name of a file was sent")
			}
		}
		p.settled(w, store.DeliveryDelivered, 1)
		if got := len(p.came); got != 0 {
			t.Errorf("%d more came, which nobody asked for", got)
		}
	})
}

// An announcement is part of the change: if that is given up, nothing is sent.
func TestGivenUpChangeIsNotTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := newPost(t, c, 0)
		w := p.webhook("batch.closed")
		err := p.store.Write(t.Context(), func(tx store.Tx) error {
			b, err := p.store.CreateBatch(t.Context(), tx, store.SingleUser, []byte("{}"))
			if err != nil {
				return err
			}
			_, err = p.store.Change(t.Context(), tx, store.SingleUser, b.ID, func(b *store.Batch) error {
				b.Tell(store.EventClosed)
				return nil
			})
			if err == nil {
				err = io.ErrUnexpectedEOF
			}
			return err
		})
		log, logErr := p.Log(t.Context(), store.DeliveryQuery{Organization: store.SingleUser, Webhook: w.ID, Limit: 10})
		if err == nil || logErr != nil || len(log) != 0 {
			t.Errorf("%v, %v: the log is %+v", err, logErr, log)
		}
	})
}

func TestRotatedSecretsSignBoth(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := newPost(t, c, 1)
		former := p.webhook("batch.finished")
		w, err := p.Rotate(t.Context(), store.SingleUser, former.ID)
		if err != nil || w.Secret == former.Secret {
			t.Fatalf("%v", err)
		}
		p.batch()
		came := p.next()
		if n := len(strings.Fields(came.header.Get("webhook-signature"))); n != 2 {
			t.Errorf("%d signatures", n)
		}
		for _, secret := range []string{former.Secret, w.Secret} {
			verifier, _ := standardwebhooks.NewWebhook(secret)
			if err := verifier.Verify(came.body, came.header); err != nil {
				t.Error(err)
			}
		}
		w.FormerUntil = time.Now()
		if text, err := signatures(w, "msg_1", time.Now(), nil); err != nil || strings.Contains(text, " ") {
			t.Errorf("past its time the former secret still signs: %s, %v", text, err)
		}
	})
}

func TestFailureIsTriedAgainAndReplayed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := newPost(t, c, 1)
		p.answer = func(w http.ResponseWriter) {
			w.Header().Set("Retry-After", "3600")
			w.WriteHeader(http.StatusServiceUnavailable)
		}
		w := p.webhook("batch.finished")
		p.batch()
		first := p.next()
		d := p.settled(w, store.DeliveryWaiting, 1)
		// The schedule says 5 s; the receiver asked for an hour.
		if wait := d.Next.Sub(d.Created); wait < time.Hour || wait > time.Hour*12/10 {
			t.Errorf("the next attempt is %v after the event", wait)
		}
		if _, err := p.Replay(t.Context(), store.SingleUser, w.ID, d.ID); err != ErrWaiting { //nolint:errorlint // it is returned as it is
			t.Errorf("replaying what waits: %v", err)
		}
		// The last try of the schedule fails too: the webhook is off, since nothing
		// ever got through.
		err := p.store.Write(t.Context(), func(tx store.Tx) error {
			return p.record(t.Context(), tx, delivery{store.SingleUser, w.ID, d.ID, len(delays) - 1}, outcome{Attempt: store.Attempt{Begun: time.Now(), Failure: "timeout"}})
		})
		if err != nil {
			t.Fatal(err)
		}
		p.settled(w, store.DeliveryFailed, 2)
		if w, err = p.Get(t.Context(), store.SingleUser, w.ID); err != nil || w.Off != offFailing {
			t.Errorf("the webhook is %q, %v", w.Off, err)
		}
		on := true
		if _, err := p.Change(t.Context(), store.SingleUser, w.ID, Change{On: &on}); err != nil {
			t.Fatal(err)
		}
		p.answer = nil
		if _, err := p.Replay(t.Context(), store.SingleUser, w.ID, d.ID); err != nil {
			t.Fatal(err)
		}
		again := p.next()
		if again.header.Get("webhook-id") != first.header.Get("webhook-id") || string(again.body) != string(first.body) {
			t.Error("what was replayed is another message")
		}
		p.settled(w, store.DeliveryDelivered, 3)
		_, attempts, err := p.Delivery(t.Context(), store.SingleUser, w.ID, d.ID)
		if err != nil || len(attempts) != 3 || attempts[0].Status != 503 || attempts[0].Failure != "refused" || attempts[2].Status != 200 || attempts[2].Failure != "" {
			t.Errorf("the log has %+v, %v", attempts, err)
		}
	})
}

func TestReceiverThatIsGone(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := newPost(t, c, 1)
		p.answer = func(w http.ResponseWriter) { w.WriteHeader(http.StatusGone) }
		w := p.webhook("batch.finished")
		p.batch()
		p.settled(w, store.DeliveryFailed, 1)
		w, err := p.Get(t.Context(), store.SingleUser, w.ID)
		if err != nil || w.Off != offGone {
			t.Errorf("the webhook is %q, %v", w.Off, err)
		}
		p.batch()
		time.Sleep(100 * time.Millisecond)
		if len(p.came) != 1 {
			t.Errorf("%d came; a webhook that is off gets nothing", len(p.came))
		}
	})
}

// The schedule of Standard Webhooks 1.0.0, "Deliverability and reliability": the
// last attempt is 75:35:05 after the first.
func TestSchedule(t *testing.T) {
	var total time.Duration
	for _, d := range delays {
		total += d
	}
	if want := 75*time.Hour + 35*time.Minute + 5*time.Second; total != want || len(delays) != 10 {
		t.Errorf("%d attempts over %v, want 10 over %v", len(delays), total, want)
	}
	for try, delay := range delays {
		if wait, more := nextIn(try, 0); !more || wait < delay || wait > delay*11/10 {
			t.Errorf("try %d waits %v, want %v and up to a tenth more", try, wait, delay)
		}
	}
	if _, more := nextIn(len(delays), 0); more {
		t.Error("the schedule has no end")
	}
	now := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for header, want := range map[string]time.Duration{
		"": 0, "120": 2 * time.Minute, "-5": 0, "soon": 0, "999999999": maxRetry, "Thu, 01 Jan 2026 00:01:00 GMT": time.Minute,
	} {
		if got := retryAfter(header, now); got != want {
			t.Errorf("Retry-After %q is %v, want %v", header, got, want)
		}
	}
}

// The test vector that the libraries of Standard Webhooks share.
func TestSignatureVector(t *testing.T) {
	w := &store.Webhook{Secret: "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"}
	got, err := signatures(w, "msg_p5jXN8AQM9LWM0D4loKWxJek", time.Unix(1614265330, 0), []byte(`{"test": 2432232314}`))
	if want := "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="; got != want || err != nil {
		t.Errorf("signature %s, %v, want %s", got, err, want)
	}
	// 24 to 64 bytes of base 64, after the prefix.
	if secret := newSecret(); !strings.HasPrefix(secret, "whsec_") || len(secret) != len("whsec_")+44 {
		t.Errorf("a secret of %d characters", len(secret))
	}
}
