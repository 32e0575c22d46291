package api

import (
	"net/http"
	"testing"
	"time"

	"partwright/worker/account"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

func TestUsage(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newTenants(t, c, Config{})
		s.withoutSending()
		organization, key := s.organization(store.Quotas{Scores: 1, Retention: time.Hour}, account.ReadBatches, account.WriteBatches)
		s.batchOf(organization)
		var usage Usage
		s.into(s.do(with(key, get("/v1/usage"))), http.StatusOK, &usage)
		if usage.Scores != (UsageOfQuota{Used: 1, Quota: 1}) || usage.Bytes.Used == 0 || usage.Bytes.Quota != 0 || usage.RetentionSeconds != 3600 {
			t.Errorf("usage %+v", usage)
		}
		w := s.do(with(key, post("/v1/batches", tinyScore)))
		if w.Code != http.StatusForbidden || s.problem(w).Code != "quota-reached" {
			t.Errorf("beyond the quota: %d %s", w.Code, s.problem(w).Code)
		}
	})
}
