package partwriting

import "partwright/theory"

// builtins are the rule sets that come with the program, the default first.
var builtins = []*RuleSet{
	{
		Name:       DefaultRuleSet,
		Severities: column(func(w *weights) Severity { return w.strict }),
	},
	{
		Name:       "keyboard",
		Severities: column(func(w *weights) Severity { return w.keyboard }),
		// Two octaves and a half of empty middle are too much for two hands
		// (common practice, no source). That ii65 may do without its fifth before V7 is
		// from Open Music Theory, on keyboard style.
		Limits: Limits{PredominantFifthFree: true, ContraryPairs: OuterPair, EmbellishedParallels: WeighedAsCaution, BassGap: theory.Interval{Steps: 17, Semitones: 29}},
	},
	{
		Name:       "free",
		Severities: column(func(w *weights) Severity { return w.free }),
		Limits:     Limits{EmbellishedParallels: Unweighed},
	},
	speciesSet("species-first", 1),
	speciesSet("species-second", 2),
	speciesSet("species-third", 3),
	speciesSet("species-fourth", 4),
	speciesSet("species-fifth", 5),
}

// speciesSet returns the set of one species, 1 to 5.
func speciesSet(name string, number int) *RuleSet {
	return &RuleSet{
		Name:       name,
		Severities: column(func(w *weights) Severity { return w.species }),
		Limits:     Limits{Species: number, DirectApproach: AnyApproach, LeapRecovery: theory.MajorThird},
	}
}

// RuleSets returns the sets that come with the program, the default first.
func RuleSets() []*RuleSet { return append([]*RuleSet(nil), builtins...) }

// RuleSetByName returns the set of that name, nil where there is none.
func RuleSetByName(name string) *RuleSet {
	for _, s := range builtins {
		if s.Name == name {
			return s
		}
	}
	return nil
}
