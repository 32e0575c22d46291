package batch

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"sync"

	"partwright/worker/request"
	"partwright/worker/store"
)

// recipe is what to do with the scores of one kind of batch.
type recipe struct {
	*request.BatchPlan
	// id stands for engine and request.
	id string
}

// of is the id for a score with labels of its own: the answer is another with others,
// and names their file.
func (r *recipe) of(m *store.Member) string {
	if m.Labels == nil {
		return r.id
	}
	sum := sha256.New()
	_, _ = fmt.Fprintf(sum, "%s %q\n", r.id, m.LabelsName) // a hash takes everything
	_, _ = sum.Write(m.Labels)
	return hex.EncodeToString(sum.Sum(nil)[:16])
}

// bound is the file name that an answer is bound to, "" for none: the tables of an
// analysis hold it in every row.
func (r *recipe) bound(m *store.Member) string {
	if r.Check.Analysis {
		return m.Name
	}
	return ""
}

// recipes keeps those used last, since a rule set of the sender's own takes long
// to read.
type recipes struct {
	mu   sync.Mutex
	kept map[string]*recipe
}

const mostRecipes = 64

// of is the recipe of a request that is kept with a batch.
func (r *recipes) of(version string, kept json.RawMessage) (*recipe, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if found, ok := r.kept[string(kept)]; ok {
		return found, nil
	}
	var b request.Batch
	if err := request.Decode(kept, &b); err != nil {
		return nil, err
	}
	plan, err := b.Plan()
	if err != nil {
		return nil, err
	}
	found := newRecipe(version, &b, plan)
	r.put(kept, found)
	return found, nil
}

// add keeps the recipe of a request that has just been planned, and returns the
// request as it is kept with a batch.
func (r *recipes) add(version string, b *request.Batch, plan *request.BatchPlan) json.RawMessage {
	kept := request.Encode(b)
	r.mu.Lock()
	defer r.mu.Unlock()
	r.put(kept, newRecipe(version, b, plan))
	return kept
}

func (r *recipes) put(kept json.RawMessage, made *recipe) {
	if r.kept == nil || len(r.kept) >= mostRecipes {
		r.kept = map[string]*recipe{}
	}
	r.kept[string(kept)] = made
}

// newRecipe names a recipe after the request as it is written now, so that another order
// of the same options is the same recipe: a database may keep JSON in an order of its
// own.
func newRecipe(version string, b *request.Batch, plan *request.BatchPlan) *recipe {
	sum := sha256.Sum256(append(append([]byte(version), 0), request.Encode(b)...))
	return &recipe{BatchPlan: plan, id: hex.EncodeToString(sum[:16])}
}
