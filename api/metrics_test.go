package api

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	dto "github.com/prometheus/client_model/go"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/pool"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// series returns the value of a series, written as in the text format; for a
// histogram the number of observations.
func (s *service) series(name string, labels ...string) float64 {
	s.t.Helper()
	families, err := s.registry.Gather()
	if err != nil {
		s.t.Fatal(err)
	}
	for _, family := range families {
		for _, metric := range family.GetMetric() {
			if family.GetName() == name && hasLabels(metric, labels) {
				return valueOf(metric)
			}
		}
	}
	return -1
}

func hasLabels(metric *dto.Metric, labels []string) bool {
	has := map[string]string{}
	for _, pair := range metric.GetLabel() {
		has[pair.GetName()] = pair.GetValue()
	}
	for i := 0; i < len(labels); i += 2 {
		if has[labels[i]] != labels[i+1] {
			return false
		}
	}
	return true
}

func valueOf(m *dto.Metric) float64 {
	switch {
	case m.Counter != nil:
		return m.Counter.GetValue()
	case m.Gauge != nil:
		return m.Gauge.GetValue()
	}
	return float64(m.Histogram.GetSampleCount())
}

// One of everything, and the figures that must come of it.
func TestMetricsCountWhatHappened(t *testing.T) {
	s := newService(t, &fakePool{}, Config{Version: "1.2.3"})
	pool := enginePool(t, s.registry, pool.Config{Size: 2, Queue: 5})
	s.server.handlers.pool = pool

	worksheet := string(demo(t, "worksheet.musicxml"))
	s.do(post("/v1/checks", worksheet))
	s.do(post("/v1/checks", worksheet, "Accept", typeMusicXML))
	s.do(post("/v1/cleanings", worksheet))
	s.do(post("/v1/checks", "<html/>"))
	s.do(post("/v1/checks", "x", "Content-Type", "image/png"))
	s.do(get("/v1/rules/parallel-fifths"))
	s.do(get("/somewhere/else"))
	s.do(func() *http.Request { r := get("/healthz"); r.Method = "SING"; return r }())

	for _, tt := range []struct {
		want   float64
		name   string
		labels []string
	}{
		{2, "partwright_http_requests_total", []string{"method", "POST", "route", "/v1/checks", "status", "200"}},
		{1, "partwright_http_requests_total", []string{"method", "POST", "route", "/v1/checks", "status", "422"}},
		{1, "partwright_http_requests_total", []string{"method", "POST", "route", "/v1/checks", "status", "415"}},
		{1, "partwright_http_requests_total", []string{"method", "GET", "route", "/v1/rules/:id", "status", "200"}},
		{1, "partwright_http_requests_total", []string{"method", "GET", "route", "none", "status", "404"}},
		{1, "partwright_http_requests_total", []string{"method", "other", "route", "none", "status", "405"}},
		{2, "partwright_http_request_duration_seconds", []string{"method", "POST", "route", "/v1/checks", "status", "200"}},
		{0, "partwright_http_requests_in_flight", nil},
		{float64(3*len(worksheet) + len("<html/>")), "partwright_http_received_bytes_total", nil},
		{2, "partwright_scores_total", []string{"task", "check", "outcome", "done"}},
		{1, "partwright_scores_total", []string{"task", "check", "outcome", "refused"}},
		{1, "partwright_scores_total", []string{"task", "clean", "outcome", "done"}},
		{0, "partwright_scores_total", []string{"task", "check", "outcome", "panicked"}},
		{float64(len(worksheet)), "partwright_score_bytes_total", []string{"task", "clean"}},
		{2, "partwright_findings_total", []string{"rule", "parallel-fifths", "severity", "fault"}},
		{4, "partwright_stage_duration_seconds", []string{"stage", "read"}},
		{2, "partwright_stage_duration_seconds", []string{"stage", "voices"}},
		{2, "partwright_stage_duration_seconds", []string{"stage", "check"}},
		{4, "partwright_queue_wait_seconds", nil},
		{2, "partwright_pool_size", nil},
		{0, "partwright_pool_running", nil},
		{0, "partwright_pool_overrunning", nil},
		{5, "partwright_queue_capacity", nil},
		{0, "partwright_queue_depth", nil},
		{0, "partwright_queue_oldest_age_seconds", nil},
		{1, "partwright_build_info", []string{"version", "1.2.3"}},
	} {
		if got := s.series(tt.name, tt.labels...); got != tt.want {
			t.Errorf("%s%v = %v, want %v", tt.name, tt.labels, got, tt.want)
		}
	}
	if sent := s.series("partwright_http_sent_bytes_total"); sent < float64(len(worksheet)) {
		t.Errorf("%v bytes sent, fewer than one score", sent)
	}
	for _, stage := range stage.All {
		if s.series("partwright_stage_duration_seconds", "stage", string(stage)) < 0 {
			t.Errorf("no series for the stage %s", stage)
		}
	}
}

// Names, units and help texts by the practice that promlint checks.
func TestMetricsAreWellNamed(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	s.server.handlers.pool = enginePool(t, s.registry, pool.Config{})
	s.do(post("/v1/checks", string(demo(t, "worksheet.musicxml"))))
	problems, err := testutil.GatherAndLint(s.registry)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		if strings.HasPrefix(p.Metric, "partwright_") {
			t.Errorf("%s: %s", p.Metric, p.Text)
		}
	}
	count, err := testutil.GatherAndCount(s.registry)
	if err != nil || count < 50 {
		t.Errorf("%d series, %v", count, err)
	}
}

// Nothing that a client chooses may become a label, and nothing of a score may
// get into the log.
func TestNothingPersonalIsKept(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	s.server.handlers.pool = enginePool(t, s.registry, pool.Config{})
	const secret = "Hildegunde"
	score := strings.Replace(string(demo(t, "worksheet.musicxml")), "Find the fault", secret, 1)
	if !strings.Contains(score, secret) {
		t.Fatal("the title is not where the test looks for it")
	}
	named := []string{"Content-Disposition", `attachment; filename="` + secret + `.xml"`, "User-Agent", secret, "Referer", "http://localhost/" + secret}
	for _, r := range []*http.Request{
		post("/v1/checks", score, named...),
		post("/v1/checks", score+"<", named...),
		post("/v1/checks?rule_set="+strings.ToLower(secret), score, named...),
		post("/v1/checks?"+secret+"=1", score, named...),
		get("/"+secret, named...),
		get("/v1/rules/"+strings.ToLower(secret), append(named, "X-Request-Id", secret+" was here")...),
		form(t, "/v1/checks", field{"score", secret + ".xml", score}, field{"marks", "", secret}),
	} {
		s.do(r)
	}
	if strings.Contains(strings.ToLower(s.log.String()), strings.ToLower(secret)) {
		t.Errorf("the log holds what only the client may know:\n%s", s.log)
	}
	if lines := strings.Count(s.log.String(), `"msg":"answered"`); lines != 7 {
		t.Errorf("%d lines for seven requests", lines)
	}
	families, err := s.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, family := range families {
		if strings.Contains(strings.ToLower(family.String()), strings.ToLower(secret)) {
			t.Errorf("the metric %s holds it", family.GetName())
		}
	}
}

func TestRequestID(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	for id, kept := range map[string]bool{
		"7f3a-2": true, "a.b_c": true, strings.Repeat("x", 64): true,
		"": false, "with blank": false, strings.Repeat("x", 65): false, "line\nbreak": false, "ünsound": false,
	} {
		w := s.do(get("/healthz", "X-Request-Id", id))
		if got := w.Header().Get("X-Request-Id"); (got == id) != kept || got == "" {
			t.Errorf("%q came back as %q", id, got)
		}
	}
}

func TestSecurityHeaders(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	for _, r := range []*http.Request{get("/healthz"), get("/nowhere"), post("/v1/checks", tinyScore)} {
		w := s.do(r)
		for name, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "Cache-Control": "no-store", "Referrer-Policy": "no-referrer",
			"Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
		} {
			if got := w.Header().Get(name); got != want {
				t.Errorf("%s %s: %s is %q, want %q", r.Method, r.URL.Path, name, got, want)
			}
		}
	}
}

func TestClientThatLeftIsNotAnError(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	s := newService(t, &fakePool{submit: func(ctx context.Context, _ worker.Input, _ *request.CheckPlan) (*answer.Answer, error) {
		cancel()
		<-ctx.Done()
		return nil, ctx.Err()
	}}, Config{})
	r := post("/v1/checks", tinyScore).WithContext(ctx)
	func() {
		defer func() {
			if value := recover(); value != http.ErrAbortHandler { //nolint:errorlint // the value itself
				t.Errorf("the handler ended with %v, not by closing the connection", value)
			}
		}()
		s.server.Handler().ServeHTTP(discard{}, r)
	}()
	if got := s.series("partwright_http_requests_total", "route", "/v1/checks", "status", "499"); got != 1 {
		t.Errorf("%v requests with status 499, want 1: %s", got, s.log)
	}
}

// discard is a client that is not there.
type discard struct{}

func (discard) Header() http.Header         { return http.Header{} }
func (discard) Write(b []byte) (int, error) { return len(b), nil }
func (discard) WriteHeader(int)             {}

func TestOperatorSide(t *testing.T) {
	pool := &fakePool{}
	s := newService(t, pool, Config{})
	ask := func(path string) (int, string) {
		w := newRecorder(s.server.OperatorHandler(), get(path))
		return w.Code, w.Body.String()
	}
	s.do(get("/healthz"))
	if code, body := ask("/metrics"); code != 200 || !strings.Contains(body, "partwright_http_requests_total{") ||
		!strings.Contains(body, "go_goroutines") || !strings.Contains(body, "process_resident_memory_bytes") {
		t.Errorf("/metrics: %d %.300s", code, body)
	}
	if code, body := ask("/healthz"); code != 200 || body != "alive\n" {
		t.Errorf("/healthz: %d %s", code, body)
	}
	if code, body := ask("/readyz"); code != 200 || body != "ready\n" {
		t.Errorf("/readyz: %d %s", code, body)
	}
	pool.stuck = true
	if code, body := ask("/readyz"); code != 503 || body != "not-ready\n" {
		t.Errorf("/readyz with every worker stuck: %d %s", code, body)
	}
	if w := newRecorder(s.server.Handler(), get("/metrics")); w.Code != 404 {
		t.Errorf("metrics on the public side: %d", w.Code)
	}
}

// The longest upload that is allowed falls into a bucket of its own, not among all that
// took longer than the last one.
func TestBucketsReachTheLongestUpload(t *testing.T) {
	registry := prometheus.NewRegistry()
	m := newMetrics(registry, "test")
	m.duration.WithLabelValues("POST", "/v1/batches", "202").Observe(DefaultConfig().BatchUploadTimeout.Seconds())
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range families {
		if f.GetName() != "partwright_http_request_duration_seconds" {
			continue
		}
		buckets := f.GetMetric()[0].GetHistogram().GetBucket()
		if last := buckets[len(buckets)-1]; last.GetCumulativeCount() != 1 {
			t.Errorf("the last bucket ends at %v s", last.GetUpperBound())
		}
		return
	}
	t.Error("there is no such metric")
}
