package command

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"strings"
	"time"

	"partwright/worker/store"
)

// serviceKey names the variable with the key for a service. There is no flag for it: who
// looks at what runs on a machine sees those.
const serviceKey = "PARTWRIGHT_SERVICE_KEY"

// foundPage is a page of /v1/scores, /v1/findings or /v1/harmonies.
type foundPage struct {
	Scores    []store.FoundScore
	Findings  []store.FoundFinding
	Harmonies []store.FoundHarmony
	Counts    *store.FoundCounts
	Next      string
}

// rows are those of the page, whatever their kind.
func (p *foundPage) rows() (all []any) {
	for i := range p.Scores {
		all = append(all, &p.Scores[i])
	}
	for i := range p.Findings {
		all = append(all, &p.Findings[i])
	}
	for i := range p.Harmonies {
		all = append(all, &p.Harmonies[i])
	}
	return all
}

// mostOnPage is the longest page that a service gives.
const mostOnPage = 1000

// askService asks a service page by page, and says how many rows were found.
func (f *findCommand) askService(ctx context.Context, q *store.Find, by []string, out foundOutput) (rows int, err error) {
	values := url.Values{"limit": {strconv.Itoa(mostOnPage)}}
	for name, value := range q.Is {
		values.Set(name, value)
	}
	for name, value := range map[string]string{
		"succession": strings.Join(q.Succession, " "), "title": q.Title, "text": q.Text, "catalogue": f.catalogue, "count_by": strings.Join(by, ","),
	} {
		if value != "" {
			values.Set(name, value)
		}
	}
	if len(by) > 0 {
		values.Set("limit", "1")
		values.Set("groups", strconv.Itoa(min(max(f.groups, 1), mostOnPage)))
	} else if f.limit > 0 {
		values.Set("limit", strconv.Itoa(min(f.limit, mostOnPage)))
	}
	for {
		page, err := f.askPage(ctx, q.Kind, values)
		if err != nil {
			return rows, err
		}
		if len(by) > 0 {
			return int(page.Counts.Total), out.counts(page.Counts)
		}
		for _, row := range page.rows() {
			if err := out.row(row); err != nil {
				return rows, fmt.Errorf("what was found could not be written: %w", err)
			}
			if rows++; rows == f.limit {
				return rows, out.close()
			}
		}
		if page.Next == "" {
			return rows, out.close()
		}
		values.Set("after", page.Next)
	}
}

// pageTime bounds one request.
const pageTime = time.Minute

// askPage gets one page.
func (f *findCommand) askPage(ctx context.Context, kind string, values url.Values) (*foundPage, error) {
	ctx, cancel := context.WithTimeout(ctx, pageTime)
	defer cancel()
	address, err := url.JoinPath(f.service, "v1", url.PathEscape(kind))
	if err != nil {
		return nil, fmt.Errorf("--service: %w", err)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address+"?"+values.Encode(), nil)
	if err != nil {
		return nil, fmt.Errorf("--service: %w", err)
	}
	if key := os.Getenv(serviceKey); key != "" {
		r.Header.Set("Authorization", "Bearer "+key)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil, fmt.Errorf("the service could not be asked: %w", err)
	}
	defer func() { _ = answer.Body.Close() }()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		return nil, fmt.Errorf("the answer of the service broke off: %w", err)
	}
	if answer.StatusCode != http.StatusOK {
		return nil, refused(answer.Status, text)
	}
	page := &foundPage{}
	if err := json.Unmarshal(text, page); err != nil || values.Has("count_by") && page.Counts == nil {
		return nil, errors.New("--service: what answers there is no service of this program")
	}
	return page, nil
}

// refused says what a service said (RFC 9457).
func refused(status string, text []byte) error {
	var problem struct{ Title, Detail, Advice string }
	if json.Unmarshal(text, &problem) != nil || problem.Title == "" {
		return fmt.Errorf("the service answered %s", status)
	}
	if problem.Detail != "" {
		problem.Title += ". " + problem.Detail
	}
	return fmt.Errorf("the service answered %s: %s %s", status, strings.TrimSuffix(problem.Title, ".")+".", problem.Advice)
}
