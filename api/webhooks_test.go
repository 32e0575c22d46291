package api

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"partwright/api/webhook"
	"partwright/worker/account"
	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// withoutSending gives tenants webhooks whose deliveries wait.
func (s *tenants) withoutSending() {
	s.t.Helper()
	hooks := webhook.New(webhook.Config{Store: s.store})
	kinds := queue.NewKinds()
	hooks.Handle(kinds)
	q, err := queue.Open(s.t.Context(), queue.Config{Store: s.store}, kinds)
	if err != nil {
		s.t.Fatal(err)
	}
	hooks.Use(q)
	s.server.handlers.config.Webhooks = hooks
}

func body(method, path, text string) *http.Request {
	r := httptest.NewRequest(method, path, strings.NewReader(text))
	r.Header.Set("Content-Type", typeJSON)
	return r
}

// into reads an answer that must have a status.
func (s *service) into(w *httptest.ResponseRecorder, status int, value any) {
	s.t.Helper()
	if w.Code != status {
		s.t.Fatalf("%d, want %d: %.300s", w.Code, status, w.Body)
	}
	if err := json.Unmarshal(w.Body.Bytes(), value); err != nil {
		s.t.Fatal(err)
	}
}

const newHook = `{"url":"https://example.org/hook","events":["score.failed","batch.finished"]}`

// hookOf makes a webhook with one delivery in its log.
func (s *tenants) hookOf(organization, key string) (hook, delivery string) {
	s.t.Helper()
	var made WebhookWithSecret
	s.into(s.do(with(key, body(http.MethodPost, "/v1/webhooks", newHook))), http.StatusCreated, &made)
	err := s.store.Write(s.t.Context(), func(tx store.Tx) error {
		ctx := s.t.Context()
		b, err := s.store.CreateBatch(ctx, tx, organization, []byte("{}"))
		if err == nil {
			_, err = s.store.Change(ctx, tx, organization, b.ID, func(b *store.Batch) error {
				b.State = store.BatchClosed
				return nil
			})
		}
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	var list DeliveryList
	s.into(s.do(with(key, get("/v1/webhooks/"+made.Webhook.ID+"/deliveries"))), http.StatusOK, &list)
	if len(list.Deliveries) != 1 || list.Deliveries[0].Event != "batch.finished" {
		s.t.Fatalf("the log is %+v", list)
	}
	return made.Webhook.ID, list.Deliveries[0].ID
}

func TestWebhooksOverHTTP(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newTenants(t, c, Config{})
		s.withoutSending()
		organization, key := s.organization(store.Quotas{}, account.Webhooks)
		made := s.do(with(key, body(http.MethodPost, "/v1/webhooks", newHook)))
		var first WebhookWithSecret
		s.into(made, http.StatusCreated, &first)
		at := "/v1/webhooks/" + first.Webhook.ID
		if made.Header().Get("Location") != at || !first.Webhook.On || len(first.Webhook.Events) != 2 {
			t.Errorf("made %+v at %s", first, made.Header().Get("Location"))
		}
		if shown := s.do(with(key, get(at))); strings.Contains(shown.Body.String(), "whsec_") {
			t.Error("the secret is shown again")
		}
		var rotated WebhookWithSecret
		s.into(s.do(with(key, httptest.NewRequest(http.MethodPost, at+"/secret", nil))), http.StatusOK, &rotated)
		if until := rotated.Webhook.FormerSecretUntil; rotated.Secret == first.Secret || until == nil || time.Until(*until) < 23*time.Hour {
			t.Errorf("rotated to %+v", rotated)
		}
		var changed Webhook
		s.into(s.do(with(key, body(http.MethodPatch, at, `{"on":false,"events":["batch.closed"]}`))), http.StatusOK, &changed)
		if changed.On || changed.OffBecause != "switched" || len(changed.Events) != 1 || changed.URL != "https://example.org/hook" {
			t.Errorf("changed to %+v", changed)
		}
		if w := s.do(with(key, httptest.NewRequest(http.MethodDelete, at, nil))); w.Code != http.StatusNoContent {
			t.Errorf("deleting: %d", w.Code)
		}
		if w := s.do(with(key, get(at))); w.Code != http.StatusNotFound {
			t.Errorf("after deleting: %d", w.Code)
		}

		hook, delivery := s.hookOf(organization, key)
		at = "/v1/webhooks/" + hook + "/deliveries/" + delivery
		var log DeliveryLog
		s.into(s.do(with(key, get(at))), http.StatusOK, &log)
		if log.Delivery.State != "waiting" || log.Delivery.Next == nil || len(log.Attempts) != 0 || !strings.Contains(log.Delivery.Payload, `"type":"batch.finished"`) {
			t.Errorf("delivery %+v", log)
		}
		if w := s.do(with(key, httptest.NewRequest(http.MethodPost, at+"/replay", nil))); w.Code != http.StatusConflict || s.problem(w).Code != "delivery-waits" {
			t.Errorf("replaying what waits: %d", w.Code)
		}
		s.fails(organization, delivery)
		var page DeliveryList
		s.into(s.do(with(key, get("/v1/webhooks/"+hook+"/deliveries?state=failed&limit=1"))), http.StatusOK, &page)
		if len(page.Deliveries) != 1 || page.Deliveries[0].ID != delivery {
			t.Errorf("failed are %+v", page)
		}
		s.into(s.do(with(key, get("/v1/webhooks/"+hook+"/deliveries?after="+delivery))), http.StatusOK, &page)
		if len(page.Deliveries) != 0 {
			t.Errorf("after the last there is %+v", page)
		}
		var replayed Delivery
		s.into(s.do(with(key, httptest.NewRequest(http.MethodPost, at+"/replay", nil))), http.StatusAccepted, &replayed)
		if replayed.State != "waiting" || replayed.Message != log.Delivery.Message {
			t.Errorf("replayed as %+v", replayed)
		}
	})
}

// fails makes a delivery one that has failed.
func (s *tenants) fails(organization, delivery string) {
	s.t.Helper()
	err := s.store.Write(s.t.Context(), func(tx store.Tx) error {
		_, err := store.ChangeDelivery(s.t.Context(), tx, organization, delivery, func(d *store.Delivery) error {
			d.State, d.Next = store.DeliveryFailed, time.Time{}
			return store.AddAttempt(context.WithoutCancel(s.t.Context()), tx, d, store.Attempt{Begun: time.Now(), Status: 500, Failure: "refused"})
		})
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
}

func TestWebhooksThatCannotBe(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	_, key := s.organization(store.Quotas{}, account.Webhooks)
	if w := s.do(with(key, get("/v1/webhooks"))); w.Code != http.StatusNotFound {
		t.Errorf("without a queue: %d", w.Code)
	}
	s.withoutSending()
	for text, code := range map[string]string{
		`{"url":"http://example.org/","events":["score.done"]}`:        "unusable-address",
		`{"url":"https://127.0.0.1/","events":["score.done"]}`:         "unusable-address",
		`{"url":"https://[fd00::1]/","events":["score.done"]}`:         "unusable-address",
		`{"url":"https://example.org/","events":[]}`:                   "invalid-request",
		`{"url":"https://example.org/","events":["score.guessed"]}`:    "invalid-request",
		`{"url":"https://example.org/"}`:                               "invalid-request",
		`{"url":"https://x.org/","events":["score.done"],"secret":""}`: "invalid-request",
		`[]`: "invalid-request",
		`{`:  "invalid-request",
	} {
		if w := s.do(with(key, body(http.MethodPost, "/v1/webhooks", text))); w.Code < 400 || s.problem(w).Code != code {
			t.Errorf("%s: %d %s, want %s", text, w.Code, s.problem(w).Code, code)
		}
	}
	for range webhook.MaxWebhooks {
		s.into(s.do(with(key, body(http.MethodPost, "/v1/webhooks", newHook))), http.StatusCreated, &WebhookWithSecret{})
	}
	if w := s.do(with(key, body(http.MethodPost, "/v1/webhooks", newHook))); w.Code != http.StatusConflict {
		t.Errorf("one too many: %d", w.Code)
	}
}
