package gradebook

import (
	"context"
	"errors"
	"math"

	"partwright/api/lti"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/store"
)

// publish sets the scores of the pupils concerned who came from learning systems.
func (b *Book) publish(ctx context.Context, tx store.Tx, c *classbook.Change) error {
	pupils, err := store.LTIPupils(ctx, tx, c.Assignment.ID)
	if err != nil || len(pupils) == 0 {
		return err
	}
	by := map[string][]*store.LTIPupil{}
	for i := range pupils {
		if pupils[i].LineItem != "" {
			by[pupils[i].Reference] = append(by[pupils[i].Reference], &pupils[i])
		}
	}
	for i := range c.Marks {
		m := &c.Marks[i]
		if m.Now == nil {
			continue
		}
		members := c.Assignment.Groups[m.Now.Reference]
		if len(members) == 0 {
			members = []string{m.Now.Reference}
		}
		for _, member := range members {
			for _, p := range by[member] {
				if err := b.publishOne(ctx, tx, p, c.Do, m); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// publishOne sets the score of a pupil if it is another than the one that was set last. Until
// the release a score is pending. One that was released stays until it is taken back or
// another is released, also where the pupil hands in again meanwhile.
func (b *Book) publishOne(ctx context.Context, tx store.Tx, p *store.LTIPupil, do classroom.Action, m *classbook.MarkChange) error {
	last, err := store.LTIScoreOf(ctx, tx, p.Registration, p.LineItem, p.Pupil)
	if errors.Is(err, store.ErrNotFound) {
		last, err = nil, nil
	}
	if err != nil {
		return err
	}
	s := lti.Score{Registration: p.Registration, LineItem: p.LineItem, Pupil: p.Pupil, Readable: p.Readable}
	switch {
	case m.Now.Released && m.Now.Mark != nil && m.Now.Available > 0:
		s.Released, s.Given, s.Maximum, s.Comment = true, points(*m.Now.Mark), points(m.Now.Available), m.Now.Comment(m.Work.Marking)
		if last != nil && last.Released && last.State != store.LTIScoreFailed && last.Given == s.Given && last.Maximum == s.Maximum && last.Comment == s.Comment {
			return nil
		}
	case last != nil && !(last.Released && do == classroom.TakeBack):
		return nil
	}
	_, _, err = b.Publisher.Publish(ctx, tx, s)
	return err
}

// points are those of a mark as a number.
func points(p classroom.Points) float64 { return float64(p) / 2 }

// Entry is what a learning system has of a pupil, beside what was sent to it.
type Entry struct {
	Reference string `json:"reference"`
	// State is how far the last score has come, "" where none was set: waiting, published
	// or failed, and then Failure says in a word why.
	State   string `json:"state,omitempty"`
	Failure string `json:"failure,omitempty"`
	// Sent is the mark that was sent last, nil for none that was released. Stands is what
	// stands in the gradebook, in the points of Sent or of the assignment; nil for nothing.
	Sent   *float64 `json:"sent"`
	Stands *float64 `json:"stands"`
	// Known tells that the gradebook could be read. Overwrites tells that what stands there
	// is not ours: somebody entered it there, and the next release would overwrite it.
	Known      bool `json:"known"`
	Overwrites bool `json:"overwrites"`
}

// Entries compares what stands in the gradebooks of learning systems with what was sent to
// them, so that a teacher is warned before something is overwritten.
func (b *Book) Entries(ctx context.Context, organization, assignment string) ([]Entry, error) {
	out := []Entry{}
	a, err := b.Classes.Get(ctx, organization, assignment)
	if err != nil || b.Tool == nil {
		return out, err
	}
	var pupils []store.LTIPupil
	sent := map[string]*store.LTIScore{}
	registrations := map[string]*lti.Registration{}
	err = b.Store.Read(ctx, func(tx store.Tx) (err error) {
		if pupils, err = store.LTIPupils(ctx, tx, assignment); err != nil {
			return err
		}
		for i := range pupils {
			p := &pupils[i]
			if registrations[p.Registration] == nil {
				if registrations[p.Registration], err = store.LTIRegistrationByID(ctx, tx, p.Registration); err != nil {
					return err
				}
			}
			s, err := store.LTIScoreOf(ctx, tx, p.Registration, p.LineItem, p.Pupil)
			if err == nil {
				sent[s.Registration+" "+s.LineItem+" "+s.Pupil] = s
			} else if !errors.Is(err, store.ErrNotFound) {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	columns := map[string]map[string]*lti.Result{}
	for i := range pupils {
		p := &pupils[i]
		if p.LineItem == "" {
			continue
		}
		e := Entry{Reference: p.Reference}
		name := p.Registration + " " + p.LineItem
		if _, asked := columns[name]; !asked && p.Readable {
			// A learning system that does not answer leaves it unknown; nothing else depends on it.
			columns[name], _ = b.Tool.Results(ctx, registrations[p.Registration], p.LineItem)
		}
		results := columns[name]
		e.compare(sent[name+" "+p.Pupil], results[p.Pupil], results != nil, points(a.Worth()))
		out = append(out, e)
	}
	return out, ctx.Err()
}

func (e *Entry) compare(last *store.LTIScore, stands *lti.Result, known bool, worth float64) {
	e.Known = known
	if last != nil {
		e.State, e.Failure = string(last.State), last.Failure
		if last.Released {
			given := last.Given
			e.Sent, worth = &given, last.Maximum
		}
	}
	share, found := stands.Share()
	if !found {
		return
	}
	there := share * worth
	e.Stands = &there
	// One that still waits to be sent is not there yet, and one before it may be.
	e.Overwrites = e.Sent == nil && e.State != string(store.LTIScoreWaiting) || e.Sent != nil && e.State == string(store.LTIScorePublished) && math.Abs(there-*e.Sent) > 1e-6
}
