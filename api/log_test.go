package api

import (
	"strings"
	"testing"

	"partwright/worker/account"
	"partwright/worker/store"
)

// Whoever looks for what was done with a leaked key finds its id in the log, and
// not the key.
func TestLogNamesTheIDOfTheKey(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	organization, key := s.organization(store.Quotas{}, account.Scores)
	s.do(with(key, post("/v1/checks", tinyScore)))
	log := s.log.String()
	for _, id := range []string{`"organization":"` + organization + `"`, `"key":"` + s.keyID(key) + `"`} {
		if !strings.Contains(log, id) {
			t.Errorf("the log lacks %s: %s", id, log)
		}
	}
	if strings.Contains(log, key) {
		t.Error("the log holds the key itself")
	}
}
