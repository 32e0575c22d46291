package lti

import (
	"context"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"math/big"
	"sync"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// Rotation of our keys: a new one every rotateAfter, which is served for published
// before it signs, so that learning systems have it by then. Those made longer than
// keptFor ago go when a new one comes.
const (
	keyBits     = 2048 // RFC 7518, 3.3
	rotateAfter = 90 * 24 * time.Hour
	published   = 24 * time.Hour
	keptFor     = rotateAfter + 30*24*time.Hour
	rereadAfter = time.Minute
)

// keyring signs with our keys and serves their public halves.
type keyring struct {
	store Store
	mu    sync.Mutex
	all   []signer
	read  time.Time
}

type signer struct {
	id      string
	private *rsa.PrivateKey
	created time.Time
}

// current reads the keys, and makes one where there is none that is young enough.
func (k *keyring) current(ctx context.Context) ([]signer, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	now := k.store.Now()
	if len(k.all) > 0 && now.Sub(k.read) < rereadAfter && now.Sub(k.all[len(k.all)-1].created) < rotateAfter {
		return k.all, nil
	}
	kept, err := k.store.Keys(ctx)
	if err != nil {
		return nil, err
	}
	var all []signer
	for _, one := range kept {
		if now.Sub(one.Created) > keptFor {
			continue
		}
		s, err := readKey(one)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	if len(all) == 0 || now.Sub(all[len(all)-1].created) >= rotateAfter {
		fresh, err := newKey(now)
		if err != nil {
			return nil, err
		}
		if err := k.store.AddKey(ctx, fresh, now.Add(-keptFor)); err != nil {
			return nil, err
		}
		s, err := readKey(fresh)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	k.all, k.read = all, now
	return all, nil
}

func newKey(now time.Time) (Key, error) {
	private, err := rsa.GenerateKey(rand.Reader, keyBits)
	if err != nil {
		return Key{}, err
	}
	der, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		return Key{}, err
	}
	return Key{ID: rand.Text(), Private: string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})), Created: now}, nil
}

func readKey(k Key) (signer, error) {
	private, err := jwt.ParseRSAPrivateKeyFromPEM([]byte(k.Private))
	if err != nil {
		return signer{}, errors.New("a key of this service cannot be read") // without the key
	}
	return signer{k.ID, private, k.Created}, nil
}

// sign makes a token, with the youngest key that was served long enough.
func (k *keyring) sign(ctx context.Context, claims jwt.MapClaims) (string, error) {
	all, err := k.current(ctx)
	if err != nil {
		return "", err
	}
	chosen := all[0]
	for _, s := range all {
		if k.store.Now().Sub(s.created) >= published {
			chosen = s
		}
	}
	token := jwt.NewWithClaims(jwt.SigningMethodRS256, claims)
	token.Header["kid"] = chosen.id
	return token.SignedString(chosen.private)
}

// JWK is a public key (RFC 7517, with the parameters of RFC 7518, 6.3.1).
type JWK struct {
	Type      string `json:"kty"`
	Algorithm string `json:"alg,omitempty"`
	Use       string `json:"use,omitempty"`
	ID        string `json:"kid"`
	Modulus   string `json:"n"`
	Exponent  string `json:"e"`
}

// KeySet is a set of public keys.
type KeySet struct {
	Keys []JWK `json:"keys"`
}

// NewJWK writes a public key that signs by RS256.
func NewJWK(id string, key *rsa.PublicKey) JWK {
	number := base64.RawURLEncoding.EncodeToString
	return JWK{"RSA", "RS256", "sig", id, number(key.N.Bytes()), number(big.NewInt(int64(key.E)).Bytes())}
}

// KeySet returns our public keys, for learning systems.
func (t *Tool) KeySet(ctx context.Context) (KeySet, error) {
	all, err := t.keys.current(ctx)
	set := KeySet{Keys: []JWK{}}
	for _, s := range all {
		set.Keys = append(set.Keys, NewJWK(s.id, &s.private.PublicKey))
	}
	return set, err
}
