package batch

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"partwright/musicxml"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/settings"
	"partwright/worker/store"
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
	// Rubric is the name of one that proposes a mark, "" for none; OwnRubric the text
	// of one of the sender's own, in place of it.
	Rubric    string `json:"rubric,omitempty"`
	OwnRubric string `json:"own_rubric,omitempty"`
	// Accepted is the text of a list of what to let stand, by printed measure.
	Accepted string `json:"accepted,omitempty"`
	// Voices asks for a table of every note of every voice.
	Voices bool `json:"voices,omitempty"`
	// Mend asks for mended scores; nil for none.
	Mend *Mend `json:"mend,omitempty"`
}

// Mend chooses how the scores of a batch are mended; see [worker.MendRequest]. What a
// score does not have of the voices, measures and findings named is passed over.
type Mend struct {
	// Severity is fault (also ""), caution or remark.
	Severity     string   `json:"severity,omitempty"`
	Keep         []string `json:"keep,omitempty"`
	KeepMeasures []string `json:"keep_measures,omitempty"`
	Only         []string `json:"only,omitempty"`
	Alternatives int      `json:"alternatives,omitempty"`
	Both         bool     `json:"both,omitempty"`
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

// work is what options come to: what the engine is to do with each score.
type work struct {
	worker.Options
	// mend is nil where nothing is to be mended.
	mend *worker.MendRequest
}

// work turns the options into those of the engine; an error is an [*OptionError].
func (o *Options) work() (work, error) {
	w := work{Options: worker.Options{Language: o.Language, Marks: o.Marks, Upgrade: o.Upgrade, Fixes: o.Fixes, Analysis: o.Analysis}}
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
	if !o.Marks && w.Annotate != 0 {
		return w, &OptionError{"annotate", errNeedsMarks}
	}
	if !o.Marks && o.Upgrade {
		return w, &OptionError{"upgrade", errNeedsMarks}
	}
	if err := o.rules(&w); err != nil {
		return w, err
	}
	if err := o.marking(&w); err != nil {
		return w, err
	}
	return w, o.mending(&w)
}

var errNeedsMarks = errors.New("it changes marked scores: ask for marks as well")

// rules reads the rule set and what is accepted.
func (o *Options) rules(w *work) error {
	var err error
	switch {
	case o.OwnRuleSet != "":
		if w.RuleSet, err = settings.ReadRuleSet("own_rule_set", []byte(o.OwnRuleSet)); err != nil {
			return &OptionError{"own_rule_set", err}
		}
	case o.RuleSet != "":
		if w.RuleSet = partwriting.RuleSetByName(o.RuleSet); w.RuleSet == nil {
			return &OptionError{"rule_set", fmt.Errorf("there is no rule set %q", o.RuleSet)}
		}
	default:
		w.RuleSet = partwriting.RuleSetByName(partwriting.DefaultRuleSet)
	}
	if o.Accepted == "" {
		return nil
	}
	accepted, err := settings.ReadAccepted("accepted", []byte(o.Accepted))
	if err != nil {
		return &OptionError{"accepted", err}
	}
	w.RuleSet = w.RuleSet.Accepting(accepted)
	return nil
}

// marking reads the rubric.
func (o *Options) marking(w *work) error {
	if o.OwnRubric != "" {
		var err error
		if w.Rubric, err = settings.ReadRubric("own_rubric", []byte(o.OwnRubric)); err != nil {
			return &OptionError{"own_rubric", err}
		}
		return nil
	}
	if o.Rubric == "" {
		return nil
	}
	rubric, ok := partwriting.RubricByName(o.Rubric)
	if !ok {
		return &OptionError{"rubric", fmt.Errorf("there is no rubric %q", o.Rubric)}
	}
	w.Rubric = &rubric
	return nil
}

// mending reads how scores are mended.
func (o *Options) mending(w *work) error {
	if o.Mend == nil {
		return nil
	}
	m := o.Mend
	severity, ok := partwriting.SeverityByName(cmp.Or(m.Severity, partwriting.Fault.String()))
	if !ok || severity == partwriting.Off {
		return &OptionError{"severity", fmt.Errorf("%q is none: say fault, caution or remark", m.Severity)}
	}
	w.mend = &worker.MendRequest{
		RuleSet: w.RuleSet, Severity: severity, Keep: m.Keep, KeepMeasures: m.KeepMeasures, Only: m.Only,
		Alternatives: m.Alternatives, Both: m.Both, Alike: true,
	}
	if err := (&worker.MendRequest{Only: m.Only}).Validate(); err != nil {
		return &OptionError{"only", err}
	}
	if err := w.mend.Validate(); err != nil {
		return &OptionError{"alternatives", err}
	}
	return nil
}

// recipe is what to do with the scores of one kind of batch.
type recipe struct {
	work
	// voices asks for a table of the voices.
	voices bool
	// id stands for engine and options.
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
	if r.Analysis {
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
	r.kept[string(options)] = &recipe{work: w, voices: o.Voices, id: hex.EncodeToString(sum[:16])}
	return r.kept[string(options)], nil
}
