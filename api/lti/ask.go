package lti

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"

	"partwright/api/outgoing"
)

// request begins a request to a learning system where the guard lets it go.
func (t *Tool) request(ctx context.Context, method, address string, body io.Reader) (*http.Request, error) {
	if err := t.Guard.CheckURL(address, t.Plain); err != nil {
		return nil, PlatformRefuses.from("An address that the learning system gave is none that is asked: "+err.Error()+".", err)
	}
	r, err := http.NewRequestWithContext(ctx, method, address, body) // #nosec G704 -- the guard has let the address go; the client holds it to the same when it connects
	if err != nil {
		return nil, err
	}
	r.Header.Set("User-Agent", "partwright-lti/1")
	return r, nil
}

// answered is the answer of a learning system.
type answered struct {
	status int
	header http.Header
	body   []byte
}

// statusError is an answer that is none of success.
type statusError struct {
	status int
	header http.Header
}

// Error implements error.
func (e *statusError) Error() string { return fmt.Sprintf("the learning system answered %d", e.status) }

var errTooLong = errors.New("the answer is too long")

// do asks a learning system and reads its answer up to a number of bytes. Its own words
// are not shown to anybody: they may hold names.
func (t *Tool) do(r *http.Request, most int64) (*answered, error) {
	response, err := t.Client.Do(r) // #nosec G704 -- as above
	if err != nil {
		if r.Context().Err() != nil {
			return nil, r.Context().Err()
		}
		return nil, PlatformFails.from("The learning system could not be reached: "+wordFor(err)+".", err)
	}
	defer func() { _ = response.Body.Close() }()
	body, err := io.ReadAll(io.LimitReader(response.Body, most+1))
	switch {
	case err != nil:
		return nil, PlatformFails.from("The learning system's answer broke off.", err)
	case int64(len(body)) > most:
		return nil, PlatformFails.from("The learning system's answer is too long.", errTooLong)
	case response.StatusCode >= 200 && response.StatusCode <= 299:
		return &answered{response.StatusCode, response.Header, body}, nil
	}
	cause := &statusError{response.StatusCode, response.Header}
	if response.StatusCode >= 500 || response.StatusCode == http.StatusTooManyRequests {
		return nil, PlatformFails.from(fmt.Sprintf("The learning system answered %d.", response.StatusCode), cause)
	}
	return nil, PlatformRefuses.from(fmt.Sprintf("The learning system answered %d.", response.StatusCode), cause)
}

// wordFor says why there was no answer, without texts that would reveal the operator's
// network.
func wordFor(err error) string {
	var timeout net.Error
	switch {
	case errors.Is(err, outgoing.ErrForbidden):
		return "its address is inside of a network"
	case errors.As(err, &timeout) && timeout.Timeout():
		return "it took too long"
	}
	return "there is no connection"
}
