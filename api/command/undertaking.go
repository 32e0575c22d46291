package command

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"math"
	"os"
	"path/filepath"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/store"
)

// undertaking is what a run of partwright batch set out to do. It lies beside the
// data of the batch until all answers are written, so that the next run can tell
// whether it is the same.
type undertaking struct {
	// Key names the batch that was made for it; see [batch.Key].
	Key string `json:"key"`
	// Options stands for the version and what was asked of it, Paths for the files
	// that the paths held; "" where they cannot be looked at again.
	Options string `json:"options"`
	Paths   string `json:"paths"`
}

// undertakingFile is its place in the folder for answers.
const undertakingFile = stateDir + "/undertaking.json"

// undertaking is what the flags and paths of this run ask for.
func (b *batching) undertaking(in *worker.Inputs) (*undertaking, error) {
	var labels []byte
	if name := b.flags.labels; name != "" && name != besideScores {
		var err error
		if labels, err = os.ReadFile(name); err != nil { // #nosec G304 -- a file that the user names
			return nil, err
		}
	}
	settings, err := json.Marshal([]any{
		b.cmd.Root().Version, b.options, b.flags.labels, labels, b.flags.timeout, in.Limits, in.Archives,
	})
	sum := sha256.Sum256(settings)
	return &undertaking{rand.Text(), hex.EncodeToString(sum[:]), in.Fingerprint()}, err
}

// earlier is what a run that was interrupted had set out to do, nil for none. One
// that cannot be read is none: its answers are used again all the same.
func (b *batching) earlier() *undertaking {
	data, err := os.ReadFile(filepath.Join(b.flags.out, undertakingFile))
	var u undertaking
	if err != nil || json.Unmarshal(data, &u) != nil || u.Key == "" {
		return nil
	}
	return &u
}

// write puts the undertaking down before its batch is made: what is made without it
// would never be found again.
func (u *undertaking) write(answers *worker.OutDir) error {
	data, err := json.Marshal(u)
	if err != nil {
		return err
	}
	return answers.Write(undertakingFile, data)
}

// sameAs tells whether going on with an earlier undertaking does what this one asks
// for. Without paths, the earlier ones are meant.
func (u *undertaking) sameAs(earlier *undertaking, paths bool) bool {
	return earlier != nil && earlier.Options == u.Options && (!paths || earlier.Paths == u.Paths && u.Paths != "")
}

// begin takes up what was interrupted if it is what this run is to do, or begins
// anew. It returns the batch.
func (b *batching) begin(ctx context.Context) (string, error) {
	in, items, err := b.items()
	if err != nil {
		return "", err
	}
	now, err := b.undertaking(in)
	if err != nil {
		return "", err
	}
	earlier, named := b.earlier(), len(b.paths) > 0
	switch {
	case now.sameAs(earlier, named):
		id, err := b.goOn(ctx, earlier)
		if id != "" || err != nil {
			return id, err
		}
	case !named && earlier == nil:
		return "", errNoPaths
	case !named:
		return "", errors.New("what was interrupted here had other options, or was begun by another version: say its options, or name its paths to begin anew")
	case earlier != nil:
		b.tell("what was interrupted here had other files or options, or was begun by another version: begun anew, with the answers to what is still the same")
	}
	id, err := b.beginAnew(ctx, now, in, items)
	if err != nil {
		return "", &status{exitUnreadable, err}
	}
	return id, nil
}

// goOn finds the batch of an earlier run; "" where the paths must be taken in again.
func (b *batching) goOn(ctx context.Context, earlier *undertaking) (string, error) {
	found, err := b.service.Find(ctx, store.SingleUser, earlier.Key)
	switch {
	case err == nil:
		b.tell("going on with %d of %d scores answered", found.Total-found.Waiting, found.Total)
		b.skipped = int(found.Skipped)
		return found.ID, nil
	case !errors.Is(err, store.ErrNotFound):
		return "", &status{exitUnreadable, err}
	case len(b.paths) == 0:
		return "", errors.New("not all scores had been taken in when it was interrupted: name its paths again")
	}
	return "", nil
}

func (b *batching) beginAnew(ctx context.Context, now *undertaking, in *worker.Inputs, items iter.Seq[worker.Item]) (string, error) {
	// Nobody waits for the answers of other batches any more.
	err := b.each(ctx, func(s *batch.Status) error {
		if s.State != store.BatchOpen && s.State != store.BatchClosed {
			return nil
		}
		_, err := b.service.Cancel(ctx, store.SingleUser, s.ID)
		if errors.Is(err, batch.ErrState) || errors.Is(err, store.ErrNotFound) {
			return nil // not all of it had come: it goes by itself
		}
		return err
	})
	if err != nil {
		return "", err
	}
	if err := now.write(b.dir); err != nil {
		return "", fmt.Errorf("the state of the batch could not be written: %w", err)
	}
	made, err := b.service.Create(ctx, batch.Order{
		Organization: store.SingleUser, Items: b.noting(in, items), Options: b.options, Key: batch.Key{Value: now.Key},
	})
	if err != nil {
		return "", err
	}
	return made.ID, nil
}

// each looks at every batch that is kept.
func (b *batching) each(ctx context.Context, look func(*batch.Status) error) error {
	all, err := b.service.List(ctx, store.SingleUser, "", math.MaxInt32)
	for _, s := range all {
		if err == nil {
			err = look(s)
		}
	}
	return err
}

// settle keeps what can be used again of a batch whose answers are all written.
func (b *batching) settle(ctx context.Context) error {
	err := b.each(ctx, func(s *batch.Status) error {
		if s.State != store.BatchCanceled {
			return nil
		}
		return b.service.Delete(ctx, store.SingleUser, s.ID)
	})
	if err != nil {
		return err
	}
	return os.Remove(filepath.Join(b.flags.out, undertakingFile))
}
