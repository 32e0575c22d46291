package partwriting

import (
	"partwright/theory"
	"partwright/theory/texture"
)

// Problem is why a hand-in is not complete, or was not read as it was meant.
type Problem string

// Problems of hand-ins; the phrase "problem-" with the name says it in words.
const (
	NoProblem       Problem = ""
	VoiceMissing    Problem = "voice-missing"
	VoiceSilent     Problem = "voice-silent"
	VoiceStops      Problem = "voice-stops"
	VoiceBlank      Problem = "voice-blank"
	InnerMissing    Problem = "inner-voices-missing"
	MelodyAlone     Problem = "melody-alone"
	MeasuresEmpty   Problem = "measures-empty"
	MeasureShort    Problem = "measure-short"
	MeasureLong     Problem = "measure-long"
	SignatureWrong  Problem = "key-signature"
	LeadNeverRaised Problem = "leading-tone-never-raised"
	VoicesSwapped   Problem = "voices-swapped"
	OctaveAway      Problem = "octave-away"
	ClefWrong       Problem = "clef"
	GivenChanged    Problem = "given-changed"
	GivenMissing    Problem = "given-missing"
)

// Problems lists all of them.
var Problems = []Problem{
	VoiceMissing, VoiceSilent, VoiceStops, VoiceBlank, InnerMissing, MelodyAlone, MeasuresEmpty, MeasureShort, MeasureLong,
	SignatureWrong, LeadNeverRaised, VoicesSwapped, OctaveAway, ClefWrong, GivenChanged, GivenMissing,
}

// Said is a phrase with its values, as an argument of a message.
type Said struct {
	Phrase Phrase
	Pairs  []any
}

// handIns look at the hand-in as a whole, before any rule of part-writing: is it
// complete, and was it read as it was meant. What they find comes first.
var handIns = []*Rule{
	{
		ID: "unfinished", Family: Spelling,
		Source: Source{"common practice, no source", "", "an exercise is marked when it is finished"},
		Check:  ofWhole((*Passage).unfinished),
	},
	{
		ID: "misread", Family: Spelling,
		Source: Source{"common practice, no source", "", "one slip of clef, octave, order or signature is one finding"},
		Check:  ofWhole((*Passage).misread),
	},
	{
		ID: "given-line-changed", Family: Spelling,
		Source: Source{"common practice, no source", "", "what an exercise gives stays as it is"},
		Check:  ofWhole((*Passage).givenChanged),
	},
}

// ofWhole asks a rule about the whole hand-in, never of an excerpt.
func ofWhole(check func(*Passage) []Finding) func(*Passage) []Finding {
	return func(p *Passage) []Finding {
		if p.part {
			return nil
		}
		return check(p)
	}
}

// isHandIn reports whether a finding is about the hand-in as a whole.
func isHandIn(f *Finding) bool { return f.Problem != NoProblem }

// Complete reports whether a hand-in is finished and was read as it was meant, by
// the findings about it: those that the set or the teacher lets stand do not count.
func Complete(findings []Finding) bool {
	for i := range findings {
		if isHandIn(&findings[i]) && findings[i].Severity > Remark {
			return false
		}
	}
	return true
}

// problem starts a finding about the hand-in at a measure, with the notes that show
// it: those given, else what sounds there or last before.
func (p *Passage) problem(kind Problem, measure int, voices []int, notes []NoteRef, pairs ...any) Finding {
	m := p.momentIn(measure)
	f := Finding{Problem: kind, Measure: measure, Onset: p.Score.Measures[measure].Onset, Voices: voices, Notes: notes}
	if len(notes) == 0 {
		f.Notes = p.allAt(m)
	}
	f.Args = []Arg{{"problem", Said{Phrase("problem-" + string(kind)), pairs}}}
	return f
}

// momentIn returns the first moment of a measure, else the last one before it.
func (p *Passage) momentIn(measure int) int {
	at := 0
	for m := range p.Moments {
		if int(p.Moments[m].Measure) > measure {
			break
		}
		at = m
		if int(p.Moments[m].Measure) == measure {
			break
		}
	}
	return at
}

// strictly reports whether the texture has a fixed number of voices, all of which
// are there from beginning to end.
func (p *Passage) strictly() bool {
	return p.kind.Kind == texture.Choir || p.kind.Kind == texture.KeyboardStyle
}

// label is the printed number of a measure.
func (p *Passage) label(measure int) string {
	if l := p.Score.Measures[measure].Label; l != "" {
		return l
	}
	return "?"
}

// withoutSymptoms leaves out what only follows from the hand-in as a whole: where
// voices are swapped, an octave away or in a wrong clef, where they stand to one
// another; after a voice has stopped, what chords lack.
func withoutSymptoms(findings []Finding) []Finding {
	c := ailmentOf(findings)
	if len(c.order)+len(c.pitches) == 0 && !c.stopped {
		return findings
	}
	kept := findings[:0]
	for i := range findings {
		if f := &findings[i]; isHandIn(f) || !c.explains(f) {
			kept = append(kept, *f)
		}
	}
	return kept
}

// ailment is what is wrong with a hand-in as a whole: in which voices, and from where on
// a voice is not there.
type ailment struct {
	order, pitches map[int]bool
	stops          theory.Fraction
	stopped        bool
}

func ailmentOf(findings []Finding) ailment {
	c := ailment{order: map[int]bool{}, pitches: map[int]bool{}}
	for i := range findings {
		f := &findings[i]
		switch f.Problem {
		case VoicesSwapped, OctaveAway:
			for _, v := range f.Voices {
				c.order[v] = true
			}
		case ClefWrong:
			for _, v := range f.Voices {
				c.pitches[v] = true
			}
		case VoiceStops, VoiceBlank, VoiceSilent, VoiceMissing, InnerMissing:
			if !c.stopped || f.Onset.Less(c.stops) {
				c.stops, c.stopped = f.Onset, true
			}
		}
	}
	return c
}

// explains reports whether a finding only follows from it.
func (c *ailment) explains(f *Finding) bool {
	for _, v := range f.Voices {
		if c.pitches[v] || c.order[v] && f.Family == Placement {
			return true
		}
	}
	return c.stopped && !f.Onset.Less(c.stops) && (f.Family == ChordTones || f.Family == Progression)
}
