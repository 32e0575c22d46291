package request

import (
	"errors"
	"fmt"
	"strings"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/texture"
	"partwright/worker/settings"
)

// Rules choose the rules that music is held to.
type Rules struct {
	// RuleSet is a name, "" for that which the job has by itself; OwnRuleSet is a file
	// in its place.
	RuleSet    string
	OwnRuleSet Source
	// Accepted is a file with what to let stand, by printed measure.
	Accepted Source
	// Texture names a [texture.Kind] to take scores for, "" for what they are read as.
	Texture string
}

func (r *Rules) fields() []Field {
	return append(r.sets(),
		file(&r.Accepted, settings.MaxBytes, "accepted",
			"a .yaml or .json `file` with what to let stand, by printed measure, such as \"12: [direct-fifths]\""),
		text(&r.Texture, "texture", "what to take scores for: "+strings.Join(texture.Names(), ", ")+" (default: as they are read); it decides which rules apply, and where no rule set is named, which set").
			oneOf("texture", texture.Names()))
}

// sets are the fields of the set alone.
func (r *Rules) sets() []Field {
	return []Field{
		text(&r.RuleSet, "rule_set", "rule set by `name`, or a .yaml or .json file with one of your own; see partwright rules --help").
			flag("rules").oneOf("rule set", ruleSetNames()).orFile(),
		file(&r.OwnRuleSet, settings.MaxBytes, "own_rule_set", "").insteadOf("rule_set").flag(""),
	}
}

func ruleSetNames() []string {
	var names []string
	for _, s := range partwriting.RuleSets() {
		names = append(names, s.Name)
	}
	return names
}

// named reads the rule set, nil where none is named.
func (r *Rules) named() (*partwriting.RuleSet, error) {
	switch {
	case r.OwnRuleSet.Text != "":
		set, err := settings.ReadRuleSet(r.OwnRuleSet.Name, []byte(r.OwnRuleSet.Text))
		if err != nil {
			return nil, &Error{"own_rule_set", err}
		}
		return set, nil
	case r.RuleSet != "":
		return partwriting.RuleSetByName(r.RuleSet), nil
	}
	return nil, nil
}

// accepted reads what to let stand, nil for nothing.
func (r *Rules) accepted() (map[string][]partwriting.RuleID, error) {
	if r.Accepted.Text == "" {
		return nil, nil
	}
	accepted, err := settings.ReadAccepted(r.Accepted.Name, []byte(r.Accepted.Text))
	if err != nil {
		return nil, &Error{"accepted", err}
	}
	return accepted, nil
}

// set reads the rule set with what it lets stand, nil where neither is given.
func (r *Rules) set() (*partwriting.RuleSet, error) {
	set, err := r.named()
	if err != nil {
		return nil, err
	}
	accepted, err := r.accepted()
	if err != nil || accepted == nil {
		return set, err
	}
	if set == nil {
		set = partwriting.RuleSetByName(partwriting.DefaultRuleSet)
	}
	return set.Accepting(accepted), nil
}

// Words choose the language of sentences.
type Words struct {
	// Language is a tag such as "en" or "de-AT".
	Language string
}

func (w *Words) fields() []Field {
	return []Field{text(&w.Language, "language", "language of the sentences").flag("lang").or("en").suggesting(partwriting.Languages())}
}

// ErrLanguage is the reason of an [Error] for a language that there are no sentences
// in.
var ErrLanguage = errors.New("there are no sentences in that language; say one of " + strings.Join(partwriting.Languages(), ", "))

func (w *Words) catalog() (*partwriting.Catalog, error) {
	catalog, ok := partwriting.CatalogFor(w.Language)
	if !ok {
		return nil, &Error{"language", fmt.Errorf("%.64q: %w", w.Language, ErrLanguage)}
	}
	return catalog, nil
}

// Given says how the harmony is read, and what labels that somebody has given do to
// that.
type Given struct {
	// Given is the name of a [harmony.LabelUse].
	Given string
	// HarmonyStyle is the name of a [harmony.Style].
	HarmonyStyle string
}

func (g *Given) fields() []Field {
	return []Field{
		text(&g.Given, "given", "what labels in or beside a score do to the analysis: steer, replace, ignore").
			or(harmony.Steer.String()).oneOf("use of labels", []string{harmony.Steer.String(), harmony.Replace.String(), harmony.Ignore.String()}),
		text(&g.HarmonyStyle, "harmony_style", "read the harmony as in a chorale, freely as in songs and piano music, or as the texture asks: texture, chorale, free").
			or(harmony.ByTexture.String()).oneOf("style of harmony", []string{harmony.ByTexture.String(), harmony.ChoraleStyle.String(), harmony.FreeStyle.String()}),
	}
}

func (g *Given) style() harmony.Style {
	style, _ := harmony.ParseStyle(g.HarmonyStyle) // one of the choices
	return style
}

func (g *Given) use() harmony.LabelUse {
	use, _ := harmony.ParseLabelUse(g.Given) // one of the choices
	return use
}
