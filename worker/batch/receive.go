package batch

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"

	"partwright/worker"
	"partwright/worker/files"
	"partwright/worker/queue"
	"partwright/worker/request"
	"partwright/worker/store"
)

// Key makes a request that is sent again have its effect once (IETF HTTPAPI, "The
// Idempotency-Key HTTP Header Field", draft-ietf-httpapi-idempotency-key-header).
type Key struct {
	// Value is the client's; it counts within an organization. "" is for none.
	Value string
	// Fingerprint stands for the content of the request: the same key with
	// another is [store.ErrKeyReused].
	Fingerprint string
}

// Order asks for a new batch.
type Order struct {
	Organization string
	// Request says what is done with every score; nil is a check.
	Request *request.Batch
	// Items are the scores; nil for none yet.
	Items iter.Seq[files.Item]
	// Readable refuses scores none of which can be taken out of their archive, with
	// what keeps the first; without it they are members that failed.
	Readable bool
	// Open lets further scores be added afterwards.
	Open bool
	Key  Key
}

// group bounds how many scores are written in one transaction, which others wait
// for.
const (
	groupScores = 64
	groupBytes  = 4 << 20
)

// Create makes a batch. Work on its first scores begins while the others are
// still being written; if ctx ends before all are, the batch is deleted. The
// error is a [*request.Error] where something that is asked for cannot be had.
func (s *Service) Create(ctx context.Context, o Order) (*store.Batch, error) {
	if o.Request == nil {
		o.Request = request.Defaults(&request.Batch{})
	}
	plan, err := o.Request.Plan()
	if err != nil {
		return nil, err
	}
	options := s.recipes.add(s.config.Version, o.Request, plan)
	earlier, free, err := s.claim(ctx, o.Organization, o.Key)
	if err != nil {
		return nil, err
	}
	defer free()
	if earlier != "" {
		return s.made(ctx, o.Organization, earlier)
	}
	b, err := s.create(ctx, o, options)
	if err != nil {
		return nil, err
	}
	if o.Items != nil {
		err = s.receive(ctx, b, o)
	}
	if err == nil {
		var done *store.Batch
		if done, err = s.received(ctx, b, o); err == nil {
			return done, nil
		}
		// The answer of the database may have been lost, not the transaction.
		if done, _ := s.batch(context.WithoutCancel(ctx), o.Organization, b.ID); done != nil && done.Receiver == "" {
			return done, nil
		}
	}
	deleteErr := s.Delete(context.WithoutCancel(ctx), o.Organization, b.ID)
	switch {
	case errors.Is(err, errOvertaken):
		if earlier, _, err = s.claimed(ctx, o.Organization, o.Key); err == nil {
			return s.made(ctx, o.Organization, earlier)
		}
	case errors.Is(err, store.ErrNotFound):
		return nil, ErrGivenUp
	case deleteErr != nil:
		err = errors.Join(err, deleteErr)
	}
	return nil, err
}

// Find returns the batch that was made with a key, [store.ErrNotFound] if none was or
// its scores have not all come.
func (s *Service) Find(ctx context.Context, organization string, key string) (*store.Batch, error) {
	id, found, err := s.claimed(ctx, organization, Key{Value: key})
	if err != nil {
		return nil, err
	}
	if !found {
		return nil, store.ErrNotFound
	}
	return s.batch(ctx, organization, id)
}

// made finds the batch that an idempotency key stands for.
func (s *Service) made(ctx context.Context, organization, id string) (*store.Batch, error) {
	b, err := s.batch(ctx, organization, id)
	if errors.Is(err, store.ErrNotFound) {
		err = ErrDeleted
	}
	return b, err
}

func (s *Service) create(ctx context.Context, o Order, options json.RawMessage) (b *store.Batch, err error) {
	err = s.store.Write(ctx, func(tx store.Tx) error {
		b, err = s.store.CreateUpload(ctx, tx, o.Organization, s.queue.ID(), options)
		return err
	})
	return b, err
}

func (s *Service) batch(ctx context.Context, organization, id string) (b *store.Batch, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		b, err = store.BatchByID(ctx, tx, organization, id)
		return err
	})
	return b, err
}

// received ends the upload of a batch, and keeps its key in the same transaction.
func (s *Service) received(ctx context.Context, b *store.Batch, o Order) (*store.Batch, error) {
	return s.change(ctx, b.Organization, b.ID, func(tx store.Tx, b *store.Batch) error {
		b.Receiver = ""
		if !o.Open {
			s.closed(b)
		}
		return s.keep(ctx, tx, b.Organization, o.Key, b.ID)
	})
}

// receive writes scores group by group.
func (s *Service) receive(ctx context.Context, b *store.Batch, o Order) error {
	var g group
	var failed error
	groups, read := 0, 0
	for item := range o.Items {
		if err := ctx.Err(); err != nil {
			return err
		}
		if len(g.members) >= groupScores || g.bytes >= groupBytes {
			if err := s.write(ctx, b, &g, queue.Bulk); err != nil {
				return err
			}
			groups++
			g = group{}
		}
		switch err := g.add(item, s.config.Version); {
		case err == nil && item.Skipped == "":
			read++
		case failed == nil:
			failed = err
		}
	}
	if o.Readable && read == 0 && failed != nil {
		return failed
	}
	p := queue.Bulk
	if groups == 0 {
		p = urgency(len(g.members))
	}
	return s.write(ctx, b, &g, p)
}

// group is what is written in one transaction.
type group struct {
	members []store.NewMember
	bytes   int64
	skipped int64
}

// add takes an item in. What keeps it from being read is returned, and kept with it.
func (g *group) add(item files.Item, version string) error {
	if item.Skipped != "" {
		if !item.Expected {
			g.skipped++
		}
		return nil
	}
	data, unread := item.Read()
	err := unread
	in := worker.Input{Name: item.Name, Data: data}
	if err == nil && item.Labels != nil {
		in.Labels, err = item.Labels()
	}
	m := newMember(in)
	m.Place = item.Place
	if err != nil {
		m = store.NewMember{Name: item.Name, Place: item.Place, Engine: version, Problem: failure(item.Name, err)}
		m.Found = foundNothing(m.Name, version, m.Problem)
	}
	g.bytes += m.Score.Size
	g.members = append(g.members, m)
	return unread
}

// newMember packs a score with its labels.
func newMember(in worker.Input) store.NewMember {
	m := store.NewMember{Name: in.Name, Score: store.NewScore(in.Data)}
	if in.Labels != nil {
		m.LabelsName, m.Labels = in.Labels.File, store.Pack(in.Labels.Source)
	}
	return m
}

func (s *Service) write(ctx context.Context, b *store.Batch, g *group, p queue.Priority) error {
	if err := s.store.CarryMembers(ctx, b.Organization, g.members); err != nil {
		return err
	}
	_, err := s.change(ctx, b.Organization, b.ID, func(tx store.Tx, b *store.Batch) error {
		b.Skipped += g.skipped
		return s.add(ctx, tx, b, g.members, p)
	})
	return err
}

// add writes members and their jobs.
func (s *Service) add(ctx context.Context, tx store.Tx, b *store.Batch, members []store.NewMember, p queue.Priority) error {
	if len(members) == 0 {
		return nil
	}
	first, err := s.store.AddMembers(ctx, tx, b, members)
	if err != nil {
		return fmt.Errorf("adding scores: %w", err)
	}
	b.Tell(store.EventAdded)
	var spans []store.Span
	for i := range members {
		if members[i].Problem == nil {
			spans = append(spans, store.Span{Number: first + int64(i), Size: members[i].Score.Size})
		}
	}
	return s.enqueue(ctx, tx, b, spans, p)
}
