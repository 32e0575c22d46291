package lti

import (
	"context"
	"crypto/rsa"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/big"
	"net/http"
	"sync"
	"time"
)

// Bounds on key sets of learning systems. A set is read anew when it is older than
// freshFor, and used for usableFor while that fails; for a key that it does not have it
// is read once in leastInterval, however many tokens name unknown keys.
const (
	freshFor      = time.Hour
	usableFor     = 24 * time.Hour
	leastInterval = 30 * time.Second
	maxKeySet     = 256 << 10
	maxKeys       = 100
	minKeyBits    = 2048 // RFC 7518, 3.3
	maxKeyBits    = 8192
	maxKeySets    = 1000
)

// keySets are the public keys of learning systems by their address.
type keySets struct {
	fetch func(ctx context.Context, address string) (map[string]*rsa.PublicKey, error)
	now   func() time.Time
	mu    sync.Mutex
	of    map[string]*keySet
}

type keySet struct {
	mu          sync.Mutex
	keys        map[string]*rsa.PublicKey
	read, tried time.Time
	err         error // of the last try
}

func (s *keySets) at(address string) *keySet {
	s.mu.Lock()
	defer s.mu.Unlock()
	set := s.of[address]
	if set == nil {
		if s.of == nil || len(s.of) >= maxKeySets {
			s.of = map[string]*keySet{}
		}
		set = &keySet{}
		s.of[address] = set
	}
	return set
}

// key finds a key by its name. Whoever comes while a set is read waits for it.
func (s *keySets) key(ctx context.Context, address, id string) (*rsa.PublicKey, error) {
	set := s.at(address)
	set.mu.Lock()
	defer set.mu.Unlock()
	now := s.now()
	key, found := set.keys[id]
	if found && now.Sub(set.read) < freshFor {
		return key, nil
	}
	if now.Sub(set.tried) >= leastInterval {
		keys, err := s.fetch(ctx, address)
		if ctx.Err() == nil { // a client that left says nothing of the learning system
			set.tried, set.err = now, err
		}
		if err == nil {
			set.keys, set.read = keys, now
			key, found = keys[id]
		}
		if err != nil && ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
	switch {
	case found && now.Sub(set.read) < usableFor:
		return key, nil
	case set.err != nil:
		return nil, PlatformFails.from("The learning system's keys could not be read.", set.err)
	}
	return nil, UnknownKey.Because("The key that the token names is none of the learning system's.")
}

// fetchKeys reads a key set.
func (t *Tool) fetchKeys(ctx context.Context, address string) (map[string]*rsa.PublicKey, error) {
	r, err := t.request(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, err
	}
	r.Header.Set("Accept", "application/json")
	answer, err := t.do(r, maxKeySet)
	if err != nil {
		return nil, err
	}
	return parseKeySet(answer.body)
}

// parseKeySet reads the keys of a set that can verify RS256, by their names; it passes
// over others (RFC 7517, 5).
func parseKeySet(text []byte) (map[string]*rsa.PublicKey, error) {
	var set struct{ Keys []json.RawMessage }
	if err := json.Unmarshal(text, &set); err != nil || set.Keys == nil {
		return nil, errors.New("the key set cannot be read")
	}
	if len(set.Keys) > maxKeys {
		return nil, fmt.Errorf("the key set has %d keys, more than %d", len(set.Keys), maxKeys)
	}
	keys := map[string]*rsa.PublicKey{}
	for _, one := range set.Keys {
		var k JWK
		if json.Unmarshal(one, &k) != nil || k.ID == "" || k.Type != "RSA" ||
			k.Use != "" && k.Use != "sig" || k.Algorithm != "" && k.Algorithm != "RS256" {
			continue
		}
		if public := k.public(); public != nil {
			if keys[k.ID] != nil {
				return nil, errors.New("two keys of the set have one name")
			}
			keys[k.ID] = public
		}
	}
	return keys, nil
}

// public is nil for a key that is none, or too weak or too large.
func (k JWK) public() *rsa.PublicKey {
	modulus, err := base64.RawURLEncoding.DecodeString(k.Modulus)
	exponent, err2 := base64.RawURLEncoding.DecodeString(k.Exponent)
	n, e := new(big.Int).SetBytes(modulus), new(big.Int).SetBytes(exponent)
	if err != nil || err2 != nil || n.BitLen() < minKeyBits || n.BitLen() > maxKeyBits || n.Bit(0) == 0 ||
		!e.IsInt64() || e.Int64() < 3 || e.Int64() > math.MaxInt32 || e.Bit(0) == 0 {
		return nil
	}
	return &rsa.PublicKey{N: n, E: int(e.Int64())}
}
