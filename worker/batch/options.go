package batch

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"sync"

	"partwright/musicxml"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker"
)

// Options choose what is done with the scores of a batch. They are kept with it
// as JSON.
type Options struct {
	// RuleSet is the name of a rule set, "" for the default; OwnRuleSet the text
	// of one of the sender's own, in place of it.
	RuleSet    string `json:"rule_set,omitempty"`
	OwnRuleSet string `json:"own_rule_set,omitempty"`
	// Language is that of the sentences, "" for English.
	Language string `json:"language,omitempty"`
	// Marks asks for marked scores, Upgrade for ones that declare the current
	// version of MusicXML.
	Marks   bool `json:"marks,omitempty"`
	Upgrade bool `json:"upgrade,omitempty"`
	// Analysis asks for the harmonic analysis, Annotate for layers of it in the
	// marked score, as [musicxml.ParseLayers] reads them.
	Analysis bool   `json:"analysis,omitempty"`
	Annotate string `json:"annotate,omitempty"`
	// Given says what labels in a score do to the analysis: steer (also ""),
	// replace or ignore.
	Given string `json:"given,omitempty"`
	// Fixes is how many ways to mend to look for with each fault and caution.
	Fixes int `json:"fixes,omitempty"`
	// Rubric is the name of one that proposes a mark, "" for none.
	Rubric string `json:"rubric,omitempty"`
}

// OptionError tells an option that cannot be met.
type OptionError struct {
	// Option is its name in JSON.
	Option string
	Err    error
}

// Error says which option and why.
func (e *OptionError) Error() string { return fmt.Sprintf("%s: %v", e.Option, e.Err) }

// Unwrap returns the reason.
func (e *OptionError) Unwrap() error { return e.Err }

// work turns the options into those of the engine; an error is an [*OptionError].
func (o *Options) work() (worker.Options, error) {
	w := worker.Options{Language: o.Language, Marks: o.Marks, Upgrade: o.Upgrade, Fixes: o.Fixes, Analysis: o.Analysis}
	if o.Language == "" {
		w.Language = "en"
	}
	if _, ok := partwriting.CatalogFor(w.Language); !ok {
		return w, &OptionError{"language", worker.ErrLanguage}
	}
	var err error
	if w.Annotate, err = musicxml.ParseLayers(o.Annotate); err != nil {
		return w, &OptionError{"annotate", err}
	}
	if w.Given, err = harmony.ParseLabelUse(o.Given); err != nil {
		return w, &OptionError{"given", err}
	}
	switch {
	case o.OwnRuleSet != "":
		w.RuleSet, err = worker.ReadRuleSet("own_rule_set", []byte(o.OwnRuleSet))
	case o.RuleSet != "":
		if w.RuleSet = partwriting.RuleSetByName(o.RuleSet); w.RuleSet == nil {
			err = fmt.Errorf("there is no rule set %q", o.RuleSet)
		}
	default:
		w.RuleSet = partwriting.RuleSetByName(partwriting.DefaultRuleSet)
	}
	if err != nil {
		return w, &OptionError{"rule_set", err}
	}
	if o.Rubric != "" {
		rubric, ok := partwriting.RubricByName(o.Rubric)
		if !ok {
			return w, &OptionError{"rubric", fmt.Errorf("there is no rubric %q", o.Rubric)}
		}
		w.Rubric = &rubric
	}
	return w, nil
}

// recipe is what to do with the scores of one kind of batch.
type recipe struct {
	options worker.Options
	// analysis asks for the harmonic analysis.
	analysis bool
	// id stands for engine and options.
	id string
}

// recipes keeps those used last, since a rule set of the sender's own takes long
// to read.
type recipes struct {
	mu   sync.Mutex
	kept map[string]*recipe
}

const mostRecipes = 64

func (r *recipes) of(version string, options json.RawMessage) (*recipe, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if found, ok := r.kept[string(options)]; ok {
		return found, nil
	}
	var o Options
	if err := json.Unmarshal(options, &o); err != nil {
		return nil, fmt.Errorf("reading the options of a batch: %w", err)
	}
	w, err := o.work()
	if err != nil {
		return nil, err
	}
	// Read and written again, so that another order of the same options is the
	// same recipe: a database may keep JSON in an order of its own.
	same, err := json.Marshal(o)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(append(append([]byte(version), 0), same...))
	if r.kept == nil || len(r.kept) >= mostRecipes {
		r.kept = map[string]*recipe{}
	}
	r.kept[string(options)] = &recipe{options: w, analysis: o.Analysis, id: hex.EncodeToString(sum[:16])}
	return r.kept[string(options)], nil
}
