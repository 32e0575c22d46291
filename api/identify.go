package api

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/gin-gonic/gin"

	"partwright/worker/account"
)

const callerKey = "caller"

// keyScheme is the name of the security scheme in the contract.
const keyScheme = "key"

// callerOf is who a request comes from. On a route that is open to everybody it
// is nobody, who has nothing.
func callerOf(c *gin.Context) account.Caller {
	caller, _ := c.Value(callerKey).(account.Caller)
	return caller
}

// organizationOf is whose things a request is about.
func organizationOf(c *gin.Context) string { return callerOf(c).Organization }

// identify finds out who a request comes from, and turns away who may not come.
// Without accounts it is always the single user.
func (h *handlers) identify(c *gin.Context) {
	need, ok := h.contract.needs[c.Request.Method+" "+c.FullPath()]
	if !ok || need.open {
		return
	}
	caller, launched, err := h.launchedCaller(c.Request)
	switch {
	case err != nil || launched:
	case h.config.Accounts == nil:
		caller = account.SingleUser
	default:
		caller, err = h.authenticate(c.Request)
	}
	if err != nil {
		fail(c, err)
		return
	}
	for _, scope := range need.scopes {
		if !caller.May(account.Scope(scope)) {
			fail(c, outOfScope(scope))
			return
		}
	}
	c.Set(callerKey, caller)
	if h.config.Accounts != nil {
		h.limit(c, meteredAs(caller))
	}
}

// meteredAs is whose limits count: those of the key, or of the person where there is none,
// who does not get more of them by signing in again.
func meteredAs(c account.Caller) string {
	if c.Key != "" {
		return c.Key
	}
	return c.Organization + "/" + c.Subject
}

// need is who may use a route.
type need struct {
	// open routes are for everybody.
	open   bool
	scopes []string
}

// needOf reads the contract. What is open says so itself: a route without a word
// about it needs a key.
func needOf(document *openapi3.T, operation *openapi3.Operation) need {
	requirements := document.Security
	if operation.Security != nil {
		requirements = *operation.Security
	}
	if len(requirements) == 0 {
		return need{open: true}
	}
	return need{scopes: requirements[0][keyScheme]}
}

// authenticate reads the key of a request (RFC 6750, 2.1), or, where it shows none, the
// cookie of a browser that is signed in.
func (h *handlers) authenticate(r *http.Request) (account.Caller, error) {
	headers := r.Header.Values("Authorization")
	if len(headers) == 0 {
		if _, found := sessionText(r); found {
			return h.resume(r)
		}
		return account.Caller{}, &refusal{kind: missingKey, header: challenge("")}
	}
	scheme, text, found := strings.Cut(headers[0], " ")
	if len(headers) > 1 || !found || !strings.EqualFold(scheme, "bearer") {
		return account.Caller{}, &refusal{kind: missingKey, detail: "The header Authorization does not read 'Bearer KEY'.", header: challenge("")}
	}
	caller, err := h.config.Accounts.Authenticate(r.Context(), strings.TrimSpace(text))
	return caller, refusedKey(err)
}

// refusedKey says of an error of a key what is wrong with it.
func refusedKey(err error) error {
	for known, sentence := range map[error]string{
		account.ErrUnknownKey: "The key is none of ours, or was mistyped.",
		account.ErrExpiredKey: "The key has expired.",
		account.ErrRevokedKey: "The key was revoked.",
	} {
		if errors.Is(err, known) {
			return &refusal{kind: unusableKey, detail: sentence, header: challenge(`error="invalid_token"`)}
		}
	}
	return err
}

func outOfScope(scope string) error {
	return &refusal{
		kind: missingScope, detail: fmt.Sprintf("The key lacks the scope %s.", scope),
		header: challenge(fmt.Sprintf(`error="insufficient_scope", scope=%q`, scope)),
	}
}

// challenge is the header WWW-Authenticate (RFC 6750, 3).
func challenge(attributes string) http.Header {
	text := `Bearer realm="partwright"`
	if attributes != "" {
		text += ", " + attributes
	}
	return http.Header{"Www-Authenticate": {text}}
}

// checkSecurity refuses a contract whose scopes are not those of accounts.
func checkSecurity(document *openapi3.T) error {
	if len(document.Security) == 0 {
		return errors.New("openapi.yaml: a route without a word about it would be open to everybody")
	}
	for path, item := range document.Paths.Map() {
		for method, operation := range item.Operations() {
			if operation.Security == nil {
				continue
			}
			for _, requirement := range *operation.Security {
				for _, scope := range requirement[keyScheme] {
					if !slices.Contains(account.Scopes, account.Scope(scope)) {
						return fmt.Errorf("openapi.yaml: %s %s needs the scope %s, which does not exist", method, path, scope)
					}
				}
			}
		}
	}
	return nil
}
