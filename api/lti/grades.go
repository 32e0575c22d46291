package lti

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"
)

// Media types of Assignment and Grade Services (AGS 3.2.3, 3.2.4, 3.3.3, 3.4.3).
const (
	typeLineItem  = "application/vnd.ims.lis.v2.lineitem+json"
	typeLineItems = "application/vnd.ims.lis.v2.lineitemcontainer+json"
	typeResults   = "application/vnd.ims.lis.v2.resultcontainer+json"
	typeScore     = "application/vnd.ims.lis.v1.score+json"
	maxGrades     = 4 << 20
)

// LineItem is a column of a gradebook.
type LineItem struct {
	ID       string  `json:"id,omitempty"`
	Maximum  float64 `json:"scoreMaximum"`
	Label    string  `json:"label"`
	Resource string  `json:"resourceId,omitempty"`
	Link     string  `json:"resourceLinkId,omitempty"`
	Tag      string  `json:"tag,omitempty"`
}

// Column finds the address of the column for what was launched: the one that is coupled
// to the link; else one that was made for the link or the resource before; else a new
// one, where that is granted (AGS 3.2.9: a copied course must not get a second).
func (t *Tool) Column(ctx context.Context, r *Registration, m *Message, wanted LineItem) (string, error) {
	g := m.Grades
	switch {
	case g == nil:
		return "", NotGranted.Because("The launch offers no gradebook.")
	case g.LineItem != "":
		return g.LineItem, nil
	case g.LineItems == "" || !slices.Contains(g.Scopes, ScopeLineItems):
		return "", NotGranted.Because("The launch names no column of the gradebook, and lets none be made.")
	}
	wanted.Link = m.Link
	all, err := t.lineItems(ctx, r, g, wanted)
	if err != nil {
		return "", err
	}
	if len(all) > 0 {
		return all[0].ID, nil
	}
	body, err := json.Marshal(wanted)
	if err != nil {
		return "", err
	}
	answer, err := t.callService(ctx, r, call{
		method: http.MethodPost, address: g.LineItems, accept: typeLineItem, content: typeLineItem, body: body,
		scopes: []string{ScopeLineItems}, most: maxGrades,
	})
	if err != nil {
		return "", err
	}
	var made LineItem
	if json.Unmarshal(answer.body, &made) != nil || made.ID == "" {
		return "", PlatformFails.Because("The learning system made a column and did not say where.")
	}
	return made.ID, nil
}

// lineItems lists columns of this link and resource.
func (t *Tool) lineItems(ctx context.Context, r *Registration, g *GradeService, wanted LineItem) ([]LineItem, error) {
	query := url.Values{}
	for name, value := range map[string]string{"resource_link_id": wanted.Link, "resource_id": wanted.Resource, "tag": wanted.Tag} {
		if value != "" {
			query.Set(name, value)
		}
	}
	address, err := withQuery(g.LineItems, query)
	if err != nil {
		return nil, err
	}
	var all []LineItem
	err = t.everyPage(ctx, r, call{method: http.MethodGet, address: address, accept: typeLineItems, scopes: []string{ScopeLineItems}, most: maxGrades},
		func(body []byte) error {
			var page []LineItem
			if err := json.Unmarshal(body, &page); err != nil {
				return PlatformFails.Because("The list of columns cannot be read.")
			}
			for _, one := range page { // filters are asked for, not relied on
				if one.ID != "" && one.Link == wanted.Link && one.Resource == wanted.Resource && one.Tag == wanted.Tag {
					all = append(all, one)
				}
			}
			return nil
		})
	return all, err
}

// withQuery adds parameters to those that an address has.
func withQuery(address string, more url.Values) (string, error) {
	u, err := url.Parse(address)
	if err != nil {
		return "", PlatformRefuses.Because("An address of the learning system cannot be read.")
	}
	added := more.Encode()
	if u.RawQuery != "" && added != "" {
		added = u.RawQuery + "&" + added
	} else if added == "" {
		added = u.RawQuery
	}
	u.RawQuery = added
	return u.String(), nil
}

// below is the address of a service below that of a column: it goes into the path, and
// the query stays (AGS 3.3.1 and 3.4.1).
func below(lineItem, service string) (string, error) {
	u, err := url.Parse(lineItem)
	if err != nil || u.Host == "" {
		return "", PlatformRefuses.Because("The address of a column cannot be read.")
	}
	escaped := strings.TrimSuffix(u.EscapedPath(), "/") + "/" + service
	if u.Path, err = url.PathUnescape(escaped); err != nil {
		return "", PlatformRefuses.Because("The address of a column cannot be read.")
	}
	u.RawPath = escaped
	return u.String(), nil
}

// Result is what stands in a column for a pupil: it may be the teacher's own, entered in
// the learning system.
type Result struct {
	Pupil   string   `json:"userId"`
	Score   *float64 `json:"resultScore"`
	Maximum *float64 `json:"resultMaximum"`
	Comment string   `json:"comment"`
}

// Share is the score as a part of the most; false if there is none. Without a maximum it
// is 1 (AGS 3.3.4.2).
func (r *Result) Share() (float64, bool) {
	if r == nil || r.Score == nil {
		return 0, false
	}
	if r.Maximum == nil || *r.Maximum <= 0 {
		return *r.Score, true
	}
	return *r.Score / *r.Maximum, true
}

// Result reads what stands in a column for a pupil, nil for nothing.
func (t *Tool) Result(ctx context.Context, r *Registration, lineItem, pupil string) (*Result, error) {
	all, err := t.results(ctx, r, lineItem, url.Values{"user_id": {pupil}})
	return all[pupil], err
}

// Results reads all that stands in a column, by pupil.
func (t *Tool) Results(ctx context.Context, r *Registration, lineItem string) (map[string]*Result, error) {
	return t.results(ctx, r, lineItem, nil)
}

func (t *Tool) results(ctx context.Context, r *Registration, lineItem string, query url.Values) (map[string]*Result, error) {
	address, err := below(lineItem, "results")
	if err == nil {
		address, err = withQuery(address, query)
	}
	if err != nil {
		return nil, err
	}
	found := map[string]*Result{}
	err = t.everyPage(ctx, r, call{method: http.MethodGet, address: address, accept: typeResults, scopes: []string{ScopeResults}, most: maxGrades},
		func(body []byte) error {
			var page []Result
			if err := json.Unmarshal(body, &page); err != nil {
				return PlatformFails.Because("The results cannot be read.")
			}
			for i := range page {
				found[page[i].Pupil] = &page[i]
			}
			if len(found) > maxMembers {
				return PlatformRefuses.Because("The column has more results than are read.")
			}
			return nil
		})
	return found, err
}

// score is what is posted (AGS 3.4.3). Score and comment stand together: leaving either
// out clears it. Before the release both are left out, which clears what may have been
// released before.
type score struct {
	Pupil     string   `json:"userId"`
	Timestamp string   `json:"timestamp"`
	Activity  string   `json:"activityProgress"`
	Grading   string   `json:"gradingProgress"`
	Given     *float64 `json:"scoreGiven,omitempty"`
	Maximum   *float64 `json:"scoreMaximum,omitempty"`
	Comment   *string  `json:"comment,omitempty"`
}

// stampLayout has the sub-second precision that AGS 3.4.9 demands.
const stampLayout = "2006-01-02T15:04:05.000Z07:00"

// scoreBody writes a score. The same score is the same bytes each time.
func scoreBody(s *Score) ([]byte, error) {
	out := score{
		Pupil: s.Pupil, Timestamp: time.UnixMilli(s.Stamp).UTC().Format(stampLayout),
		Activity: "Submitted", Grading: "PendingManual",
	}
	if s.Released {
		out.Activity, out.Grading = "Completed", "FullyGraded"
		out.Given, out.Maximum, out.Comment = &s.Given, &s.Maximum, &s.Comment // 0 and "" are sent
	}
	return json.Marshal(out)
}

// postScore publishes a score once.
func (t *Tool) postScore(ctx context.Context, r *Registration, s *Score) error {
	address, err := below(s.LineItem, "scores")
	if err != nil {
		return err
	}
	body, err := scoreBody(s)
	if err != nil {
		return err
	}
	_, err = t.callService(ctx, r, call{method: http.MethodPost, address: address, content: typeScore, body: body, scopes: []string{ScopeScores}, most: maxGrades})
	return err
}

// usable reports why a score cannot be published at all (AGS 3.4.4).
func usable(s *Score) error {
	bad := func(f float64) bool { return math.IsNaN(f) || math.IsInf(f, 0) || f < 0 }
	if s.Pupil == "" || s.LineItem == "" || s.Released && (bad(s.Given) || bad(s.Maximum) || s.Maximum == 0) {
		return MalformedClaim.Because("A score needs a pupil, a column, and points from 0 of more than 0.")
	}
	return nil
}
