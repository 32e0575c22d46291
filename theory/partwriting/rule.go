package partwriting

import "partwright/theory"

// RuleID is the permanent name of a rule in kebab case, such as
// "parallel-fifths". JSON, metrics and settings use it; it is never reused.
type RuleID string

// Severity is how much a finding matters.
type Severity int8

// Severities. Off silences a rule in a rule set.
const (
	Off Severity = iota
	Remark
	Caution
	Fault
)

// String returns "fault", "caution", "remark" or "off".
func (s Severity) String() string { return [...]string{"off", "remark", "caution", "fault"}[s] }

// SeverityByName returns the severity that [Severity.String] names so, and false
// where there is none.
func SeverityByName(name string) (Severity, bool) {
	for s := Off; s <= Fault; s++ {
		if s.String() == name {
			return s, true
		}
	}
	return Off, false
}

// Family groups rules for grades and rubrics.
type Family int8

// Families of rules.
const (
	// Consecutives: parallel, contrary and direct perfect intervals.
	Consecutives Family = iota
	// Placement: crossing, overlap, spacing, range.
	Placement
	// Line: the melody of one voice.
	Line
	// ChordTones: doubling, omission, completeness.
	ChordTones
	// Tendency: leading tones, sevenths and other notes that must move.
	Tendency
	// Progression: harmonic syntax, cadences, phrase.
	Progression
	// Embellishment: nonchord tones.
	Embellishment
	// Spelling: notation that misleads.
	Spelling
)

// Families lists all families in order.
var Families = []Family{Consecutives, Placement, Line, ChordTones, Tendency, Progression, Embellishment, Spelling}

// String returns the family's name in kebab case, as JSON uses it.
func (f Family) String() string {
	return [...]string{"consecutives", "placement", "line", "chord-tones", "tendency", "progression", "embellishment", "spelling"}[f]
}

// Source names where a rule's definition comes from.
type Source struct {
	// Work is the book or page, Place the section, Reading which of several
	// readings we follow, if they differ.
	Work, Place, Reading string
}

// String returns the source in one line, such as "Integrated Music Theory, unit
// 10b; any pair of voices".
func (s Source) String() string {
	out := s.Work
	if s.Place != "" {
		out += ", " + s.Place
	}
	if s.Reading != "" {
		out += "; " + s.Reading
	}
	return out
}

// Rule is one thing that a check can say about a passage.
type Rule struct {
	ID     RuleID
	Family Family
	// Severity is that of strict chorale style; the rule set has the last word.
	Severity Severity
	Source   Source
	// Check is pure: the same passage gives the same findings. It leaves Rule
	// and Family empty, the engine fills them in, and sets a Severity only
	// where the finding weighs less than the rule does in general.
	Check func(*Passage) []Finding
}

// Finding is one fault, caution or remark at one place.
type Finding struct {
	Rule     RuleID
	Family   Family
	Severity Severity
	// Problem is set where a finding is about the hand-in as a whole.
	Problem Problem
	// Licence says why a finding is only a remark here, empty if it is not.
	Licence Licence
	// Follows is the number, from 1, of the finding from which this one follows
	// among those that a check returns, and Cause that one's rule; 0 and empty if
	// it stands alone. What follows stands behind its cause: all of a chain is one
	// fault, and a rubric counts it once, by the gravest.
	Follows int
	Cause   RuleID
	// Doubt is a second reading of a chord by which the finding would not stand or
	// would weigh less, nil where every plausible reading bears it.
	Doubt *Doubt
	// Onset is where the reader should look first: of the second sonority where
	// a rule speaks of two. Measure is its index.
	Onset   theory.Fraction
	Measure int
	// Voices are indexes in the texture, from the top.
	Voices []int
	// Notes are the notes concerned, in the order of time, then from the top.
	Notes []NoteRef
	// Related are further notes that help to see the fault.
	Related []NoteRef
	// Args fill the placeholders of the rule's message.
	Args []Arg
	// Fixes are alternatives, each of which removes the finding.
	Fixes []Fix
}

// Licence is the reason why something that is usually a fault is excused
// here; catalogs put it into words.
type Licence string

// Licences.
const (
	// BetweenPhrases: a phrase ends between the two sonorities.
	BetweenPhrases Licence = "between-phrases"
	// AcceptedHere: the teacher has accepted the finding.
	AcceptedHere Licence = "accepted"
	// AcceptedInScore: a text in the score accepts it, which anybody may have
	// written.
	AcceptedInScore Licence = "accepted-in-score"
	// Anticipated: a cadence's final note comes early and makes a parallel with
	// the dominant.
	Anticipated Licence = "anticipation"
	// GrowingVoices: the ranges are a rule of thumb for voices that change.
	GrowingVoices Licence = "growing-voices"
)

// NoteRef names a note of a texture.
type NoteRef struct {
	// Voice indexes Texture.Voices, Note that voice's Notes.
	Voice, Note int
}

// Arg is one value of a message: a voice, pitch, interval, number or word that a
// catalog renders in its own language.
type Arg struct {
	Name  string
	Value any
}

// Fix is one way to mend a finding.
type Fix struct {
	Edits []Edit
}

// Edit gives a note a new pitch.
type Edit struct {
	Note NoteRef
	To   theory.Pitch
}
