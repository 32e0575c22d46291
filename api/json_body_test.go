package api

import (
	"net/http"
	"strings"
	"testing"

	"partwright/theory/theorytest"
)

// What a body in JSON may cost to read beside its own bytes.
const (
	jsonBytesPerByte = 200
	jsonBytesAlways  = 1 << 20
)

// These are the ways in which JSON can be much, or deep, for its size. Memory grows
// with the body and no faster, and what is too much is refused before it is read.
func TestMemoryGrowsWithABodyInJSON(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	read := func(text string) {
		_ = s.server.handlers.readJSON([]byte(text), "ContinuationRequest", new(any))
	}
	for _, prefix := range []string{"", "[", "{", `{"chords":`, `{"chords": "C: I", "from": [`, `{"from": {"a": `, `"`} {
		for _, piece := range []string{"[", "{", `{"a":`, "[[],", "0,", `"a",`, `"a":0,`, `"\u00e9`, "\\", " ", "\n", "-", "1", "1e9,", "null,", "true", "]", "}", "\x00", "\xff", `"chords":"I",`} {
			if g := theorytest.Grow(prefix, piece, maxJSONBytes, read); !g.Linear() || g.Whole > maxJSONBytes*jsonBytesPerByte+jsonBytesAlways {
				t.Errorf("%q and %q: %+v", prefix, piece, g)
			}
		}
	}
}

func TestLongJSONIsRefused(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	for _, test := range []struct {
		body   string
		status int
		want   string
	}{
		{strings.Repeat("[", 1000), http.StatusBadRequest, "at byte 16"},
		{"[" + strings.Repeat("0,", 6000), http.StatusBadRequest, "more than 5000 values"},
		{`{"chords": "` + strings.Repeat("[", 100) + `", "best": -1}`, http.StatusBadRequest, "/best"}, // brackets in a text are none
		{`"` + strings.Repeat("a", maxJSONBytes), http.StatusRequestEntityTooLarge, "131072"},
	} {
		w := s.do(post("/v1/continuations", test.body, "Content-Type", "application/json"))
		if w.Code != test.status || !strings.Contains(w.Body.String(), test.want) {
			t.Errorf("%.40q: %d %s, want %d with %q", test.body, w.Code, w.Body, test.status, test.want)
		}
	}
}

// FuzzJSONBody looks for bodies that take more memory than their size explains.
func FuzzJSONBody(f *testing.F) {
	f.Add(`{"chords":"C: I V","from":["G4"]`, "[", uint16(3000))
	f.Add("", `{"a":[],`, uint16(3000))
	f.Fuzz(func(t *testing.T, prefix, piece string, times uint16) {
		if len(piece) > 64 || len(prefix) > 256 {
			return
		}
		text := prefix + strings.Repeat(piece, int(times))
		text = text[:min(len(text), maxJSONBytes)]
		h := newService(t, &fakePool{}, Config{}).server.handlers
		if n := theorytest.Allocated(func() { _ = h.readJSON([]byte(text), "ContinuationRequest", new(any)) }); n > uint64(len(text))*jsonBytesPerByte+jsonBytesAlways {
			t.Errorf("%d bytes for a body of %d", n, len(text))
		}
	})
}
