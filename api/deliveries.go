package api

import (
	"context"
	"net/http"

	"github.com/gin-gonic/gin"

	"partwright/api/webhook"
	"partwright/worker/store"
)

// ListDeliveries serves GET /v1/webhooks/{webhook}/deliveries.
func (h *handlers) ListDeliveries(c *gin.Context, id WebhookPath, params ListDeliveriesParams) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		orDefault(&params.Limit, 100)
		page, err := s.Log(ctx, store.DeliveryQuery{
			Organization: organization, Webhook: id, State: store.DeliveryState(params.State), After: params.After, Limit: params.Limit,
		})
		if err != nil {
			return err
		}
		list := DeliveryList{Deliveries: []Delivery{}}
		for i := range page {
			list.Deliveries = append(list.Deliveries, deliveryView(&page[i]))
		}
		return h.writeJSONAs(c, http.StatusOK, list)
	})
}

// GetDelivery serves GET /v1/webhooks/{webhook}/deliveries/{delivery}.
func (h *handlers) GetDelivery(c *gin.Context, id WebhookPath, delivery DeliveryPath) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		d, attempts, err := s.Delivery(ctx, organization, id, delivery)
		if err != nil {
			return err
		}
		log := DeliveryLog{Delivery: deliveryView(d), Attempts: []DeliveryAttempt{}}
		for _, a := range attempts {
			log.Attempts = append(log.Attempts, DeliveryAttempt{
				Number: a.Number, Begun: a.Begun, Seconds: a.Took.Seconds(), Status: a.Status, Failure: a.Failure,
			})
		}
		return h.writeJSONAs(c, http.StatusOK, log)
	})
}

// ReplayDelivery serves POST /v1/webhooks/{webhook}/deliveries/{delivery}/replay.
func (h *handlers) ReplayDelivery(c *gin.Context, id WebhookPath, delivery DeliveryPath) {
	h.withWebhooks(c, func(ctx context.Context, s *webhook.Service, organization string) error {
		d, err := s.Replay(ctx, organization, id, delivery)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusAccepted, deliveryView(d))
	})
}

func deliveryView(d *store.Delivery) Delivery {
	view := Delivery{
		ID: d.ID, Message: d.Message, Event: d.Kind, State: string(d.State), Attempts: d.Attempts, Payload: d.Payload, Created: d.Created,
	}
	if d.State == store.DeliveryWaiting {
		view.Next = &d.Next
	}
	return view
}
