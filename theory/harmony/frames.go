package harmony

import (
	"math/bits"

	"partwright/theory"
)

// A piece is read in frames: the stretches between the places where a harmony
// may change. Pitch classes are bits on the line of fifths, so that a chord is a
// word and its members a mask.

// bitOffset is the bit of C; 64 bits reach from B quadruple flat to far beyond
// what is written.
const bitOffset = 24

// bitOf returns the bit of a pitch class, or -1 where it lies outside.
func bitOf(c theory.PitchClass) int {
	b := c.Fifths() + bitOffset
	if b < 0 || b > 63 {
		return -1
	}
	return b
}

// frame is the stretch from one possible change of harmony to the next.
type frame struct {
	onset theory.Fraction
	// moment is the first of the texture's moments in it, end the one after.
	moment, end int32
	// beats is its length in beats of the metre.
	beats float32
	// level is the metrical strength of its onset, see theory.TimeSignature.
	level int8
	// phraseEnd is set where a phrase ends with this frame.
	phraseEnd bool
	// struck and sounding are masks of pitch classes.
	sounding uint64
	// bass is the bit of the lowest note at the onset, -1 in silence; height is how high
	// it lies, in semitones.
	bass   int8
	height int16
	// notes bound the frame's entries in piece.notes.
	notes, notesEnd int32
}

// frameNote is one note as far as it sounds in a frame.
type frameNote struct {
	bit int8
	// cost is what it costs to hear the note as foreign to the chord.
	cost float32
}

// piece is a texture prepared for reading.
type piece struct {
	texture *theory.Texture
	weights *weights
	guide   *guide
	frames  []frame
	notes   []frameNote
	// present are all pitch classes of the piece.
	present uint64
	// bassBeats[f*64+bit]... is kept sparse: one bass a frame is enough.
	signature int
	// evidence is what a net hears, nil without one.
	evidence *evidence
	// A piece that is a stretch of another one: first is the frame there that is frame
	// 0 here, afterPhrase is set where a phrase ends before it, and next is where the
	// frame after the last one begins, nil at the end of the whole.
	first       int
	afterPhrase bool
	// table is that of the whole's chords, nil where it is to be made.
	table *chordTable
	next  *theory.Fraction
}

// opens reports whether the whole begins at frame f, follows whether a phrase ends
// before it.
func (p *piece) opens(f int) bool { return f+p.first == 0 }
func (p *piece) follows(f int) bool {
	if f == 0 {
		return p.afterPhrase
	}
	return p.frames[f-1].phraseEnd
}

// newPiece divides a texture into frames.
func newPiece(t *theory.Texture, phrases []Phrase, w *weights, g *guide) *piece {
	p := &piece{texture: t, weights: w, guide: g}
	if len(t.Moments) == 0 {
		return p
	}
	if len(t.Score.Measures) > 0 {
		p.signature = int(t.Score.Measures[0].Key.Fifths)
	}
	p.divide(phrases)
	g.assign(p.frames)
	figures := newMelodies(t)
	for i := range p.frames {
		p.fill(i, figures)
	}
	return p
}

// place returns the metre in force at a moment and its offset in the nominal
// measure.
func (p *piece) place(moment int) (theory.TimeSignature, theory.Fraction) {
	m := &p.texture.Moments[moment]
	measure := &p.texture.Score.Measures[m.Measure]
	return measure.Time, m.Offset.Add(measure.Into)
}

// divide finds the frames: a harmony may change on a beat or at the first
// division of one, wherever a note begins there.
func (p *piece) divide(phrases []Phrase) {
	t := p.texture
	ends := map[int]bool{}
	for _, phrase := range phrases {
		ends[phrase.EndMoment] = true
	}
	for m := range t.Moments {
		t.Score.Work.Step(1)
		time, offset := p.place(m)
		division := theory.Whole(2)
		if time.IsCompound() {
			division = theory.Whole(3)
		}
		at := offset.Div(time.Beat())
		onGrid := at.Mul(division).Den() == 1
		if len(p.frames) > 0 && !onGrid && !ends[m] && !p.guide.begins(t.Moments[m].Onset) {
			continue
		}
		if n := len(p.frames); n > 0 {
			p.frames[n-1].end = int32(m)
			p.frames[n-1].phraseEnd = ends[m]
		}
		level := time.Strength(offset)
		p.frames = append(p.frames, frame{onset: t.Moments[m].Onset, moment: int32(m), level: int8(level), bass: -1})
	}
	last := &p.frames[len(p.frames)-1]
	last.end, last.phraseEnd = int32(len(t.Moments)), true
	for i := range p.frames {
		f := &p.frames[i]
		time, _ := p.place(int(f.moment))
		f.beats = float32(p.until(i).Sub(f.onset).Div(time.Beat()).Float())
	}
}

// until returns the onset after frame i.
func (p *piece) until(i int) theory.Fraction {
	if i+1 < len(p.frames) {
		return p.frames[i+1].onset
	}
	if p.next != nil {
		return *p.next
	}
	end := p.frames[i].onset
	for v := range p.texture.Voices {
		if notes := p.texture.Voices[v].Notes; len(notes) > 0 {
			if e := notes[len(notes)-1].End(); end.Less(e) {
				end = e
			}
		}
	}
	return end
}

// fill collects the notes of a frame with what each costs as a foreign note.
func (p *piece) fill(i int, lines *melodies) {
	f := &p.frames[i]
	t := p.texture
	f.notes = int32(len(p.notes))
	until := p.until(i)
	time, _ := p.place(int(f.moment))
	beat := time.Beat()
	lowest := 127 * 12
	t.Score.Work.Step(len(t.Voices))
	for v := range t.Voices {
		first := t.At(int(f.moment), v)
		if first < 0 {
			first = lines.next(t, int(f.moment), v)
		}
		notes := t.Voices[v].Notes
		for n := first; n >= 0 && n < len(notes) && notes[n].Onset.Less(until); n++ {
			t.Score.Work.Step(1)
			note := &notes[n]
			bit := bitOf(note.Pitch.Class())
			if bit < 0 {
				continue
			}
			begin, end := note.Onset, note.End()
			held := begin.Less(f.onset)
			if held {
				begin = f.onset
			}
			if until.Less(end) {
				end = until
			}
			beats := float32(end.Sub(begin).Div(beat).Float())
			if beats <= 0 {
				continue
			}
			f.sounding |= 1 << uint(bit)
			cost := p.weights.foreign(lines.figure(v, n), held, f.level, beats, begin == f.onset)
			if height := note.Pitch.Semitones(); begin == f.onset && height < lowest {
				lowest = height
				f.bass, f.height = int8(bit), int16(height)
			}
			p.notes = append(p.notes, frameNote{int8(bit), cost})
		}
	}
	f.notesEnd = int32(len(p.notes))
	p.present |= f.sounding
}

func maskCount(m uint64) int { return bits.OnesCount64(m) }
