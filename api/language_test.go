package api

import (
	"net/http"
	"strings"
	"testing"
)

func TestLanguageIsChosen(t *testing.T) {
	m := newMatcher()
	for _, tt := range []struct{ name, header, want, why string }{
		{"", "", "en", "the default"},
		{"de", "en", "de", "a name wins"},
		{"de-AT", "", "de-AT", "a regional name has the words of its language"},
		{"", "de", "de", "one that we have"},
		{"", "de-CH, en;q=0.5", "de", "the best of several"},
		{"", "tlh, de;q=0.3", "de", "what we lack is passed over"},
		{"", "de;q=0, en;q=0.1", "en", "quality 0 forbids"},
		{"", "tlh", "en", "nothing that we have: an answer in English beats none (RFC 9110, 12.5.4)"},
		{"", "*", "en", "anything"},
		{"", ",;=", "en", "nonsense"},
	} {
		got, err := m.choose(tt.name, tt.header)
		if err != nil || got != tt.want {
			t.Errorf("%s: %q with %q gives %q, %v; want %q", tt.why, tt.name, tt.header, got, err, tt.want)
		}
	}
	if _, err := m.choose("tlh", ""); err == nil {
		t.Error("a language asked for by name must not be replaced in silence")
	}
}

func TestRulesSpeakTheLanguageAskedFor(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	english := s.do(get("/v1/rules/parallel-fifths"))
	german := s.do(get("/v1/rules/parallel-fifths", "Accept-Language", "de-DE,de;q=0.9,en;q=0.8"))
	if german.Header().Get("Content-Language") != "de" || english.Header().Get("Content-Language") != "en" {
		t.Errorf("languages %q and %q", english.Header().Get("Content-Language"), german.Header().Get("Content-Language"))
	}
	if english.Body.String() == german.Body.String() {
		t.Error("both languages say the same")
	}
	if !strings.Contains(strings.Join(german.Header().Values("Vary"), ", "), "Accept-Language") {
		t.Error("caches are not told that the answer depends on Accept-Language")
	}
	for _, path := range []string{"/v1/rules", "/v1/rule-sets"} {
		if w := s.do(get(path)); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "parallel-fifths") {
			t.Errorf("%s: %d %.200s", path, w.Code, w.Body)
		}
	}
	two := get("/v1/rules")
	two.Header["Accept-Language"] = []string{"tlh", "de"}
	if w := s.do(two); w.Header().Get("Content-Language") != "de" {
		t.Errorf("a header in two lines (RFC 9110, 5.3): %d, %q", w.Code, w.Header().Get("Content-Language"))
	}
}
