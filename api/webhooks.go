package api

import (
	"context"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/api/webhook"
	"partwright/worker/store"
)

// withWebhooks calls f if webhooks are kept, and renders its error.
func (h *handlers) withWebhooks(c *gin.Context, f func(ctx context.Context, s *webhook.Service, organization string) error) {
	if h.config.Webhooks == nil {
		fail(c, refuse(notFound, "This service tells nobody of events: it was started without a data directory or a database."))
		return
	}
	if err := f(c.Request.Context(), h.config.Webhooks, organizationOf(c)); err != nil {
		fail(c, inWebhooks.of(err))
	}
}

// readBody reads a body that must be as one schema of the contract has it.
func (h *handlers) readBody(c *gin.Context, schema string, into any) error {
	up, err := h.receiveJSON(c)
	if err != nil {
		return err
	}
	defer up.release()
	return h.readJSON(up.Data, schema, into)
}

// writeJSONAs answers with a status of its own.
func (h *handlers) writeJSONAs(c *gin.Context, status int, value any) error {
	body, err := encodeJSON(value)
	if err != nil {
		return err
	}
	c.Header("Content-Type", typeJSON)
	h.write(c, status, body)
	return nil
}

// CreateWebhook serves POST /v1/webhooks.
func (h *handlers) CreateWebhook(c *gin.Context) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		var body NewWebhook
		if err := h.readBody(c, "NewWebhook", &body); err != nil {
			return err
		}
		w, err := s.Create(ctx, organization, body.URL, body.Events)
		if err != nil {
			return err
		}
		c.Header("Location", "/v1/webhooks/"+w.ID)
		return h.writeJSONAs(c, http.StatusCreated, WebhookWithSecret{Webhook: webhookView(w), Secret: w.Secret})
	})
}

// ListWebhooks serves GET /v1/webhooks.
func (h *handlers) ListWebhooks(c *gin.Context) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		all, err := s.List(ctx, organization)
		if err != nil {
			return err
		}
		list := WebhookList{Webhooks: []Webhook{}}
		for i := range all {
			list.Webhooks = append(list.Webhooks, webhookView(&all[i]))
		}
		return h.writeJSONAs(c, http.StatusOK, list)
	})
}

// GetWebhook serves GET /v1/webhooks/{webhook}.
func (h *handlers) GetWebhook(c *gin.Context, id WebhookPath) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		w, err := s.Get(ctx, organization, id)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, webhookView(w))
	})
}

// ChangeWebhook serves PATCH /v1/webhooks/{webhook}.
func (h *handlers) ChangeWebhook(c *gin.Context, id WebhookPath) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		var body WebhookChange
		if err := h.readBody(c, "WebhookChange", &body); err != nil {
			return err
		}
		w, err := s.Change(ctx, organization, id, webhook.Change{URL: body.URL, Kinds: body.Events, On: body.On})
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, webhookView(w))
	})
}

// DeleteWebhook serves DELETE /v1/webhooks/{webhook}.
func (h *handlers) DeleteWebhook(c *gin.Context, id WebhookPath) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		if err := s.Delete(ctx, organization, id); err != nil {
			return err
		}
		c.Status(http.StatusNoContent)
		c.Writer.WriteHeaderNow()
		return nil
	})
}

// RotateSecret serves POST /v1/webhooks/{webhook}/secret.
func (h *handlers) RotateSecret(c *gin.Context, id WebhookPath) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		w, err := s.Rotate(ctx, organization, id)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, WebhookWithSecret{Webhook: webhookView(w), Secret: w.Secret})
	})
}

func webhookView(w *store.Webhook) Webhook {
	view := Webhook{ID: w.ID, URL: w.URL, Events: w.Kinds, On: w.Off == "", OffBecause: w.Off, Created: w.Created}
	if time.Now().Before(w.FormerUntil) {
		view.FormerSecretUntil = &w.FormerUntil
	}
	return view
}
