package webhook

import (
	"crypto/rand"
	"encoding/base64"
	"errors"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"partwright/worker/store"
)

// formerFor is how long a secret still signs beside the one that replaced it.
const formerFor = 24 * time.Hour

// newSecret returns 256 random bits as Standard Webhooks 1.0.0 writes them (it asks
// for 192 to 512).
func newSecret() string {
	var secret [32]byte
	_, _ = rand.Read(secret[:]) // never fails
	return "whsec_" + base64.StdEncoding.EncodeToString(secret[:])
}

// rotate gives a webhook a new secret; the present one signs beside it for a
// while.
func rotate(w *store.Webhook, now time.Time) {
	w.FormerSecret, w.FormerUntil = w.Secret, now.Add(formerFor)
	w.Secret = newSecret()
}

// signatures sign a message with every secret that counts, separated by blanks
// (Standard Webhooks 1.0.0, "Webhook headers").
func signatures(w *store.Webhook, id string, at time.Time, payload []byte) (string, error) {
	text, err := sign(w.Secret, id, at, payload)
	if err == nil && w.FormerSecret != "" && at.Before(w.FormerUntil) {
		var former string
		former, err = sign(w.FormerSecret, id, at, payload)
		text += " " + former
	}
	return text, err
}

func sign(secret, id string, at time.Time, payload []byte) (string, error) {
	signer, err := standardwebhooks.NewWebhook(secret)
	if err != nil {
		return "", errors.New("a secret of a webhook cannot be read") // without the secret
	}
	return signer.Sign(id, at, payload)
}
