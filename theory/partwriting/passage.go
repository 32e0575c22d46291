package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/texture"
)

// Passage is the read-only view that rules look at, computed once for all of
// them: what sounds at each moment, how each voice and each pair of voices
// moves, and where phrases end.
type Passage struct {
	*theory.Texture
	// Harmony is the harmonic reading, nil where there is none: rules that need
	// one are then silent.
	Harmony *harmony.Analysis
	// Set gives thresholds and severities.
	Set *RuleSet
	// Limits are the set's thresholds with every default filled in.
	Limits Limits

	// kind is the texture as it was read or named: it decides which rules apply.
	kind texture.Reading
	// part is set for an excerpt, which is no hand-in.
	part bool

	resolution int64
	cells      []cell
	spellings  []pitchClasses
	// spans holds onset and end of each note of each voice, in ticks.
	spans [][]span
	// phraseEnds has an entry for each join from moment m to m+1.
	phraseEnds []bool
	// phrases numbers the phrase that each moment belongs to.
	phrases []int32
	lines   [][]melodicMove
	pairs   []pairMove
	// chords are the harmonies of the analysis, empty without one.
	chords []chord
	// near, where not nil, are the chords to look at, and reheard is set where they
	// are read otherwise than the analysis has them.
	near    []bool
	reheard bool
	// divided is the texture with the second notes of parts that divide.
	divided *theory.Texture
	// seams are the surroundings of the jumps.
	seams []*seam
	// beats are the moments on a beat of the metre.
	beats []int32
}

// cell is what a voice sounds at a moment: the note's index (-1 for silence) and
// its pitch as letter names and semitones above C0.
type cell struct {
	note             int32
	steps, semitones int16
}

type span struct {
	onset, end int64
	moment     int32
}

// NewPassage prepares a texture for checking; the analysis and the set may be
// nil. Extra voices, such as the second note where a part divides, are left out:
// they are no lines.
func NewPassage(t *theory.Texture, a *harmony.Analysis, set *RuleSet) *Passage {
	limits := set.limits()
	kind := texture.As(t, limits.Texture)
	divided := t
	t = t.WithoutExtra()
	p := &Passage{Texture: t, divided: divided, Harmony: a, Set: set, Limits: limits, kind: kind, resolution: max(t.Score.Resolution, 1)}
	return p.prepare()
}

// excerpt is the view of an excerpt of a passage's texture, or of a changed version
// of it.
func (p *Passage) excerpt(e *theory.Excerpt, a *harmony.Analysis) *Passage {
	out := &Passage{part: true, Texture: e.Texture, divided: e.Texture, Harmony: a, Set: p.Set, Limits: p.Limits, kind: p.kind, resolution: p.resolution}
	return out.prepare()
}

func (p *Passage) prepare() *Passage {
	if len(p.Moments) == 0 {
		return p
	}
	p.measureSpans()
	p.fillCells()
	p.findPhrases()
	p.findChords()
	p.findLines()
	p.findPairs()
	p.findDoublings()
	p.findBeats()
	p.findSeams()
	return p
}

func (p *Passage) measureSpans() {
	total := 0
	for v := range p.Voices {
		total += len(p.Voices[v].Notes)
	}
	all := make([]span, 0, total)
	p.spans = make([][]span, len(p.Voices))
	for v := range p.Voices {
		start := len(all)
		for i := range p.Voices[v].Notes {
			note := &p.Voices[v].Notes[i]
			onset := note.Onset.In(p.resolution)
			all = append(all, span{onset: onset, end: onset + note.Duration.In(p.resolution)})
		}
		p.spans[v] = all[start:len(all):len(all)]
	}
}

func (p *Passage) fillCells() {
	n := len(p.Voices)
	p.cells = make([]cell, len(p.Moments)*n)
	p.spellings = make([]pitchClasses, len(p.Moments))
	for m := range p.Moments {
		p.Score.Work.Step(1)
		for v := 0; v < n; v++ {
			c := &p.cells[m*n+v]
			c.note = int32(p.At(m, v))
			if c.note < 0 {
				continue
			}
			pitch := p.Voices[v].Notes[c.note].Pitch
			p.spellings[m] = p.spellings[m].with(pitch.Class())
			c.steps, c.semitones = int16(pitch.Diatonic()), int16(pitch.Semitones())
			if p.IsStruck(m, v) {
				p.spans[v][c.note].moment = int32(m)
			}
		}
	}
}

func (p *Passage) cell(m, v int) cell { return p.cells[m*len(p.Voices)+v] }

// dyad returns the interval from what the lower voice sounds at a moment up to
// what the upper voice sounds, negative where they have crossed, and whether
// both sound.
func (p *Passage) dyad(m, upper, lower int) (theory.Interval, bool) {
	u, l := p.cell(m, upper), p.cell(m, lower)
	if u.note < 0 || l.note < 0 {
		return theory.Interval{}, false
	}
	return between(l, u), true
}

func between(from, to cell) theory.Interval {
	return theory.Interval{Steps: int(to.steps - from.steps), Semitones: int(to.semitones - from.semitones)}
}

// Note returns a note of a voice.
func (p *Passage) Note(r NoteRef) *theory.VoiceNote { return &p.Voices[r.Voice].Notes[r.Note] }

// momentOf returns the moment at which a note is struck.
func (p *Passage) momentOf(r NoteRef) int { return int(p.spans[r.Voice][r.Note].moment) }

// silent reports whether a gap in ticks before moment m lasts a beat or more, so
// that what lies on either side of it is not consecutive.
func (p *Passage) silent(gap int64, m int) bool {
	if gap <= 0 {
		return false
	}
	beat := p.Score.Measures[p.Moments[m].Measure].Time.Beat()
	return gap*beat.Den() >= beat.Num()*p.resolution
}

// spelling returns the spelled pitch classes that sound at a moment.
func (p *Passage) spelling(m int) pitchClasses { return p.spellings[m] }
