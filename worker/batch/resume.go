package batch

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"

	"partwright/worker/files"
	"partwright/worker/store"
)

// ResumePlan is what a run over files sets out to do. It is kept until all answers are
// written, so that the next run can tell whether it is the same.
type ResumePlan struct {
	// Key names the batch that is made for it; see [Key].
	Key string `json:"key"`
	// Options stands for all that the answers depend on but the scores.
	Options string `json:"options"`
	// Paths stands for the files; "" where they cannot be looked at again.
	Paths string `json:"paths"`
	// AnyPaths makes it the same plan whatever the paths were.
	AnyPaths bool `json:"-"`
}

// NewResumePlan makes a plan of settings, which JSON must be able to hold, for the files
// that the paths of in hold now. Without paths it is for those of the run before.
func NewResumePlan(in *files.Inputs, settings ...any) (*ResumePlan, error) {
	text, err := json.Marshal(settings)
	sum := sha256.Sum256(text)
	return &ResumePlan{
		Key: rand.Text(), Options: hex.EncodeToString(sum[:]), Paths: in.Fingerprint(), AnyPaths: len(in.Paths) == 0,
	}, err
}

// sameAs tells whether going on with an earlier plan does what this one asks for.
func (p *ResumePlan) sameAs(earlier *ResumePlan) bool {
	return earlier.Options == p.Options && (p.AnyPaths || earlier.Paths == p.Paths && p.Paths != "")
}

// Errors of a plan for the paths of the run before, which must be there to go on with.
var (
	ErrNoPlan      = errors.New("nothing was interrupted here")
	ErrOtherPlan   = errors.New("what was interrupted here had other options")
	ErrNotReceived = errors.New("not all scores had been taken in when it was interrupted")
)

// Resumable makes batches, one at a time, that a later run goes on with.
type Resumable struct {
	Service *Service
	// The plan is kept as File in Dir, which must last as long as the data of Service.
	Dir  *files.OutDir
	File string
}

// Find returns the batch that an interrupted run made for the same plan; nil if the plan
// must be begun anew, and then whether a run with another plan was interrupted.
func (r *Resumable) Find(ctx context.Context, plan *ResumePlan) (found *store.Batch, other bool, err error) {
	earlier, err := r.read()
	switch {
	case err != nil:
		return nil, false, err
	case earlier == nil && plan.AnyPaths:
		return nil, false, ErrNoPlan
	case earlier == nil:
		return nil, false, nil
	case !plan.sameAs(earlier) && plan.AnyPaths:
		return nil, true, ErrOtherPlan
	case !plan.sameAs(earlier):
		return nil, true, nil
	}
	found, err = r.Service.Find(ctx, store.SingleUser, earlier.Key)
	if errors.Is(err, store.ErrNotFound) {
		err = nil
		if plan.AnyPaths {
			err = ErrNotReceived
		}
	}
	return found, false, err
}

// Begin makes the batch of a plan. Those of earlier plans are canceled: nobody waits for
// their answers any more, but those that are there are used again.
func (r *Resumable) Begin(ctx context.Context, plan *ResumePlan, o Order) (*store.Batch, error) {
	err := r.each(ctx, func(s *Status) error {
		if s.State != store.BatchOpen && s.State != store.BatchClosed {
			return nil
		}
		_, err := r.Service.Cancel(ctx, store.SingleUser, s.ID)
		if errors.Is(err, ErrState) || errors.Is(err, store.ErrNotFound) {
			return nil // not all of it had come: it goes by itself
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	// Before the batch: one without a plan would never be found again.
	if err := r.write(plan); err != nil {
		return nil, fmt.Errorf("the state of the batch could not be written: %w", err)
	}
	o.Organization, o.Key = store.SingleUser, Key{Value: plan.Key}
	return r.Service.Create(ctx, o)
}

// End is for a plan whose answers are all written: it keeps what can be used again.
func (r *Resumable) End(ctx context.Context) error {
	err := r.each(ctx, func(s *Status) error {
		if s.State != store.BatchCanceled {
			return nil
		}
		return r.Service.Delete(ctx, store.SingleUser, s.ID)
	})
	if err != nil {
		return err
	}
	return r.Dir.Remove(r.File)
}

// each looks at every batch that is kept.
func (r *Resumable) each(ctx context.Context, look func(*Status) error) error {
	all, err := r.Service.List(ctx, store.SingleUser, "", math.MaxInt32)
	for _, s := range all {
		if err == nil {
			err = look(s)
		}
	}
	return err
}

// read returns the plan of the run before, nil for none. One that does not make sense is
// none: what it came to is used again all the same.
func (r *Resumable) read() (*ResumePlan, error) {
	data, err := r.Dir.ReadFile(r.File)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var p ResumePlan
	if json.Unmarshal(data, &p) != nil || p.Key == "" {
		return nil, nil
	}
	return &p, nil
}

func (r *Resumable) write(p *ResumePlan) error {
	data, err := json.Marshal(p)
	if err != nil {
		return err
	}
	return r.Dir.Write(r.File, data)
}
