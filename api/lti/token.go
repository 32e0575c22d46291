package lti

import (
	"context"
	"crypto/rsa"
	"encoding/json"
	"errors"
	"math"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// maxToken bounds a token; those of large learning systems have a few thousand bytes.
const maxToken = 64 << 10

// claims are those of a token, by their exact names: encoding/json would take names in
// capitals for the same.
type claims map[string]json.RawMessage

// These implement [jwt.Claims]; nobody asks them, since the checks are ours: the library
// takes a token without kid, and one that does not say when it was issued.
func (claims) GetExpirationTime() (*jwt.NumericDate, error) { return nil, nil }
func (claims) GetIssuedAt() (*jwt.NumericDate, error)       { return nil, nil }
func (claims) GetNotBefore() (*jwt.NumericDate, error)      { return nil, nil }
func (claims) GetIssuer() (string, error)                   { return "", nil }
func (claims) GetSubject() (string, error)                  { return "", nil }
func (claims) GetAudience() (jwt.ClaimStrings, error)       { return nil, nil }

// parser reads tokens; which algorithm and when is checked by us.
var parser = jwt.NewParser(jwt.WithValidMethods([]string{jwt.SigningMethodRS256.Alg()}), jwt.WithoutClaimsValidation(), jwt.WithStrictDecoding())

// verify reads a token whose signature is right.
func (t *Tool) verify(ctx context.Context, keys, token string) (claims, error) {
	return verify(token, func(id string) (*rsa.PublicKey, error) { return t.sets.key(ctx, keys, id) })
}

func verify(token string, key func(id string) (*rsa.PublicKey, error)) (claims, error) {
	if token == "" || len(token) > maxToken {
		return nil, MalformedToken.Because("There is no token, or it is too long.")
	}
	c := claims{}
	_, err := parser.ParseWithClaims(token, &c, func(parsed *jwt.Token) (any, error) {
		id, _ := parsed.Header["kid"].(string)
		if id == "" { // Security 5.1.3 and 6.3: keys are found by kid
			return nil, MissingKeyID.Because("The header of the token names no key.")
		}
		if _, critical := parsed.Header["crit"]; critical { // RFC 7515, 4.1.11
			return nil, MalformedToken.Because("The header of the token demands extensions that are not known here.")
		}
		return key(id)
	})
	var refused *Refusal
	switch {
	case err == nil && len(c) == 0:
		return nil, MalformedToken.Because("The token says nothing.")
	case err == nil:
		return c, nil
	case errors.As(err, &refused):
		return nil, refused
	case errors.Is(err, jwt.ErrTokenMalformed):
		return nil, MalformedToken.from("What should be a signed JSON Web Token is none.", err)
	case isWrongAlgorithm(token): // Security 5.1.3: RS256; "none" and HMAC least of all
		return nil, WrongAlgorithm.from("The token is not signed by RS256.", err)
	case errors.Is(err, jwt.ErrTokenSignatureInvalid):
		return nil, WrongSignature.from("The signature of the token is wrong.", err)
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return nil, err
	case errors.Is(err, jwt.ErrTokenUnverifiable):
		return nil, errors.Unwrap(err) // what kept us from finding the key
	}
	return nil, MalformedToken.from("What should be a signed JSON Web Token is none.", err)
}

// isWrongAlgorithm reads the header of a token that was refused.
func isWrongAlgorithm(token string) bool {
	parsed, _, err := parser.ParseUnverified(token, &claims{})
	if parsed == nil || parsed.Header == nil {
		return false
	}
	return err != nil && errors.Is(err, jwt.ErrTokenUnverifiable) || parsed.Header["alg"] != jwt.SigningMethodRS256.Alg()
}

func (c claims) has(name string) bool {
	value, found := c[name]
	return found && string(value) != "null"
}

// text reads a claim that is a text; "" if it is not there.
func (c claims) text(name string) (string, error) {
	var text string
	return text, c.read(name, &text)
}

// read reads a claim into a variable, which stays as it is where the claim is not there.
func (c claims) read(name string, into any) error {
	if !c.has(name) {
		return nil
	}
	if err := json.Unmarshal(c[name], into); err != nil {
		return MalformedClaim.from("The claim "+name+" is not what it should be.", err)
	}
	return nil
}

// texts reads a claim that is a text or a list of texts, as aud (RFC 7519, 4.1.3).
func (c claims) texts(name string) ([]string, error) {
	var all []string
	if len(c[name]) > 0 && c[name][0] == '"' {
		one, err := c.text(name)
		return []string{one}, err
	}
	return all, c.read(name, &all)
}

// time reads a moment (RFC 7519, 2, NumericDate).
func (c claims) time(name string) (time.Time, error) {
	if !c.has(name) {
		return time.Time{}, MissingTime.Because("The token has no " + name + ".")
	}
	var seconds float64
	if err := c.read(name, &seconds); err != nil {
		return time.Time{}, err
	}
	if math.Abs(seconds) > 1<<40 { // 36,000 years; past that a moment would wrap
		return time.Time{}, MalformedClaim.Because("The claim " + name + " is no moment.")
	}
	whole, part := math.Modf(seconds)
	return time.Unix(int64(whole), int64(part*1e9)), nil
}
