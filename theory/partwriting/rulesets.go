package partwriting

import "partwright/theory"

// builtins are the rule sets that come with the program, the default first. A
// rule that a set does not name keeps its own severity, which is that of strict
// chorale style.
var builtins = []*RuleSet{
	{Name: DefaultRuleSet},
	{
		// Keyboard style after Open Music Theory v1: chords in the right hand,
		// the bass alone in the left.
		Name: "keyboard",
		Severities: map[RuleID]Severity{
			"contrary-fifths": Caution, "contrary-octaves": Caution,
			"direct-fifths": Off, "direct-octaves": Caution, "direct-perfects-other-pairs": Off,
			"unequal-fifths": Caution,
			"masked-fifths":  Remark, "masked-octaves": Remark,
			"all-one-direction": Remark,
			"voice-overlap":     Off,
			"hand-span":         Fault,
			"low-spacing":       Caution, "bass-gap": Caution,
			"range":              Remark,
			"augmented-interval": Caution, "diminished-interval": Remark,
			"leap-of-seventh": Caution, "leap-over-octave": Caution,
			"unrecovered-leap": Remark, "successive-leaps": Remark,
			"altered-tone-doubled": Caution, "diminished-triad-doubling": Caution,
			"inner-leading-tone-unresolved": Remark, "diminished-triad-root-position": Caution,
			"leap-after-leap": Remark, "soprano-turns-back": Off, "narrow-bass": Off,
			"altered-tone-unresolved": Remark, "restless-upper-voices": Caution, "static-soprano": Off, "tessitura": Off,
		},
		// Two octaves and a half of empty middle are too much for two hands
		// (common practice, no source).
		Limits: Limits{ContraryPairs: OuterPair, EmbellishedParallels: WeighedAsCaution, BassGap: theory.Interval{Steps: 17, Semitones: 29}},
	},
	{
		// Free style: what holds in most tonal music outside exercises.
		Name: "free",
		Severities: map[RuleID]Severity{
			"parallel-fifths": Caution, "parallel-octaves": Caution,
			"consecutives-at-repeat": Off,
			"contrary-fifths":        Remark, "contrary-octaves": Remark,
			"direct-fifths": Off, "direct-octaves": Off, "direct-perfects-other-pairs": Off,
			"unequal-fifths": Off, "masked-fifths": Off, "masked-octaves": Off,
			"all-one-direction": Off, "parallel-fourths": Off, "parallel-seconds-sevenths": Off,
			"voice-crossing": Remark, "voice-overlap": Off, "spacing": Caution,
			"low-spacing": Off, "bass-gap": Off, "unison": Off, "range": Remark,
			"augmented-second": Caution, "augmented-interval": Off, "diminished-interval": Off,
			"leap-of-seventh": Remark, "leap-over-octave": Remark,
			"unrecovered-leap": Off, "successive-leaps": Off,
			"cross-relation":       Off,
			"altered-tone-doubled": Off, "third-doubled": Off, "bass-doubled-in-six": Off,
			"six-four-doubling": Off, "diminished-triad-doubling": Off,
			"leading-tone-doubled": Caution, "seventh-doubled": Caution,
			"third-missing": Caution, "root-missing": Caution, "seventh-missing": Remark,
			"diminished-triad-root-position": Off,
			"inner-leading-tone-unresolved":  Off, "leap-after-leap": Off, "soprano-turns-back": Off, "narrow-bass": Off,
			"bass-held-into-strong-beat": Off, "weak-progression": Off, "cadential-six-four-unprepared": Remark,
			"leading-tone-unresolved": Caution, "applied-leading-tone-unresolved": Caution,
			"seventh-unresolved": Caution, "seventh-unprepared": Off, "tritone-unresolved": Off,
			"six-four-misused": Caution, "cadential-six-four-unresolved": Caution,
			"retrogression": Off, "harmony-held-into-strong-beat": Off, "cadence-missing": Off,
			"final-chord": Off, "opening": Off,
			"nonchord-tone-unexplained": Remark, "suspension-note-anticipated": Off,
			"augmented-sixth-unresolved": Caution, "neapolitan-unresolved": Off, "altered-tone-unresolved": Off,
			"chromatic-doubling": Off, "restless-upper-voices": Off, "static-soprano": Off,
			"tessitura": Off, "cadential-six-four-weak": Off,
		},
		Limits: Limits{EmbellishedParallels: Unweighed},
	},
	speciesSet(1), speciesSet(2), speciesSet(3), speciesSet(4), speciesSet(5),
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
