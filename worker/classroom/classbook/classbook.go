// Package classbook keeps assignments of organizations in the store, with what was handed
// in and what was decided: package classroom for a service that several schools share.
// Begin at [New].
package classbook

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"partwright/worker/classroom"
	"partwright/worker/request"
	"partwright/worker/store"
)

// Bounds on what is kept: hand-ins of one reference to one assignment, bytes of a
// reference, and markers held ready.
const (
	MaxAttempts  = 50
	MaxReference = 200
	mostMarkers  = 256
	mostRetries  = 10
)

// noReference is a reference that nobody has: it is too long.
var noReference = strings.Repeat("-", MaxReference+1)

// Errors beside [store.ErrNotFound].
var (
	// ErrClosed is returned for work that comes before the assignment has opened.
	ErrClosed = errors.New("the assignment has not opened yet")
	// ErrLastTeacher is returned to whoever would leave an assignment to nobody, which is to
	// everybody who teaches.
	ErrLastTeacher = errors.New("an assignment stays with one teacher at least")
	// ErrTooMany is returned for more attempts than are kept.
	ErrTooMany = fmt.Errorf("a reference hands in at most %d times", MaxAttempts)
)

// InvalidError says what is wrong with a decision or a reference.
type InvalidError struct{ Problem string }

// Error returns the problem.
func (e *InvalidError) Error() string { return e.Problem }

// Service keeps the assignments of organizations. It is safe for concurrent use.
type Service struct {
	store *store.Store
	pool  classroom.Doer
	// Tell, if set, is called in the transaction in which something is handed in or
	// decided, with what it changes. Who is told must be told in that transaction too.
	Tell func(ctx context.Context, tx store.Tx, c *Change) error
	// Forgotten, if set, is called in the transaction that forgets a reference.
	Forgotten func(ctx context.Context, tx store.Tx, organization, assignment, reference string) error

	mu      sync.Mutex
	markers map[version]*classroom.Marker
}

// New returns a service that marks with a pool.
func New(s *store.Store, pool classroom.Doer) *Service {
	return &Service{store: s, pool: pool, markers: map[version]*classroom.Marker{}}
}

// content is an assignment as it is kept. It must stay readable.
type content struct {
	*classroom.Assignment
	Exercise  request.Source
	Models    []request.Source
	OwnRules  request.Source
	OwnRubric request.Source
	// Roster are the references that should hand in, nil where nobody has said.
	Roster []string `json:",omitempty"`
}

func pack(a *classroom.Assignment, roster []string) (store.Blob, error) {
	text, err := json.Marshal(content{a, a.Exercise, a.Models, a.OwnRules, a.OwnRubric, roster})
	return store.Pack(text), err
}

func unpack(kept *store.Assignment) (*content, error) {
	text, err := kept.Content.Unpack()
	if err != nil {
		return nil, err
	}
	c := content{Assignment: &classroom.Assignment{}}
	if err := json.Unmarshal(text, &c); err != nil {
		return nil, fmt.Errorf("reading a stored assignment: %w", err)
	}
	a := c.Assignment
	a.Exercise, a.Models, a.OwnRules, a.OwnRubric = c.Exercise, c.Models, c.OwnRules, c.OwnRubric
	return &c, nil
}

// marking is what a hand-in has come to, as it is kept. It must stay readable.
type marking struct {
	Marking   *classroom.Marking `json:"marking"`
	First     *classroom.Marking `json:"first,omitempty"`
	Extension string             `json:"extension,omitempty"`
}

func packHandIn(h *classroom.HandIn) (packed, marked store.Blob, err error) {
	text, err := json.Marshal(marking{h.Marking, h.First, h.Marking.Extension})
	return store.Pack(text), store.Pack(h.Marking.Score), err
}

func unpackHandIn(kept *store.HandIn) (classroom.HandIn, error) {
	h := classroom.HandIn{Reference: kept.Reference, Attempt: kept.Attempt, Received: kept.Received}
	text, err := kept.Marking.Unpack()
	if err != nil {
		return h, err
	}
	var m marking
	if err := json.Unmarshal(text, &m); err != nil {
		return h, fmt.Errorf("reading a stored marking: %w", err)
	}
	h.Marking, h.First = m.Marking, m.First
	h.Marking.Extension = m.Extension
	h.Marking.Score, err = kept.Marked.Unpack()
	return h, err
}

// Create makes the sheets of an assignment and keeps it, given to some who teach; it gives
// it an id.
func (s *Service) Create(ctx context.Context, organization string, a *classroom.Assignment, o classroom.Order, teachers ...string) error {
	a.ID = classroom.NewID()
	if err := classroom.Prepare(ctx, s.pool, a, o); err != nil {
		return err
	}
	return s.Keep(ctx, organization, a, teachers...)
}

// Keep keeps an assignment that is prepared, under the id that it has. Given to nobody it is
// for everybody who teaches in the organization.
func (s *Service) Keep(ctx context.Context, organization string, a *classroom.Assignment, teachers ...string) error {
	packed, err := pack(a, nil)
	if err != nil {
		return err
	}
	return s.store.Write(ctx, func(tx store.Tx) error {
		return s.store.CreateAssignment(ctx, tx, store.Assignment{ID: a.ID, Organization: organization, Content: packed, Teachers: teachers})
	})
}

// List returns the assignments of an organization, the oldest first.
func (s *Service) List(ctx context.Context, organization string) ([]classroom.Assignment, error) {
	out := []classroom.Assignment{}
	var kept []store.Assignment
	err := s.store.Read(ctx, func(tx store.Tx) (err error) {
		kept, err = store.Assignments(ctx, tx, organization)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i := range kept {
		c, err := unpack(&kept[i])
		if err != nil {
			return nil, err
		}
		out = append(out, *c.Assignment)
	}
	return out, nil
}

// Get returns an assignment.
func (s *Service) Get(ctx context.Context, organization, id string) (*classroom.Assignment, error) {
	var kept *store.Assignment
	err := s.store.Read(ctx, func(tx store.Tx) (err error) {
		kept, err = store.AssignmentByID(ctx, tx, organization, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	c, err := unpack(kept)
	if err != nil {
		return nil, err
	}
	return c.Assignment, nil
}

// Delete deletes an assignment with all that was handed in and decided.
func (s *Service) Delete(ctx context.Context, organization, id string) error {
	err := s.store.Write(ctx, func(tx store.Tx) error { return store.DeleteAssignment(ctx, tx, organization, id) })
	if err == nil {
		s.mu.Lock()
		maps.DeleteFunc(s.markers, func(v version, _ *classroom.Marker) bool { return v.assignment == id })
		s.mu.Unlock()
	}
	return err
}

// version is an assignment as it was between two changes.
type version struct {
	assignment string
	revision   int64
}

// marker is ready for an assignment as it is.
func (s *Service) marker(ctx context.Context, k *kept) (*classroom.Marker, error) {
	at := version{k.assignment.ID, k.revision}
	s.mu.Lock()
	m := s.markers[at]
	s.mu.Unlock()
	if m != nil {
		return m, nil
	}
	m, err := classroom.NewMarker(ctx, k.assignment, s.pool)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for other := range s.markers {
		if len(s.markers) < mostMarkers {
			break
		}
		delete(s.markers, other)
	}
	s.markers[at] = m
	return m, nil
}

// kept is all that is known of an assignment at one moment.
type kept struct {
	assignment *classroom.Assignment
	handIns    []classroom.HandIn
	scores     []store.Blob
	log        classroom.Log
	roster     []string
	last       int64
	revision   int64
}

// read reads an assignment with its log and what a reference has handed in, or all where
// it is "".
func (s *Service) read(ctx context.Context, organization, id, reference string, scores bool) (*kept, error) {
	var a *store.Assignment
	var handIns []store.HandIn
	var entries []store.ClassEntry
	err := s.store.Read(ctx, func(tx store.Tx) (err error) {
		if a, err = store.AssignmentByID(ctx, tx, organization, id); err != nil {
			return err
		}
		if handIns, err = store.HandIns(ctx, tx, organization, id, reference, scores); err != nil {
			return err
		}
		entries, err = store.ClassEntries(ctx, tx, organization, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	c, err := unpack(a)
	if err != nil {
		return nil, err
	}
	k := &kept{assignment: c.Assignment, roster: c.Roster, last: a.LastEntry, revision: a.Revision, handIns: []classroom.HandIn{}, log: classroom.Log{}}
	for i := range handIns {
		h, err := unpackHandIn(&handIns[i])
		if err != nil {
			return nil, err
		}
		k.handIns, k.scores = append(k.handIns, h), append(k.scores, handIns[i].Score)
	}
	for i := range entries {
		var e classroom.Entry
		if err := json.Unmarshal([]byte(entries[i].Content), &e); err != nil {
			return nil, fmt.Errorf("reading a stored decision: %w", err)
		}
		k.log = append(k.log, e)
	}
	return k, nil
}

// aReference says what a reference is.
var aReference = fmt.Sprintf("a reference is a text of 1 to %d bytes without control characters", MaxReference)

func wellFormed(reference string) bool {
	return reference != "" && len(reference) <= MaxReference && !strings.ContainsFunc(reference, func(r rune) bool { return r < ' ' || r == 0x7f })
}

// Key stands for one request, so that it counts once however often it is sent.
type Key struct {
	// Value is chosen by the client, "" for none; Fingerprint stands for the content.
	Value, Fingerprint string
}

// HandIn is [Service.HandInOnce] without a key.
func (s *Service) HandIn(ctx context.Context, organization, id, reference string, score []byte) (*classroom.Seen, error) {
	return s.HandInOnce(ctx, organization, id, reference, score, Key{})
}

// HandInOnce marks what a reference hands in and keeps it as its next attempt. What comes
// back is what the pupil sees. What was handed in with the same key before is shown again;
// the error is [store.ErrKeyReused] if it was something else.
func (s *Service) HandInOnce(ctx context.Context, organization, id, reference string, score []byte, key Key) (*classroom.Seen, error) {
	if !wellFormed(reference) {
		return nil, &InvalidError{aReference}
	}
	return retried(func() (*classroom.Seen, error) { return s.handIn(ctx, organization, id, reference, score, key) })
}

// retried does again what something else got in the way of, some times.
func retried[T any](do func() (T, error)) (out T, err error) {
	for range mostRetries {
		if out, err = do(); !errors.Is(err, store.ErrMeanwhile) {
			break
		}
	}
	return out, err
}

func (s *Service) handIn(ctx context.Context, organization, id, reference string, score []byte, key Key) (*classroom.Seen, error) {
	k, err := s.read(ctx, organization, id, reference, false)
	if err != nil {
		return nil, err
	}
	if seen, err := s.seenBefore(ctx, k, organization, key); seen != nil || err != nil {
		return seen, err
	}
	now := s.store.Now()
	switch {
	case now.Before(k.assignment.Opens):
		return nil, ErrClosed
	case len(k.handIns) >= MaxAttempts:
		return nil, ErrTooMany
	}
	m, err := s.marker(ctx, k)
	if err != nil {
		return nil, err
	}
	h := &classroom.HandIn{Reference: reference, Received: now}
	if h.Marking, err = m.Mark(ctx, score, nil); err != nil {
		return nil, err
	}
	packed, marked, err := packHandIn(h)
	if err != nil {
		return nil, err
	}
	row := store.HandIn{Assignment: id, Organization: organization, Reference: reference, Score: store.Pack(score), Marking: packed, Marked: marked, Received: now, Revision: k.revision}
	err = s.store.Write(ctx, func(tx store.Tx) (err error) {
		if h.Attempt, err = s.store.AddHandIn(ctx, tx, row); err != nil {
			return err
		}
		if key.Value != "" {
			first, err := s.store.Remember(ctx, tx, organization, key.Value, key.Fingerprint, strconv.Itoa(h.Attempt))
			if err == nil && !first {
				err = store.ErrMeanwhile // the same request is answered at the same time
			}
			if err != nil {
				return err
			}
		}
		if s.Tell == nil {
			return nil
		}
		next := *k
		next.handIns = append(slices.Clip(k.handIns), *h)
		return s.Tell(ctx, tx, k.changedBy(organization, "", &next))
	})
	if err != nil {
		return nil, err
	}
	seen := k.assignment.ForPupil(h, k.log, now)
	return &seen, nil
}

// seenBefore shows what was handed in with a key before, nil for nothing.
func (s *Service) seenBefore(ctx context.Context, k *kept, organization string, key Key) (*classroom.Seen, error) {
	if key.Value == "" {
		return nil, nil
	}
	var answer string
	err := s.store.Read(ctx, func(tx store.Tx) (err error) {
		answer, err = store.Remembered(ctx, tx, organization, key.Value, key.Fingerprint)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	for i := range k.handIns {
		if strconv.Itoa(k.handIns[i].Attempt) == answer {
			seen := k.assignment.ForPupil(&k.handIns[i], k.log, s.store.Now())
			return &seen, nil
		}
	}
	return nil, store.ErrNotFound // it was deleted since
}

// Own is what a copy of an assignment has of its own. Without a title it has that of the
// assignment, which stands at the head of the sheet in any case.
type Own struct {
	Title         string
	Opens, Closes time.Time
	Groups        map[string][]string
}

// Copy keeps an assignment once more, for another class: with times and groups of its own,
// given to some who teach, and without work.
func (s *Service) Copy(ctx context.Context, organization, id string, own Own, teachers ...string) (*classroom.Assignment, error) {
	a, err := s.Get(ctx, organization, id)
	if err != nil {
		return nil, err
	}
	next := a.NextYear(classroom.NewID())
	next.Title = cmp.Or(strings.TrimSpace(own.Title), a.Title)
	next.Opens, next.Closes, next.Groups = own.Opens, own.Closes, own.Groups
	if err := next.Check(); err != nil {
		return nil, err
	}
	return next, s.Keep(ctx, organization, next, teachers...)
}

// SetMarks enters marks from a table ([classroom.ReadMarks]), where they are others than
// those that hold, each as a decision. It returns how many.
func (s *Service) SetMarks(ctx context.Context, organization, id, by string, marks []classroom.GivenMark) (int, error) {
	all, err := s.Marks(ctx, organization, id)
	if err != nil {
		return 0, err
	}
	of := map[string]*classroom.Outcome{}
	for i := range all {
		of[all[i].Reference] = &all[i]
	}
	for _, m := range marks {
		if of[m.Reference] == nil {
			return 0, &InvalidError{fmt.Sprintf("row %d: nothing that counts was handed in under the reference %.64q", m.Row, m.Reference)}
		}
	}
	n := 0
	for _, m := range marks {
		o := of[m.Reference]
		if o.Mark != nil && *o.Mark == m.Mark {
			continue
		}
		if _, err := s.Decide(ctx, organization, id, classroom.Entry{By: by, Do: classroom.SetMark, Reference: m.Reference, Attempt: o.Attempt, Mark: &m.Mark, Text: m.Why}); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

// Seen is what a pupil sees of all attempts of a reference.
func (s *Service) Seen(ctx context.Context, organization, id, reference string) ([]classroom.Seen, error) {
	k, err := s.read(ctx, organization, id, reference, false)
	if err != nil {
		return nil, err
	}
	out := []classroom.Seen{}
	for i := range k.handIns {
		out = append(out, k.assignment.ForPupil(&k.handIns[i], k.log, s.store.Now()))
	}
	return out, nil
}

// Task is what a reference needs to know of an assignment before it hands in.
func (s *Service) Task(ctx context.Context, organization, id, reference string) (*classroom.Task, error) {
	k, err := s.read(ctx, organization, id, reference, false)
	if err != nil {
		return nil, err
	}
	t := k.assignment.TaskOf(reference, len(k.handIns), k.log, s.store.Now())
	return &t, nil
}

// Decide enters what a teacher decides. A finding may be named by its number. What comes
// back are the outcomes of the attempts concerned.
func (s *Service) Decide(ctx context.Context, organization, id string, e classroom.Entry) ([]classroom.Outcome, error) {
	return retried(func() ([]classroom.Outcome, error) { return s.decide(ctx, organization, id, e) })
}

func (s *Service) decide(ctx context.Context, organization, id string, e classroom.Entry) ([]classroom.Outcome, error) {
	k, err := s.read(ctx, organization, id, e.Reference, true)
	if err != nil {
		return nil, err
	}
	e.At, e.UpTo = s.store.Now().UTC(), time.Time{}
	if e.Do == classroom.Release {
		e.UpTo = e.At // what comes later waits for another release
	}
	at, before := -1, slices.Clone(k.handIns)
	if e.Do != classroom.Release && e.Do != classroom.TakeBack && e.Do != classroom.Extend {
		if at, err = k.complete(&e); err != nil {
			return nil, err
		}
	}
	if err = k.assignment.FromStock(&e); err == nil {
		err = e.Check()
	}
	if err != nil {
		return nil, &InvalidError{err.Error()}
	}
	was := *k
	was.handIns = before
	k.log = append(slices.Clip(k.log), e)
	var again *store.HandIn
	if at >= 0 && (e.Do == classroom.Waive || e.Do == classroom.Accept || e.Do == classroom.Restore) {
		if again, err = s.again(ctx, organization, k, at); err != nil {
			return nil, err
		}
	}
	text, err := json.Marshal(&e)
	if err != nil {
		return nil, err
	}
	err = s.store.Write(ctx, func(tx store.Tx) error {
		err := store.AddClassEntry(ctx, tx, store.ClassEntry{Assignment: id, Organization: organization, Reference: e.Reference, Content: string(text)}, k.last)
		if err == nil && again != nil {
			err = store.MarkHandIn(ctx, tx, *again)
		}
		if err == nil && s.Tell != nil {
			err = s.Tell(ctx, tx, was.changedBy(organization, e.Do, k))
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return k.assignment.Outcomes(k.handIns, k.log), nil
}

// complete finds the attempt that a decision is about, the last one where none is named,
// the finding by its number, and the marks that hold until now.
func (k *kept) complete(e *classroom.Entry) (at int, err error) {
	at = -1
	for i := range k.handIns {
		if e.Reference != "" && (e.Attempt == 0 || e.Attempt == k.handIns[i].Attempt) {
			at = i
		}
	}
	if at < 0 {
		return at, &InvalidError{"the decision names no attempt of a reference that was handed in"}
	}
	h := &k.handIns[at]
	e.Attempt = h.Attempt
	if e.Number > 0 {
		if e.Finding, err = h.Finding(e.Number); err != nil {
			return at, &InvalidError{err.Error()}
		}
	}
	if e.Do == classroom.SetMark {
		before := k.assignment.Outcome(h, k.log)
		e.Proposed, e.Before = before.Proposed, before.Mark
	}
	return at, nil
}

// again marks an attempt by what is decided now.
func (s *Service) again(ctx context.Context, organization string, k *kept, at int) (*store.HandIn, error) {
	m, err := s.marker(ctx, k)
	if err != nil {
		return nil, err
	}
	score, err := k.scores[at].Unpack()
	if err != nil {
		return nil, err
	}
	h := &k.handIns[at]
	d := k.log.Decided(h.Reference, h.Attempt)
	h.First = nil
	if err := m.Decide(ctx, h, score, &d); err != nil {
		return nil, err
	}
	packed, marked, err := packHandIn(h)
	return &store.HandIn{Assignment: k.assignment.ID, Organization: organization, Reference: h.Reference, Attempt: h.Attempt, Marking: packed, Marked: marked}, err
}

// Log returns what was decided, in order.
func (s *Service) Log(ctx context.Context, organization, id string) (classroom.Log, error) {
	k, err := s.read(ctx, organization, id, noReference, false)
	if err != nil {
		return nil, err
	}
	return k.log, nil
}

// Report sums up the class.
func (s *Service) Report(ctx context.Context, organization, id string) (*classroom.Report, error) {
	k, err := s.read(ctx, organization, id, "", false)
	if err != nil {
		return nil, err
	}
	m, err := s.marker(ctx, k)
	if err != nil {
		return nil, err
	}
	return m.Report(k.handIns, k.log, k.roster), nil
}

// Forget deletes what a reference has handed in for an assignment. The log keeps its
// entries under another reference, which leads nowhere.
func (s *Service) Forget(ctx context.Context, organization, id, reference, by string) error {
	nowhere := "forgotten-" + classroom.NewID()
	rename := func(text string) (string, error) {
		var e classroom.Entry
		if err := json.Unmarshal([]byte(text), &e); err != nil {
			return "", err
		}
		e.Reference = nowhere
		out, err := json.Marshal(&e)
		return string(out), err
	}
	last, err := json.Marshal(&classroom.Entry{At: s.store.Now().UTC().Truncate(time.Second), By: by, Do: classroom.Forget, Reference: nowhere})
	if err != nil {
		return err
	}
	return s.store.Write(ctx, func(tx store.Tx) error {
		n, err := store.ForgetReference(ctx, tx, organization, id, reference, nowhere, rename)
		if err != nil {
			return err
		}
		listed, err := s.strike(ctx, tx, organization, id, reference)
		if err != nil {
			return err
		}
		if n == 0 && !listed {
			return store.ErrNotFound
		}
		if s.Forgotten != nil {
			if err := s.Forgotten(ctx, tx, organization, id, reference); err != nil {
				return err
			}
		}
		a, err := store.AssignmentByID(ctx, tx, organization, id)
		if err != nil {
			return err
		}
		return store.AddClassEntry(ctx, tx, store.ClassEntry{Assignment: id, Organization: organization, Reference: nowhere, Content: string(last)}, a.LastEntry)
	})
}
