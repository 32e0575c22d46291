package partwriting

import (
	"maps"
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/texture"
)

// DefaultRuleSet is the name of the set that applies when none is chosen.
const DefaultRuleSet = "strict-chorale"

// RuleSet is a choice of rules with severities and thresholds. The zero value,
// and nil, run every rule at its default severity.
type RuleSet struct {
	// Name is the set's own name.
	Name string
	// Severities overrides defaults; Off silences a rule.
	Severities map[RuleID]Severity
	// Limits are the thresholds; what is left zero takes its default.
	Limits Limits
	// Task is the exercise as it was handed out, nil where none is known.
	Task *theory.Texture
	// Accepted lists, by the printed label of a measure, the rules whose findings
	// there the teacher lets stand: they become remarks and stay so when the
	// score comes again. With a beat behind it, a rule is let stand there alone; see
	// [RuleID.AtBeat].
	Accepted map[string][]RuleID
}

// Limits are the thresholds of rules that measure.
type Limits struct {
	// UpperSpacing is the widest interval between neighboring upper voices;
	// default a perfect octave.
	UpperSpacing theory.Interval
	// HandSpan is the widest interval that the upper voices may span in keyboard
	// style; default a perfect octave.
	HandSpan theory.Interval
	// BassGap is the widest interval between the bass and a close upper
	// structure; default a perfect twelfth.
	BassGap theory.Interval
	// LowSpacingBelow is the pitch of the bass below which a third or second
	// above it sounds thick; default C3.
	LowSpacingBelow theory.Pitch
	// LeapRecovery is the largest leap that need not turn back; default a
	// perfect fourth.
	LeapRecovery theory.Interval
	// MinConfidence is how safe the reading of a harmony must be, 0 to 1, before
	// rules build on it; default 0.5.
	MinConfidence float64
	// ContraryPairs are the pairs in which consecutives by contrary motion count;
	// default any pair.
	ContraryPairs PairChoice
	// EmbellishedParallels is how parallels weigh in which a nonchord tone has a
	// part; default as others.
	EmbellishedParallels Embellished
	// Cadences are those that the exercise asks for, phrase by phrase: PAC, IAC,
	// AC for any authentic one, HC, PC, DC, or a hyphen for any; default none.
	Cadences []string
	// DirectApproach is how the upper voice must come for a direct perfect
	// interval to count; default by leap.
	DirectApproach Approach
	// PredominantFifthFree lets ii65 go without its fifth on the way to V7, where the bass
	// is doubled in its place: so both sevenths are prepared.
	PredominantFifthFree bool
	// Species is the species of counterpoint, 1 to 5, that the rules for it go
	// by; 0 for none.
	Species int
	// IgnoreAcceptedTexts passes over texts in a score by which it lets findings
	// stand: in a hand-in the pupil may have written them.
	IgnoreAcceptedTexts bool
	// RangesAdvise makes what lies outside the ranges a remark.
	RangesAdvise bool
	// Texture is what the score is to be taken for; default what it is read as.
	Texture texture.Kind
	// Ranges by voice name; default [ConservativeRanges].
	Ranges map[string]Range
}

// PairChoice is a choice of pairs of voices.
type PairChoice int8

// Choices of pairs.
const (
	// AnyPair is every pair.
	AnyPair PairChoice = iota
	// OuterPair is the highest and the lowest voice.
	OuterPair
)

// Embellished is how much parallels weigh that an embellishment makes.
type Embellished int8

// Weights of embellished parallels.
const (
	// WeighedAsOthers is as parallels between chord tones.
	WeighedAsOthers Embellished = iota
	// WeighedAsCaution and WeighedAsRemark are at most that.
	WeighedAsCaution
	WeighedAsRemark
	// Unweighed is not at all.
	Unweighed
)

// severity returns the most that they weigh, and whether they are reported.
func (e Embellished) severity() (Severity, bool) {
	return [...]Severity{Off, Caution, Remark, Off}[e], e != Unweighed
}

// Approach is how the upper of two voices reaches its note.
type Approach int8

// Approaches.
const (
	// ByLeap is by more than a second.
	ByLeap Approach = iota
	// AnyApproach is by step as well.
	AnyApproach
)

// UseCompass takes over published ranges.
func (l *Limits) UseCompass(c Compass) {
	l.Ranges = make(map[string]Range, len(c.Ranges))
	for name, r := range c.Ranges {
		l.Ranges[name] = r
	}
	l.RangesAdvise = c.Advice
}

// Title returns the name under which answers show the set.
func (s *RuleSet) Title() string {
	if s == nil || s.Name == "" {
		return DefaultRuleSet
	}
	return s.Name
}

// SeverityOf returns the severity a rule has in this set.
func (s *RuleSet) SeverityOf(r *Rule) Severity {
	if s != nil {
		if own, ok := s.Severities[r.ID]; ok {
			return own
		}
	}
	return r.Severity
}

// Accepting returns a copy of the set, which may be nil, that lets stand what it
// did and more.
func (s *RuleSet) Accepting(more map[string][]RuleID) *RuleSet {
	var wider RuleSet
	if s != nil {
		wider = *s
	}
	wider.Accepted = maps.Clone(wider.Accepted)
	if wider.Accepted == nil {
		wider.Accepted = make(map[string][]RuleID, len(more))
	}
	for measure, rules := range more {
		wider.Accepted[measure] = append(slices.Clone(wider.Accepted[measure]), rules...)
	}
	return &wider
}

// accepts reports whether what a rule finds at a beat of a measure is let stand.
func (s *RuleSet) accepts(rule RuleID, measure string, beat theory.Fraction) bool {
	if s == nil {
		return false
	}
	here := s.Accepted[measure]
	return slices.Contains(here, rule) || slices.Contains(here, rule.AtBeat(beat.String()))
}

// AtBeat is how [RuleSet.Accepted] names a rule at one beat only, which counts from 1:
// "spacing@3", "range@5/2".
func (id RuleID) AtBeat(beat string) RuleID { return id + beatSign + RuleID(beat) }

// CutBeat parts what [RuleID.AtBeat] has joined; the beat is "" where none is named.
func (id RuleID) CutBeat() (rule RuleID, beat string) {
	name, beat, _ := strings.Cut(string(id), beatSign)
	return RuleID(name), beat
}

const beatSign = "@"

func (s *RuleSet) limits() Limits {
	var l Limits
	if s != nil {
		l = s.Limits
	}
	orDefault(&l.UpperSpacing, theory.PerfectOctave)
	orDefault(&l.HandSpan, theory.PerfectOctave)
	orDefault(&l.BassGap, theory.Interval{Steps: 11, Semitones: 19})
	orDefault(&l.LeapRecovery, theory.PerfectFourth)
	orDefault(&l.MinConfidence, 0.5)
	orDefault(&l.LowSpacingBelow, theory.Pitch{Step: theory.C, Octave: 3})
	if l.Ranges == nil {
		l.Ranges = compasses[0].Ranges
	}
	return l
}

// orDefault fills in what was left zero.
func orDefault[T comparable](setting *T, value T) {
	var zero T
	if *setting == zero {
		*setting = value
	}
}
