package partwriting

// weights is how much a rule weighs in each of the sets that come with the
// program; the five species share a column.
type weights struct {
	rule                            RuleID
	strict, keyboard, free, species Severity
}

// severities has a row for every rule, in the order in which findings at one
// place are reported. A new rule takes a row here, and with it a severity in every
// set. The first column is the severity that a rule has where a set of a
// teacher's own does not name it.
//
// Strict is the chorale style of the sources that the rules name. Keyboard is
// after Open Music Theory v1: chords in the right hand, the bass alone in the
// left. Free is what holds in most tonal music outside exercises. Species is
// counterpoint as Open Music Theory v1 has it: lines and consecutives, and none
// of the rules that read a harmony.
var severities = []weights{
	// rule, then strict, keyboard, free, species
	{"unfinished", Fault, Fault, Fault, Fault},
	{"misread", Fault, Fault, Fault, Fault},
	{"given-line-changed", Fault, Fault, Fault, Fault},
	{"parallel-fifths", Fault, Fault, Caution, Fault},
	{"parallel-octaves", Fault, Fault, Caution, Fault},
	{"parallel-unisons", Fault, Fault, Fault, Fault},
	{"contrary-fifths", Fault, Caution, Remark, Fault},
	{"contrary-octaves", Fault, Caution, Remark, Fault},
	{"octave-doubling", Remark, Remark, Remark, Off},
	{"consecutives-at-repeat", Caution, Caution, Off, Caution},
	{"direct-fifths", Fault, Off, Off, Fault},
	{"direct-octaves", Fault, Caution, Off, Fault},
	{"unequal-fifths", Fault, Caution, Off, Fault},
	{"narrowing-fifths", Off, Off, Off, Off},
	{"masked-fifths", Caution, Remark, Off, Caution},
	{"masked-octaves", Caution, Remark, Off, Caution},
	{"direct-perfects-other-pairs", Remark, Off, Off, Caution},
	{"all-one-direction", Caution, Remark, Off, Off},
	{"parallel-fourths", Remark, Remark, Off, Remark},
	{"parallel-seconds-sevenths", Remark, Remark, Off, Remark},
	{"voice-crossing", Fault, Fault, Remark, Fault},
	{"voice-overlap", Caution, Off, Off, Caution},
	{"spacing", Fault, Fault, Caution, Off},
	{"range", Fault, Remark, Remark, Remark},
	{"low-spacing", Remark, Caution, Off, Off},
	{"bass-gap", Remark, Caution, Off, Off},
	{"hand-span", Off, Fault, Off, Off},
	{"unison", Remark, Remark, Off, Remark},
	{"augmented-second", Fault, Fault, Caution, Fault},
	{"augmented-interval", Fault, Caution, Off, Fault},
	{"leap-over-octave", Fault, Caution, Remark, Fault},
	{"diminished-interval", Caution, Remark, Off, Fault},
	{"leap-of-seventh", Fault, Caution, Remark, Fault},
	{"unrecovered-leap", Caution, Remark, Off, Caution},
	{"successive-leaps", Caution, Remark, Off, Caution},
	{"leap-after-leap", Caution, Remark, Off, Caution},
	{"cross-relation", Caution, Caution, Off, Caution},
	{"leading-tone-doubled", Fault, Fault, Caution, Off},
	{"seventh-doubled", Fault, Fault, Caution, Off},
	{"altered-tone-doubled", Fault, Caution, Off, Off},
	{"third-doubled", Caution, Caution, Off, Off},
	{"bass-doubled-in-six", Caution, Caution, Off, Off},
	{"six-four-doubling", Fault, Fault, Off, Off},
	{"diminished-triad-doubling", Caution, Caution, Off, Off},
	{"third-missing", Fault, Fault, Caution, Off},
	{"root-missing", Fault, Fault, Caution, Off},
	{"fifth-missing", Caution, Caution, Caution, Off},
	{"seventh-missing", Fault, Fault, Remark, Off},
	{"diminished-triad-root-position", Caution, Caution, Off, Off},
	{"note-outside-chord", Fault, Fault, Fault, Off},
	{"member-misspelled", Fault, Fault, Fault, Fault},
	{"inflection-not-as-named", Fault, Fault, Fault, Off},
	{"inversion-not-as-named", Fault, Fault, Fault, Off},
	{"label-disagrees", Caution, Caution, Caution, Off},
	{"leading-tone-unresolved", Fault, Fault, Caution, Off},
	{"inner-leading-tone-unresolved", Caution, Remark, Off, Off},
	{"applied-leading-tone-unresolved", Fault, Fault, Caution, Off},
	{"seventh-unresolved", Fault, Fault, Caution, Off},
	{"seventh-unprepared", Caution, Caution, Off, Off},
	{"tritone-unresolved", Remark, Remark, Off, Off},
	{"six-four-misused", Fault, Fault, Caution, Off},
	{"cadential-six-four-unresolved", Fault, Fault, Caution, Off},
	{"cadential-six-four-unprepared", Caution, Caution, Remark, Off},
	{"retrogression", Fault, Fault, Off, Off},
	{"harmony-held-into-strong-beat", Caution, Caution, Off, Off},
	{"cadence-missing", Fault, Fault, Off, Off},
	{"final-chord", Fault, Fault, Off, Off},
	{"opening", Remark, Remark, Off, Off},
	{"weak-progression", Caution, Caution, Off, Off},
	{"cadence-not-as-asked", Fault, Fault, Fault, Off},
	{"nonchord-tone-unexplained", Caution, Caution, Remark, Off},
	{"suspension-note-anticipated", Remark, Remark, Off, Off},
	{"augmented-sixth-unresolved", Fault, Fault, Caution, Off},
	{"neapolitan-unresolved", Caution, Caution, Off, Off},
	{"altered-tone-unresolved", Caution, Remark, Off, Off},
	{"chromatic-doubling", Caution, Caution, Off, Off},
	{"leading-tone-not-raised", Fault, Fault, Fault, Fault},
	{"leading-tone-misspelled", Fault, Fault, Fault, Fault},
	{"restless-upper-voices", Remark, Caution, Off, Remark},
	{"tessitura", Remark, Off, Off, Remark},
	{"cadential-six-four-weak", Caution, Caution, Off, Off},
	{"static-soprano", Remark, Off, Off, Remark},
	{"soprano-turns-back", Remark, Off, Off, Remark},
	{"narrow-bass", Remark, Off, Off, Remark},
	{"bass-held-into-strong-beat", Caution, Caution, Off, Caution},
	{"species-dissonance", Off, Off, Off, Fault},
	{"species-opening", Off, Off, Off, Fault},
	{"species-close", Off, Off, Off, Fault},
	{"imperfect-run", Off, Off, Off, Caution},
	{"climax-repeated", Off, Off, Off, Remark},
}

// column returns the severities of one set.
func column(of func(*weights) Severity) map[RuleID]Severity {
	set := make(map[RuleID]Severity, len(severities))
	for i := range severities {
		set[severities[i].rule] = of(&severities[i])
	}
	return set
}
