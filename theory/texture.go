package theory

// Voice is one independent melodic line: in any moment one note or none.
type Voice struct {
	// Name is S, A, T, B for four voices, V1, V2, … from the top otherwise.
	Name string
	// Part and Staff are where most of the voice's notes stand; Part indexes
	// [Score.Parts], Staff counts from 1.
	Part, Staff int
	// Extra is set for a voice that exists only where a staff has more notes
	// than voices, as where a choir part divides for a few chords: the part's
	// own line stays one voice, and the rest of the notes are this one.
	Extra bool
	// Found says how the voice was found, for the reader of an answer.
	Found string
	// Notes are in order of onset and do not overlap; what they leave open is
	// rest. Ties are joined.
	Notes []VoiceNote
}

// VoiceNote is one sounding note of a voice, its ties joined.
type VoiceNote struct {
	Pitch           Pitch
	Onset, Duration Fraction
	// Measure is the index of the measure in which it begins.
	Measure int32
	// Flags are those of its written notes together.
	Flags NoteFlags
	// IDs are the written notes, tied ones in order; two voices that share a
	// note head both name it. Never empty. Shared: do not modify.
	IDs []NoteID
}

// End returns the onset of what follows.
func (n *VoiceNote) End() Fraction { return n.Onset.Add(n.Duration) }

// Layout is how the voices stand on the page.
type Layout int8

// Layouts.
const (
	// NoVoices: nothing in the score is a voice.
	NoVoices Layout = iota
	// OpenScore has a part or a staff for each voice.
	OpenScore
	// ClosedScore has two voices on a staff, told apart by the document.
	ClosedScore
	// KeyboardScore has chords that are split into voices by rank.
	KeyboardScore
	// BlockChords is one staff of chords split by rank.
	BlockChords
	// MixedLayout is a mixture, such as a song with accompaniment.
	MixedLayout
)

// String returns "open score", "closed score", and so on.
func (l Layout) String() string {
	return [...]string{"no voices", "open score", "closed score", "keyboard", "block chords", "mixed"}[l]
}

// Texture is a score seen as voices.
type Texture struct {
	Score  *Score
	Layout Layout
	// Found says in one sentence how the voices were found.
	Found string
	// Voices are in order from the top, extra ones after all others.
	Voices []Voice
	// SetAside lists what is not a voice, with the reason.
	SetAside []SetAside
	// Moments are the points where at least one voice starts a note, in order.
	Moments []Moment
	// cells holds len(Voices) entries for each moment.
	cells []int32
}

// Under is the texture with another budget, for a job of its own.
func (t *Texture) Under(w *Work) *Texture {
	own, score := *t, *t.Score
	score.Work = w
	own.Score = &score
	return &own
}

// SetAside is something of the score that takes no part in the voices.
type SetAside struct {
	// Part is an index in [Score.Parts].
	Part int
	// Notes are the notes concerned; empty means the whole part.
	Notes []NoteID
	// Reason is a clause such as "percussion" or "grace notes".
	Reason string
}

// MaxVoices is the most voices a texture can have.
const MaxVoices = 64

// WithoutExtra returns the texture without its extra voices, which are the last
// ones; it is t itself where there are none. The moments stay as they are, so
// that they and the voices keep their indexes; a moment at which only an extra
// voice starts a note has none struck.
func (t *Texture) WithoutExtra() *Texture {
	n := len(t.Voices)
	for n > 0 && t.Voices[n-1].Extra {
		n--
	}
	if n == len(t.Voices) {
		return t
	}
	own := *t
	own.Voices = t.Voices[:n:n]
	own.Moments = make([]Moment, len(t.Moments))
	own.cells = make([]int32, 0, len(t.Moments)*n)
	for m := range t.Moments {
		own.Moments[m] = t.Moments[m]
		own.Moments[m].Struck &= 1<<uint(n) - 1
		own.cells = append(own.cells, t.cells[m*len(t.Voices):m*len(t.Voices)+n]...)
	}
	return &own
}
