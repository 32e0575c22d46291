package ltitest

import (
	"crypto/rsa"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math/big"
	"net/http"
	"strings"
	"sync"
	"time"

	"partwright/api/lti"
)

// Score is a score that came through.
type Score struct {
	Pupil     string   `json:"userId"`
	Timestamp string   `json:"timestamp"`
	Activity  string   `json:"activityProgress"`
	Grading   string   `json:"gradingProgress"`
	Given     *float64 `json:"scoreGiven"`
	Maximum   *float64 `json:"scoreMaximum"`
	Comment   *string  `json:"comment"`
}

// Trouble is what goes wrong with a post of a score.
type Trouble int

// Kinds of trouble.
const (
	// Nothing goes wrong.
	Nothing Trouble = iota
	// FailBefore answers 500 and records nothing.
	FailBefore
	// FailAfter answers 500 although the score was recorded.
	FailAfter
	// Silence records the score and never answers.
	Silence
	// Late answers after a while.
	Late
)

type gradebook struct {
	mu      sync.Mutex
	scores  []Score
	last    map[string]time.Time // by column and pupil
	posts   int
	repeats int
	trouble []Trouble
	columns []lti.LineItem
	strict  bool
	late    time.Duration
	// entered are marks that a teacher has entered in the learning system itself.
	entered []Score
}

func (g *gradebook) init() {
	g.last, g.strict, g.late = map[string]time.Time{}, true, 100*time.Millisecond
}

// Column is the column that is coupled to the link: its address has a query.
func (p *Platform) Column() string { return p.URL() + "/columns/1/lineitem?type_id=2&course=1" }

// Trouble makes the next posts of scores go wrong.
func (p *Platform) Trouble(next ...Trouble) {
	p.grades.mu.Lock()
	defer p.grades.mu.Unlock()
	p.grades.trouble = append(p.grades.trouble, next...)
}

// Lax makes the learning system take a score again that it has, as some do.
func (p *Platform) Lax() {
	p.grades.mu.Lock()
	defer p.grades.mu.Unlock()
	p.grades.strict = false
}

// Enter is what a teacher enters in the learning system itself.
func (p *Platform) Enter(pupil string, given, maximum float64) {
	p.grades.mu.Lock()
	defer p.grades.mu.Unlock()
	comment := ""
	p.grades.entered = append(p.grades.entered, Score{Pupil: pupil, Given: &given, Maximum: &maximum, Comment: &comment})
}

func (p *Platform) overrides() []Score {
	p.grades.mu.Lock()
	defer p.grades.mu.Unlock()
	return append([]Score(nil), p.grades.entered...)
}

// Scores are those that came through, in their order. Posts counts all that came, and
// Repeats those of a score that was there, which were refused.
func (p *Platform) Scores() []Score {
	p.grades.mu.Lock()
	defer p.grades.mu.Unlock()
	return append([]Score(nil), p.grades.scores...)
}

// Posts counts the posts of scores, and those of a score that was there already.
func (p *Platform) Posts() (all, repeats int) {
	p.grades.mu.Lock()
	defer p.grades.mu.Unlock()
	return p.grades.posts, p.grades.repeats
}

// Columns are those that the tool made.
func (p *Platform) Columns() []lti.LineItem {
	p.grades.mu.Lock()
	defer p.grades.mu.Unlock()
	return append([]lti.LineItem(nil), p.grades.columns...)
}

func (p *Platform) serveColumn(w http.ResponseWriter, r *http.Request) {
	switch {
	case r.URL.RawQuery != "type_id=2&course=1" && !strings.HasPrefix(r.URL.RawQuery, "type_id=2&course=1&"):
		p.fault(w, http.StatusBadRequest, "column: the query of its address was lost: %q", r.URL.RawQuery)
	case r.Method == http.MethodPost && strings.HasSuffix(r.URL.Path, "/lineitem/scores"):
		p.takeScore(w, r)
	case r.Method == http.MethodGet && strings.HasSuffix(r.URL.Path, "/lineitem/results"):
		p.serveResults(w, r)
	default:
		p.fault(w, http.StatusNotFound, "column: %s %s", r.Method, r.URL.Path)
	}
}

// takeScore holds a score to AGS 3.4.
func (p *Platform) takeScore(w http.ResponseWriter, r *http.Request) {
	if !p.may(w, r, lti.ScopeScores) {
		return
	}
	var s Score
	decoder := json.NewDecoder(r.Body)
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&s); err != nil || r.Header.Get("Content-Type") != "application/vnd.ims.lis.v1.score+json" {
		p.fault(w, http.StatusBadRequest, "score: %v, %s", err, r.Header.Get("Content-Type"))
		return
	}
	at, err := time.Parse(time.RFC3339, s.Timestamp)
	graded := s.Grading == "FullyGraded"
	switch {
	case err != nil || !strings.Contains(s.Timestamp, "."):
		p.fault(w, http.StatusBadRequest, "score: the timestamp %q has no parts of seconds (AGS 3.4.9)", s.Timestamp)
	case s.Pupil == "":
		p.fault(w, http.StatusBadRequest, "score: no pupil (AGS 3.4.6)")
	case (s.Given == nil) != (s.Maximum == nil) || (s.Given == nil) != (s.Comment == nil):
		p.fault(w, http.StatusBadRequest, "score: score, maximum and comment do not come together")
	case graded && (s.Given == nil || s.Activity != "Completed") || !graded && (s.Grading != "PendingManual" || s.Given != nil || s.Activity != "Submitted"):
		p.fault(w, http.StatusBadRequest, "score: %s, %s, given %v", s.Activity, s.Grading, s.Given)
	case s.Given != nil && (*s.Given < 0 || *s.Maximum <= 0):
		p.fault(w, http.StatusBadRequest, "score: %v of %v (AGS 3.4.4)", *s.Given, *s.Maximum)
	default:
		p.record(w, r, s, at)
	}
}

func (p *Platform) record(w http.ResponseWriter, r *http.Request, s Score, at time.Time) {
	g := &p.grades
	g.mu.Lock()
	g.posts++
	trouble := Nothing
	if len(g.trouble) > 0 {
		trouble, g.trouble = g.trouble[0], g.trouble[1:]
	}
	conflict := false
	if trouble != FailBefore {
		last := g.last[r.URL.Path+" "+s.Pupil]
		if at.Equal(last) {
			g.repeats++
		}
		if conflict = at.Before(last) || g.strict && at.Equal(last); !conflict {
			g.last[r.URL.Path+" "+s.Pupil] = at
			g.scores = append(g.scores, s)
		}
	}
	g.mu.Unlock()
	switch trouble {
	case FailBefore, FailAfter:
		http.Error(w, "trouble", http.StatusInternalServerError)
		return
	case Silence:
		// Until the client gives up, or its process has ended.
		_ = http.NewResponseController(w).SetReadDeadline(time.Time{})
		<-r.Context().Done()
		return
	case Late:
		time.Sleep(g.late)
	}
	if conflict {
		w.WriteHeader(http.StatusConflict)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

func (p *Platform) serveResults(w http.ResponseWriter, r *http.Request) {
	if !p.may(w, r, lti.ScopeResults) {
		return
	}
	pupil := r.URL.Query().Get("user_id")
	last := map[string]Score{}
	for _, s := range p.Scores() {
		last[s.Pupil] = s
	}
	for _, s := range p.overrides() {
		last[s.Pupil] = s
	}
	all := []map[string]any{}
	for _, s := range last {
		if (pupil == "" || s.Pupil == pupil) && s.Given != nil {
			all = append(all, map[string]any{"userId": s.Pupil, "resultScore": *s.Given * 10 / *s.Maximum, "resultMaximum": 10, "comment": *s.Comment})
		}
	}
	writeJSON(w, "application/vnd.ims.lis.v2.resultcontainer+json", all)
}

// serveColumns lists columns, without looking at filters, page by page, and makes new ones (AGS 3.2).
func (p *Platform) serveColumns(w http.ResponseWriter, r *http.Request) {
	if !p.may(w, r, lti.ScopeLineItems) {
		return
	}
	if r.URL.Query().Get("course") != "1" {
		p.fault(w, http.StatusBadRequest, "columns: the query of their address was lost: %q", r.URL.RawQuery)
		return
	}
	g := &p.grades
	g.mu.Lock()
	defer g.mu.Unlock()
	if r.Method == http.MethodGet {
		page := 0
		_, _ = fmt.Sscan(r.URL.Query().Get("page"), &page)
		if page+1 < len(g.columns) {
			w.Header().Set("Link", fmt.Sprintf(`</columns?course=1&page=%d>; rel=next`, page+1))
		}
		writeJSON(w, "application/vnd.ims.lis.v2.lineitemcontainer+json", append([]lti.LineItem{}, g.columns[min(page, len(g.columns)):min(page+1, len(g.columns))]...))
		return
	}
	var made lti.LineItem
	if err := json.NewDecoder(r.Body).Decode(&made); err != nil || made.Label == "" || made.Maximum <= 0 || r.Header.Get("Content-Type") != "application/vnd.ims.lis.v2.lineitem+json" {
		http.Error(w, "not as the standard has it", http.StatusBadRequest)
		return
	}
	made.ID = fmt.Sprintf("%s/columns/made-%d/lineitem?type_id=2&course=1", p.URL(), len(g.columns)+1)
	g.columns = append(g.columns, made)
	w.Header().Set("Content-Type", "application/vnd.ims.lis.v2.lineitem+json")
	w.WriteHeader(http.StatusCreated)
	_ = json.NewEncoder(w).Encode(made)
}

// publicKey reads a key of the tool.
func publicKey(k lti.JWK) (*rsa.PublicKey, error) {
	n, err := base64.RawURLEncoding.DecodeString(k.Modulus)
	if err != nil {
		return nil, err
	}
	e, err := base64.RawURLEncoding.DecodeString(k.Exponent)
	return &rsa.PublicKey{N: new(big.Int).SetBytes(n), E: int(new(big.Int).SetBytes(e).Int64())}, err
}
