package deploy_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
)

// exposed are the metrics of a service after a check and a batch: the labels of
// each with the values they have had.
type exposed map[string]map[string][]string

// expose starts the program as an operator would, posts one score singly and one in
// a batch, and scrapes it.
var expose = sync.OnceValues(func() (exposed, error) {
	dir, err := os.MkdirTemp("", "partwright")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	program := filepath.Join(dir, "partwright")
	if out, err := exec.Command("go", "build", "-o", program, "..").CombinedOutput(); err != nil { // #nosec G204 -- the test's own words
		return nil, fmt.Errorf("building the program: %w\n%s", err, out)
	}
	addr, operator, err := addresses()
	if err != nil {
		return nil, err
	}
	var log bytes.Buffer
	service := exec.Command(program, "serve", "--addr", addr, "--operator-addr", operator, "--data-dir", filepath.Join(dir, "data")) // #nosec G204 -- the same
	service.Stderr = &log
	if err := service.Start(); err != nil {
		return nil, err
	}
	defer func() {
		_ = service.Process.Signal(syscall.SIGTERM)
		_ = service.Wait()
	}()
	all, err := use("http://"+addr, "http://"+operator)
	if err != nil {
		return nil, fmt.Errorf("%w; its log: %s", err, log.String())
	}
	return all, nil
})

func metricsOf(t *testing.T) exposed {
	t.Helper()
	all, err := expose()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// addresses are two that are free on this machine.
func addresses() (one, other string, err error) {
	var found [2]string
	for i := range found {
		var listen net.ListenConfig
		l, err := listen.Listen(context.Background(), "tcp", "127.0.0.1:0")
		if err != nil {
			return "", "", err
		}
		defer func() { _ = l.Close() }()
		found[i] = l.Addr().String()
	}
	return found[0], found[1], nil
}

// use asks a service for everything and scrapes it.
func use(service, operator string) (exposed, error) {
	if err := eventually(func() (bool, error) {
		_, err := ask(http.MethodGet, operator+"/readyz", nil)
		return err == nil, nil
	}); err != nil {
		return nil, fmt.Errorf("the service does not get ready: %w", err)
	}
	score, err := os.ReadFile("../testdata/class/hand-in.musicxml")
	if err != nil {
		return nil, err
	}
	if _, err := ask(http.MethodPost, service+"/v1/checks", score); err != nil {
		return nil, err
	}
	made, err := ask(http.MethodPost, service+"/v1/batches", score)
	if err != nil {
		return nil, err
	}
	var batch struct{ ID string }
	if err := json.Unmarshal(made, &batch); err != nil {
		return nil, err
	}
	if err := eventually(func() (bool, error) {
		status, err := ask(http.MethodGet, service+"/v1/batches/"+batch.ID, nil)
		return strings.Contains(string(status), `"finished"`), err
	}); err != nil {
		return nil, fmt.Errorf("the batch does not get done: %w", err)
	}
	text, err := ask(http.MethodGet, operator+"/metrics", nil)
	if err != nil {
		return nil, err
	}
	return parse(text)
}

var errTime = errors.New("the time is up")

func eventually(done func() (bool, error)) error {
	for until := time.Now().Add(30 * time.Second); time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
		if ok, err := done(); ok || err != nil {
			return err
		}
	}
	return errTime
}

func ask(method, url string, body []byte) ([]byte, error) {
	request, err := http.NewRequestWithContext(context.Background(), method, url, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	if body != nil {
		request.Header.Set("Content-Type", "application/vnd.recordare.musicxml+xml")
		request.Header.Set("Content-Disposition", `attachment; filename="hand-in.musicxml"`)
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return nil, err
	}
	defer func() { _ = answer.Body.Close() }()
	text, err := io.ReadAll(answer.Body)
	if err == nil && answer.StatusCode >= 300 {
		err = fmt.Errorf("%s %s: %s: %s", method, url, answer.Status, text)
	}
	return text, err
}

// parse reads the text format of Prometheus.
func parse(text []byte) (exposed, error) {
	parser := expfmt.NewTextParser(model.LegacyValidation)
	families, err := parser.TextToMetricFamilies(bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	all := exposed{}
	for _, family := range families {
		names := []string{family.GetName()}
		if family.GetType() == dto.MetricType_HISTOGRAM {
			names = nil
			for _, part := range []string{"_bucket", "_sum", "_count"} {
				names = append(names, family.GetName()+part)
			}
		}
		for _, name := range names {
			labels := map[string][]string{}
			if strings.HasSuffix(name, "_bucket") {
				labels["le"] = nil
			}
			for _, metric := range family.GetMetric() {
				for _, l := range metric.GetLabel() {
					labels[l.GetName()] = append(labels[l.GetName()], l.GetValue())
				}
			}
			all[name] = labels
		}
	}
	return all, nil
}
