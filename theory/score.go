package theory

import "sort"

// NoteID names one written note or rest within the document that issued it, as a
// token position does only within its file set. It is the note's index in
// [Score.Notes].
type NoteID int32

// NoNote is the NoteID of nothing.
const NoNote NoteID = -1

// Score is what a document wrote: parts, measures, and every note and rest in
// document order. It does not say what a voice is; [FindVoices] does.
type Score struct {
	// Title, Composer and Rights are as the document says them, empty where it does not.
	Title, Composer, Rights string
	Parts                   []Part
	// Measures is the frame all parts share, in document order, repeats not
	// unfolded. Parts that do not agree are brought to the longest of them.
	Measures []Measure
	// Notes holds every note and rest in document order; a note's NoteID is its
	// index. Grace and cue notes and rests are included and flagged.
	Notes []Note
	// Keys and Times list every change in order of onset, then part, then staff,
	// the opening ones included.
	Keys  []KeyChange
	Times []TimeChange
	// Heard are the measures in the order in which they are played, empty where that is
	// the order on the page.
	Heard []int
	// Jumps are the joins that a repeat, an ending, da capo, dal segno or coda makes in
	// performance.
	Jumps []Jump
	// Cuts has an entry for each measure, set where the next one on the page never
	// follows it in performance, as after a first ending; empty where all do.
	Cuts []bool
	// Chords and Figures are the labels that the document itself gives, in order
	// of onset, then part.
	Chords  []GivenChord
	Figures []GivenFigures
	// Accepted are the texts that let something stand, in order of onset.
	Accepted []AcceptedText
	// Tempos are the tempo marks of the score, one at a moment, in order of onset.
	Tempos []Tempo
	// Resolution is a common denominator of all fractions of this score.
	Resolution int64
	// Work is the budget that whatever is done with the score draws on, nil for none.
	Work *Work
}

// Part is one part of the score.
type Part struct {
	// ID and Name are as the document gives them; Name may be empty.
	ID, Name string
	Kind     PartKind
	Staves   int
	// Layers holds the document's own voice labels, in order of appearance.
	Layers []string
	// Transposition leads from written to sounding pitch at the part's start.
	Transposition Interval
}

// PartKind says whether a part can hold voices.
type PartKind int8

// Kinds of part.
const (
	// PitchedPart holds notes with pitch.
	PitchedPart PartKind = iota
	// PercussionPart is unpitched.
	PercussionPart
	// TablaturePart is written in tablature.
	TablaturePart
	// EmptyPart has no notes: chord symbols, figures or rests only.
	EmptyPart
)

// String returns a word for the kind.
func (k PartKind) String() string {
	return [...]string{"pitched", "percussion", "tablature", "empty"}[k]
}

// Measure is one measure of the frame.
type Measure struct {
	// Index is 0-based; Label is what is printed, such as "12", "X1" or "".
	Index int
	Label string
	// Onset and Length are in quarter notes; Length is the furthest point that
	// any part reaches.
	Onset, Length Fraction
	// Time and Key are those in force at the start in the first part, or in
	// another where the first one has none; the key is at sounding pitch.
	Time TimeSignature
	Key  KeySignature
	// Implicit is set for pickups and continuations, which are not counted.
	Implicit bool
	// Into is how far into the metre's full measure this one begins: 3 for a
	// quarter-note pickup in 4/4, 2 for the second half of a split measure.
	Into Fraction
	// PhraseBar is set where a double or final bar line, or a repeat, closes the
	// measure.
	PhraseBar bool
}

// NoteFlags are properties of a written note.
type NoteFlags uint32

// Note properties.
const (
	// Rest is silence; Pitch means nothing.
	Rest NoteFlags = 1 << iota
	// Grace notes have no duration of their own.
	Grace
	// Cue notes are not played.
	Cue
	// InChord notes share the onset and stem of the note before them.
	InChord
	// TieStart and TieStop: the note goes on into the next, or from the last, of
	// the same pitch.
	TieStart
	TieStop
	// Hidden notes and rests are not printed.
	Hidden
	// Unpitched notes have no pitch.
	Unpitched
	// Microtone notes carry a pitch that is not a whole number of semitones, or
	// out of any range; they are reported as not analyzed.
	Microtone
	// Fermata marks the usual sign of a phrase end.
	Fermata
	// Breath marks a breath mark or caesura after the note.
	Breath
	// LyricComma and LyricStop: the syllable ends with , ; : or with . ! ?
	LyricComma
	LyricStop
	// WholeMeasure marks a whole-measure rest.
	WholeMeasure
	// Tablature notes stand on a tablature staff, which shows again how notes
	// of other staves are played; they are no voices of their own.
	Tablature
	// Slash marks a head that shows rhythm under a chord symbol: its pitch is where it
	// stands and means nothing.
	Slash
)

// Has reports whether all the given properties are set.
func (f NoteFlags) Has(g NoteFlags) bool { return f&g == g }

// Any reports whether one of the given properties is set.
func (f NoteFlags) Any(g NoteFlags) bool { return f&g != 0 }

// Note is one written note or rest.
type Note struct {
	// Onset and Duration in quarter notes, the onset from the score's start.
	Onset, Duration Fraction
	// Part and Measure index [Score.Parts] and [Score.Measures].
	Part, Measure int32
	Flags         NoteFlags
	// Pitch sounds, Written is what stands on the staff.
	Pitch, Written Pitch
	// Staff counts from 1 in the part; Layer indexes [Part.Layers].
	Staff, Layer int16
}

// Sounds reports whether the note is heard as a pitch of its own with a
// duration: not a rest, grace, cue, unpitched, microtonal or tablature note.
func (n *Note) Sounds() bool {
	return !n.Flags.Any(Rest | Grace | Cue | Unpitched | Microtone | Tablature)
}

// End returns the onset of what follows.
func (n *Note) End() Fraction { return n.Onset.Add(n.Duration) }

// Jump is a join in performance that is not a join on the page: from the end of
// one measure back (or on) to the start of another.
type Jump struct {
	// From is the index of the last measure played, To of the next one.
	From, To int
}

// MeasureAt returns the measure that an onset falls in; an onset at or past the
// end belongs to the last. The score must have a measure.
func (s *Score) MeasureAt(onset Fraction) *Measure {
	i := sort.Search(len(s.Measures), func(i int) bool { return onset.Less(s.Measures[i].Onset) })
	// Measures of length 0 share an onset with the next: the last one wins.
	if i > 0 {
		i--
	}
	return &s.Measures[i]
}

// End returns the onset after the last measure.
func (s *Score) End() Fraction {
	if len(s.Measures) == 0 {
		return Fraction{}
	}
	last := &s.Measures[len(s.Measures)-1]
	return last.Onset.Add(last.Length)
}

// CommonResolution returns Resolution, or, where a score was built by hand
// without it, the least common denominator of its notes and measures.
func (s *Score) CommonResolution() int64 {
	if s.Resolution > 0 {
		return s.Resolution
	}
	common := int64(1)
	include := func(f Fraction) {
		if d := f.Den(); common%d != 0 && common <= MaxResolution {
			common = common / gcd(common, d) * d
		}
	}
	for i := range s.Measures {
		include(s.Measures[i].Onset)
	}
	for i := range s.Notes {
		include(s.Notes[i].Onset)
		include(s.Notes[i].Duration)
	}
	return common
}
