package lti

import (
	"crypto/rsa"
	"encoding/json"
	"time"
)

// ReadClaims reads claims that were signed, as a launch does.
func (t *Tool) ReadClaims(text []byte) (*Message, error) {
	c := claims{}
	if err := json.Unmarshal(text, &c); err != nil {
		return nil, MalformedToken.from("", err)
	}
	r := &Registration{Issuer: "x", ClientID: "a"}
	_ = t.checkToken(r, &Login{Nonce: "n"}, c) // what it refuses is read all the same
	return readMessage(c)
}

// VerifyToken holds a token to one key.
func VerifyToken(token string, key *rsa.PublicKey) error {
	_, err := verify(token, func(string) (*rsa.PublicKey, error) { return key, nil })
	return err
}

// NextPage and Below are read by tests.
var (
	NextPage = nextPage
	Below    = below
)

// Hurry makes retries come after a moment.
func (p *Publisher) Hurry(wait time.Duration, tries int) {
	p.waits = nil
	for range tries {
		p.waits = append(p.waits, wait)
	}
}
