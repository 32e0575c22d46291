package partwriting

import (
	"sort"

	"partwright/theory"
)

// Dyad is two pitches that sound together, as messages name them: lower voice
// first.
type Dyad struct{ Low, High theory.Pitch }

// VoiceName is the name of a voice in a message: S, A, T, B, V1, V2, …
type VoiceName string

// Word is a term that catalogs hold under "words".
type Word string

// at starts a finding that the reader meets at moment m.
func (p *Passage) at(m int, voices ...int) Finding {
	p.Score.Work.Step(1)
	moment := &p.Moments[m]
	return Finding{Onset: moment.Onset, Measure: int(moment.Measure), Voices: voices}
}

// atPair starts a finding about a move of two voices, with its four notes.
func (p *Passage) atPair(m *pairMove) Finding {
	f := p.at(m.To, m.Upper, m.Lower)
	f.Notes = []NoteRef{
		{m.Upper, int(m.UpperNotes[0])}, {m.Lower, int(m.LowerNotes[0])},
		{m.Upper, int(m.UpperNotes[1])}, {m.Lower, int(m.LowerNotes[1])},
	}
	f.Args = []Arg{
		{"from", Dyad{Low: p.Note(f.Notes[1]).Pitch, High: p.Note(f.Notes[0]).Pitch}},
		{"to", Dyad{Low: p.Note(f.Notes[3]).Pitch, High: p.Note(f.Notes[2]).Pitch}},
	}
	if m.PhraseEnd {
		f.Severity, f.Licence = Remark, BetweenPhrases
	}
	return f
}

// atMove starts a finding about two successive notes of a voice.
func (p *Passage) atMove(m *melodicMove) Finding {
	f := p.at(m.Moment, m.Voice)
	f.Notes = []NoteRef{{m.Voice, m.From}, {m.Voice, m.To}}
	f.Args = []Arg{
		{"interval", m.Interval},
		{"from", p.Note(f.Notes[0]).Pitch},
		{"to", p.Note(f.Notes[1]).Pitch},
	}
	return f
}

// atDyad starts a finding about what two voices sound at a moment.
func (p *Passage) atDyad(m, upper, lower int) Finding {
	f := p.at(m, upper, lower)
	f.Notes = []NoteRef{{upper, p.At(m, upper)}, {lower, p.At(m, lower)}}
	f.Args = []Arg{
		{"upper", VoiceName(p.Voices[upper].Name)}, {"upper-pitch", p.Note(f.Notes[0]).Pitch},
		{"lower", VoiceName(p.Voices[lower].Name)}, {"lower-pitch", p.Note(f.Notes[1]).Pitch},
	}
	return f
}

// inReadingOrder sorts findings: those about the hand-in as a whole, then by onset, then voice from the top, then rule in
// the order of the suite.
func inReadingOrder(findings []Finding) {
	sort.SliceStable(findings, func(i, j int) bool {
		a, b := &findings[i], &findings[j]
		if isHandIn(a) != isHandIn(b) {
			return isHandIn(a)
		}
		if c := a.Onset.Cmp(b.Onset); c != 0 {
			return c < 0
		}
		return firstVoice(a) < firstVoice(b)
	})
}

func firstVoice(f *Finding) int {
	if len(f.Voices) == 0 {
		return -1
	}
	return f.Voices[0]
}

func (p *Passage) dissonance(m, upper, lower int) Finding {
	f := p.atDyad(m, upper, lower)
	i, _ := p.dyad(m, upper, lower)
	f.Args = append(f.Args, Arg{"interval", i.Abs()})
	return f
}
