package harmony

import "partwright/theory"

// Analysis is the harmonic reading of a texture.
type Analysis struct {
	// Harmonies follow one another without overlap; rests may lie between them.
	Harmonies []Harmony
	// Keys are the stretches of one key, in order, from the first harmony on.
	Keys []KeyArea
	// Phrases are in order and cover the piece; Cadences are where they end.
	Phrases  []Phrase
	Cadences []Cadence
	// Notes classifies every note: Notes[v][n] belongs to Voices[v].Notes[n].
	Notes [][]NoteReading
	// Given are the labels that the reading heeds, Use how it does, Contested those
	// that the notes alone do not bear out; there are none without labels. See
	// [GuidedAs].
	Given     []Annotation
	Use       LabelUse
	Contested []Contest
	// Style is that of the model that has read the texture; by texture where the
	// analysis was given or the model is none of ours.
	Style Style
	// StyleFound is a clause that says why that style was chosen, such as "the voices
	// move together"; "" where there is nothing to say.
	StyleFound string

	texture *theory.Texture
	// atMoment holds the harmony that sounds at each moment, -1 for none.
	atMoment []int32
	doubts   doubts
	// byNotes is the analysis by the notes alone, nil without labels.
	byNotes *Analysis
	// kept is the search that has found it, nil where it was not kept.
	kept *kept
}

// Harmony is one chord for as long as it lasts.
type Harmony struct {
	// Onset and End are in quarter notes from the start of the score.
	Onset, End theory.Fraction
	// Measure is the index of the measure in which it begins.
	Measure int
	// FirstMoment and EndMoment bound the texture's moments within it; End is
	// exclusive.
	FirstMoment, EndMoment int
	Reading
	// Pivot is the same chord as read in the key that is being left, nil if the
	// key does not change here or no such reading made sense.
	Pivot *Reading
	// Confidence estimates how likely it is that a musician would give the same
	// key and numeral, 0 to 1. See [Analyze] for how it is calibrated.
	Confidence float64
	// Margin is how much worse, in units of log probability, the best reading of
	// the whole piece is that reads this place differently; RunnerUp is what
	// that reading has here. Margin is +Inf and RunnerUp nil if there is none
	// within [MaxMargin].
	Margin   float64
	RunnerUp *Reading
}

// Reading is a chord in a key.
type Reading struct {
	Key     theory.Key
	Numeral Numeral
}

// Root returns the spelled root of the chord.
func (r Reading) Root() theory.PitchClass { return r.Numeral.Root(r.Key) }

// Quality returns the chord's quality.
func (r Reading) Quality() Quality { return r.Numeral.Quality }

// Inversion is 0 for root position.
func (r Reading) Inversion() int { return int(r.Numeral.Inversion) }

// Bass returns the chord member that the inversion puts lowest.
func (r Reading) Bass() theory.PitchClass { return r.Member(r.Inversion()) }

// Size returns the number of chord members, 3 or 4.
func (r Reading) Size() int { return r.Numeral.Quality.Size() }

// Member returns a chord member: 0 root, 1 third, 2 fifth, 3 seventh.
func (r Reading) Member(i int) theory.PitchClass {
	return r.Numeral.Quality.Member(r.Root(), i)
}

// MemberOf returns which member of the chord a note is: 0 root, 1 third, 2
// fifth, 3 seventh, or -1 if it is none. Spelling counts.
func (r Reading) MemberOf(c theory.PitchClass) int {
	above := c.Fifths() - r.Root().Fifths()
	for i, fifths := range qualities[r.Numeral.Quality].fifths {
		if fifths == above {
			return i
		}
	}
	return -1
}

// LeadingTone returns the leading tone that a chord of dominant function
// contains: that of the key, or of the target of an applied chord. It reports
// false for other chords, among them iii and minor v.
func (r Reading) LeadingTone() (theory.PitchClass, bool) {
	if !r.Numeral.IsDominant() {
		return theory.PitchClass{}, false
	}
	lead := r.Numeral.In(r.Key).LeadingTone()
	return lead, r.MemberOf(lead) >= 0
}

// Seventh returns the chord's seventh, if it has one. The augmented sixths have
// none in this sense.
func (r Reading) Seventh() (theory.PitchClass, bool) {
	q := r.Numeral.Quality
	if !q.hasSeventh() {
		return theory.PitchClass{}, false
	}
	return r.Member(3), true
}

// String returns "G: V65/V".
func (r Reading) String() string {
	return r.Key.Abbreviation() + ": " + r.Numeral.Text(r.Key.Mode)
}

// Symbol returns the chord symbol, such as "F#m7b5/A".
func (r Reading) Symbol() string {
	return Chord{r.Root(), r.Quality(), r.Inversion()}.Symbol()
}

// KeyArea is a stretch of music in one key.
type KeyArea struct {
	Key        theory.Key
	Onset, End theory.Fraction
	// First and Last index Harmonies. A pivot chord belongs to the new key.
	First, Last int
}

// Phrase is a stretch of music that ends in a point of rest.
type Phrase struct {
	Onset, End theory.Fraction
	// FirstMoment and EndMoment bound the texture's moments; End is exclusive.
	FirstMoment, EndMoment int
	// Evidence says what marks the end.
	Evidence PhraseEvidence
}

// PhraseEvidence is what marks the end of a phrase, as a set.
type PhraseEvidence uint8

// Marks of a phrase end.
const (
	ByFermata PhraseEvidence = 1 << iota
	ByBarLine
	ByBreath
	ByRest
	ByLyric
	ByLongNote
	ByEndOfPiece
)

// Has reports whether all the given marks are present.
func (e PhraseEvidence) Has(f PhraseEvidence) bool { return e&f == f }

// CadenceKind is the kind of a cadence.
type CadenceKind int8

// Kinds of cadence, after Hutchinson, Music Theory for the 21st-Century
// Classroom, ch. 10, and Butterfield, Integrated Music Theory, unit 8.
const (
	// NoCadence: the phrase ends in no formula that has a name.
	NoCadence CadenceKind = iota
	// PerfectAuthentic: V to I, both in root position, tonic in the soprano.
	PerfectAuthentic
	// ImperfectAuthentic: V or viio to I, where one of those conditions fails.
	ImperfectAuthentic
	// Half: the phrase ends on V.
	Half
	// Plagal: IV to I closes the phrase.
	Plagal
	// Deceptive: V goes to vi or to another chord in place of I.
	Deceptive
)

// String returns PAC, IAC, HC, PC, DC, or "" for none.
func (k CadenceKind) String() string {
	return [...]string{"", "PAC", "IAC", "HC", "PC", "DC"}[k]
}

// Cadence is the end of a phrase.
type Cadence struct {
	Kind CadenceKind
	// Phrase indexes Phrases; Penultimate and Final index Harmonies,
	// Penultimate is -1 where the phrase has one harmony only.
	Phrase, Penultimate, Final int
	// Onset is that of the final harmony.
	Onset theory.Fraction
	Key   theory.Key
	// Soprano is the scale degree on top of the final chord, 0 where it is no
	// note of the scale.
	Soprano int
	// Phrygian is set for iv6-V in minor, Picardy for a major tonic in minor.
	Phrygian, Picardy bool
}

// NoteClass is the part a note plays in its harmony.
type NoteClass int8

// Classes of note, by how the note is approached and left (Hutchinson, ch. 10;
// Butterfield, units 9 and 10; Open Music Theory v1, species counterpoint).
const (
	ChordTone NoteClass = iota
	// Passing: by step, on by step in the same direction.
	Passing
	// Neighbor: by step, back by step to the same note.
	Neighbor
	// Suspension: held from the harmony before, down by step.
	Suspension
	// Retardation: held from the harmony before, up by step.
	Retardation
	// Appoggiatura: by leap, on by step, on a strong place or against the leap.
	Appoggiatura
	// EscapeTone: by step, on by leap.
	EscapeTone
	// IncompleteNeighbor: by leap, on by step, on a weak place.
	IncompleteNeighbor
	// Anticipation: stays as a note of the next harmony.
	Anticipation
	// PedalTone: stays from a harmony it belongs to until one it belongs to.
	PedalTone
	// ChangingTone: one of two notes that surround a note by step and third.
	ChangingTone
	// OtherNonchord: no figure with a name.
	OtherNonchord
	// Unread: no harmony sounds here.
	Unread
)

// String returns the usual word in kebab case.
func (c NoteClass) String() string {
	return [...]string{"chord-tone", "passing", "neighbor", "suspension", "retardation",
		"appoggiatura", "escape", "incomplete-neighbor", "anticipation", "pedal", "changing",
		"other-nonchord", "unread"}[c]
}

// NoteReading is the part one note plays.
type NoteReading struct {
	// Harmony indexes Harmonies: the one against which the note is classed,
	// which for a suspension is the later one; -1 if none.
	Harmony int
	// Figures are those of a suspension or retardation above the bass: "4-3",
	// "7-6", "9-8", "2-3".
	Figures string
	// Class is [ChordTone] if the note belongs to every harmony it sounds in.
	Class NoteClass
	// Member is the chord member at the note's onset, -1 if it is none.
	Member int8
	// Accented is set where a nonchord tone stands on a place at least as
	// strong as that of the note after it.
	Accented bool
}

// At returns the harmony that sounds at a moment of the texture, or nil.
func (a *Analysis) At(moment int) *Harmony {
	if i := a.IndexAt(moment); i >= 0 {
		return &a.Harmonies[i]
	}
	return nil
}

// IndexAt returns the index of the harmony that sounds at a moment, or -1.
func (a *Analysis) IndexAt(moment int) int { return int(a.atMoment[moment]) }

// AtOnset returns the harmony that sounds at an onset, or nil.
func (a *Analysis) AtOnset(onset theory.Fraction) *Harmony {
	if m := a.momentOf(onset); m >= 0 {
		return a.At(m)
	}
	return nil
}
