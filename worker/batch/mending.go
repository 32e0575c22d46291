package batch

import (
	"bytes"
	"context"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"

	"partwright/worker"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/store"
)

// Mending is a mended score with what was changed in it, or why there is none.
type Mending struct {
	// Report is a [report.Mending] as JSON.
	Report []byte
	// Mended is the score, Others the alternatives to it; Both holds all versions on
	// one sheet, nil where that was not asked for or cannot be.
	Mended []byte
	Others [][]byte
	Both   []byte
	// Problem is a [report.Failure] as JSON where mending alone failed, nil otherwise.
	Problem []byte
}

// mend mends a score that has been checked. That it fails takes no findings away.
func (s *Service) mend(ctx context.Context, in worker.Input, recipe *recipe, into *store.NewResult) error {
	if recipe.mend == nil {
		return nil
	}
	answer, err := untilFree(ctx, func() (*worker.MendResult, error) { return s.config.Pool.Mend(ctx, in, *recipe.mend) })
	var kept Mending
	switch {
	case err == nil:
		kept = Mending{Mended: answer.Mended, Others: answer.Others, Both: answer.Both}
		if kept.Report, err = json.Marshal(answer.Report); err != nil {
			return err
		}
	case ctx.Err() != nil || errors.Is(err, pool.ErrDraining):
		return err
	default:
		// Another try may end otherwise.
		kept.Problem, into.Recipe = failure(in.Name, err), ""
	}
	into.Mending, err = kept.Pack()
	return err
}

// Pack writes a mending as it is kept: scores may be packed in containers, which JSON
// has no room for.
func (m *Mending) Pack() (store.Blob, error) {
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(m); err != nil {
		return nil, err
	}
	return store.Pack(b.Bytes()), nil
}

// MendingOf reads the mending of a result, nil for none.
func MendingOf(r *store.Result) (*Mending, error) {
	text, err := r.Mending.Unpack()
	if text == nil || err != nil {
		return nil, err
	}
	var m Mending
	if err := gob.NewDecoder(bytes.NewReader(text)).Decode(&m); err != nil {
		return nil, fmt.Errorf("reading a stored mending: %w", err)
	}
	return &m, nil
}

// Result is the mending as the engine gave it, without its texture; an error is the
// [*report.Failure] where it failed.
func (m *Mending) Result() (*worker.MendResult, error) {
	if m.Problem != nil {
		var failure report.Failure
		if err := json.Unmarshal(m.Problem, &failure); err != nil {
			return nil, fmt.Errorf("reading a stored problem: %w", err)
		}
		return nil, &failure
	}
	r := &worker.MendResult{Report: &report.Mending{}, Mended: m.Mended, Others: m.Others, Both: m.Both}
	if err := json.Unmarshal(m.Report, r.Report); err != nil {
		return nil, fmt.Errorf("reading a stored mending: %w", err)
	}
	return r, nil
}

// Files are the files of a mending; none where it failed.
func (m *Mending) Files() ([]files.File, error) {
	if m == nil || m.Problem != nil {
		return nil, nil
	}
	return files.OfMending(m.Report, m.Mended, m.Others, m.Both)
}

// renamedMending is a kept mending for the same score under another name.
func renamedMending(r *store.Result, file string) (store.Blob, error) {
	m, err := MendingOf(r)
	if m == nil || err != nil || r.Name == file {
		return r.Mending, err
	}
	if m.Report, err = renamed(m.Report, file); err != nil {
		return nil, err
	}
	return m.Pack()
}
