package shard

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"iter"
	"slices"

	"partwright/worker/address"
	"partwright/worker/report"
	"partwright/worker/request"
)

// Shard is one of the parts that a list of addresses falls into.
type Shard struct {
	// Number counts from 0 and is below Of.
	Number, Of int
	// Manifest is the address of the list: an address a line, in any order. Empty lines
	// count for nothing, and an address that stands there twice counts once.
	Manifest string
	// Out is the folder for answers, or a prefix of keys.
	Out string
	// GiveUp has addresses that cannot be read just now answered as failures. Without it
	// the shard fails, and is whole when it is run again.
	GiveUp bool
	// Failed, if set, gets every failure.
	Failed func(*report.Failure)
}

// Counts are what a shard came to.
type Counts struct {
	// There tells that it had been answered before; the other counts are 0 then.
	There bool `json:"there"`
	// Scores are Answered and Failed together.
	Scores   int `json:"scores"`
	Answered int `json:"answered"`
	Failed   int `json:"failed"`
	// Bytes are those of the answers.
	Bytes int64 `json:"bytes"`
}

// Add adds the counts of another shard.
func (c *Counts) Add(other Counts) {
	c.Scores += other.Scores
	c.Answered += other.Answered
	c.Failed += other.Failed
	c.Bytes += other.Bytes
}

// maxManifest is how long a list of addresses may be, in bytes: it is read as a whole.
const maxManifest = 1 << 30

// Name is what the answers of a shard are called.
func Name(number, of int) string { return fmt.Sprintf("answers-%05d-of-%05d", number, of) }

// runName is what describes the answers of all shards beside them.
const runName = "run.json"

// run is what all answers in a folder have in common. Answers to something else do not
// belong beside them.
type run struct {
	Engine   string       `json:"engine"`
	Wish     request.Wish `json:"wish"`
	Shards   int          `json:"shards"`
	Manifest string       `json:"manifest_sha256"`
}

// Shard answers one shard, or nothing where that was done before.
func (r *Runner) Shard(ctx context.Context, s Shard) (Counts, error) {
	if s.Of < 1 || s.Number < 0 || s.Number >= s.Of {
		return Counts{}, fmt.Errorf("there is no shard %d of %d: they are counted from 0", s.Number, s.Of)
	}
	manifest, err := r.config.Storage.Read(ctx, s.Manifest, maxManifest)
	if err != nil {
		return Counts{}, fmt.Errorf("the list of addresses could not be read: %w", err)
	}
	if len(manifest) > maxManifest {
		return Counts{}, fmt.Errorf("the list of addresses has more than %d bytes: make several lists of it, with a folder for answers each", maxManifest)
	}
	sum := sha256.Sum256(manifest)
	if err := r.agree(ctx, s.Out, run{r.config.Version, r.config.Wish, s.Of, hex.EncodeToString(sum[:])}); err != nil {
		return Counts{}, err
	}
	at := address.Join(s.Out, Name(s.Number, s.Of))
	if there, err := r.config.Storage.Has(ctx, at); err != nil || there {
		return Counts{There: there}, err
	}
	mine := addresses(manifest, s.Number, s.Of)
	manifest = nil // it may be large, and the scores have yet to come
	return r.write(ctx, s, at, mine)
}

// agree holds what is to be done now to what the folder for answers is for, and writes
// that where nothing is there yet.
func (r *Runner) agree(ctx context.Context, out string, now run) error {
	at := address.Join(out, runName)
	text, err := json.MarshalIndent(now, "", "  ")
	if err != nil {
		return err
	}
	text = append(text, '\n')
	there, err := r.config.Storage.Has(ctx, at)
	if err != nil {
		return err
	}
	if !there {
		part, err := r.config.Storage.Create(ctx, at)
		if err != nil {
			return err
		}
		if _, err := part.Write(text); err != nil {
			part.Discard()
			return err
		}
		// Another shard may have come first.
		if written, err := part.Commit(ctx); err != nil || written {
			return err
		}
	}
	before, err := r.config.Storage.Read(ctx, at, maxManifest)
	if err != nil {
		return err
	}
	if !bytes.Equal(before, text) {
		return &OtherRunError{At: at}
	}
	return nil
}

// OtherRunError refuses a folder that holds answers of another version, to other
// options, in another number of shards or to another list.
type OtherRunError struct {
	// At is the address of what describes those answers.
	At string
}

// Error returns one sentence.
func (e *OtherRunError) Error() string {
	return e.At + " describes answers of another engine, to other options, in another number of shards or to another list: name another folder for answers"
}

// addresses are those of a list that fall to a shard, sorted, each once. Which do is
// told by the address alone (FNV-1a, 64 bits), so that lists may grow and be sorted
// otherwise without their parts becoming uneven.
func addresses(manifest []byte, number, of int) []string {
	var mine []string
	for line := range bytes.Lines(manifest) {
		line = bytes.TrimRight(line, "\r\n")
		if len(line) == 0 {
			continue
		}
		h := fnv.New64a()
		_, _ = h.Write(line)
		if h.Sum64()%uint64(of) == uint64(number) {
			mine = append(mine, string(line))
		}
	}
	slices.Sort(mine)
	return slices.Compact(mine)
}

// errUnreachable ends a shard with an address that cannot be read just now.
var errUnreachable = errors.New("the shard was not written: run it again when the address can be read, or give up on such addresses")

// write answers the scores and commits the answers.
func (r *Runner) write(ctx context.Context, s Shard, at string, mine []string) (Counts, error) {
	part, err := r.config.Storage.Create(ctx, at)
	if err != nil {
		return Counts{}, err
	}
	defer part.Discard()
	// Ends the scores that are worked on where the shard fails.
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var c Counts
	w := bufio.NewWriterSize(part, 1<<18)
	for line := range r.Answers(ctx, named(mine)) {
		switch {
		case line.Failure == nil:
			c.Answered++
		case line.Retryable && !s.GiveUp:
			return Counts{}, fmt.Errorf("%w; %w", line.Failure, errUnreachable)
		default:
			c.Failed++
			if s.Failed != nil {
				s.Failed(line.Failure)
			}
		}
		c.Scores++
		c.Bytes += int64(len(line.Text))
		if _, err := w.Write(line.Text); err != nil {
			return Counts{}, err
		}
	}
	if err := ctx.Err(); err != nil {
		return Counts{}, err
	}
	if err := w.Flush(); err != nil {
		return Counts{}, err
	}
	written, err := part.Commit(ctx)
	if err != nil {
		return Counts{}, err
	}
	if !written {
		return Counts{There: true}, nil // another that ran at the same time was first
	}
	return c, nil
}

// named yields addresses as sources that are called like them.
func named(addresses []string) iter.Seq[Source] {
	return func(yield func(Source) bool) {
		for _, a := range addresses {
			if !yield(Source{Name: a, Address: a}) {
				return
			}
		}
	}
}
