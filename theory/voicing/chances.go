package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// usualKinds are the decorations a first sheet uses.
var usualKinds = []harmony.NoteClass{harmony.Passing, harmony.Neighbor, harmony.Suspension, harmony.Anticipation}

// chances lists every decoration that the lines offer, by change, then voice.
// What an interval offers follows Hutchinson, Music Theory for the 21st-Century
// Classroom, 10.12: a third takes a passing note, a repeated note a neighbor, a
// step down a suspension or an anticipation; wider leaps stay plain.
func (d *decorator) chances(e Elaboration) []Decoration {
	kinds := e.Kinds
	if kinds == nil {
		kinds = usualKinds
	}
	var out []Decoration
	for k := 1; k < len(d.solution.Chords); k++ {
		if d.problem.Slots[k-1].PhraseEnd {
			continue
		}
		for v := range d.lines {
			if e.Voices != nil && !slices.Contains(e.Voices, v) {
				continue
			}
			for _, kind := range kinds {
				if c, ok := d.chance(kind, v, k); ok {
					out = append(out, c)
				}
			}
		}
	}
	return out
}

// places returns the distinct changes that take a decoration.
func (d *decorator) places(chances []Decoration) map[place]bool {
	all := map[place]bool{}
	for _, c := range chances {
		all[place{c.Voice, c.Change}] = true
	}
	return all
}

// chance returns the decoration of one kind between chords k-1 and k in one
// voice, if the interval offers it.
func (d *decorator) chance(kind harmony.NoteClass, v, k int) (Decoration, bool) {
	from, to := d.solution.Chords[k-1].Pitches[v], d.solution.Chords[k].Pitches[v]
	move := theory.Between(from, to)
	half := theory.Frac(1, 2)
	c := Decoration{Kind: kind, Voice: v, Change: k, Duration: half}
	length := d.onsets[k].Sub(d.onsets[k-1])
	if length.Less(theory.Whole(1)) {
		return c, false
	}
	c.Onset = d.onsets[k].Sub(half)
	switch kind {
	case harmony.Passing:
		if move.Steps != 2 && move.Steps != -2 {
			return c, false
		}
		c.Pitch = d.stepFrom(from, move.Steps/2, k)
		return c, d.foreign(c.Pitch, k-1)
	case harmony.Neighbor:
		if move != theory.Unison {
			return c, false
		}
		c.Pitch = d.stepFrom(from, -1, k)
		if v == 0 {
			c.Pitch = d.stepFrom(from, 1, k)
		}
		return c, d.foreign(c.Pitch, k-1)
	case harmony.Anticipation:
		if !move.IsStep() || v == len(d.lines)-1 {
			return c, false
		}
		c.Pitch = to
		return c, d.foreign(to, k-1)
	case harmony.Suspension:
		return d.suspension(c, v, k, from, to, move)
	}
	return c, false
}

// suspension holds the note before over into the chord: prepared as a chord
// tone, dissonant against the new harmony, resolving down by step while the
// chord lasts, and not sounding in another voice meanwhile, except above the
// bass as 9-8 (Open Music Theory v1; Butterfield, unit 10).
func (d *decorator) suspension(c Decoration, v, k int, from, to theory.Pitch, move theory.Interval) (Decoration, bool) {
	c.Onset, c.Pitch = d.onsets[k], from
	length := d.onsets[k+1].Sub(d.onsets[k])
	if move.Steps != -1 || length.Less(theory.Whole(1)) || !d.foreign(from, k) {
		return c, false
	}
	if !length.Less(theory.Whole(2)) {
		c.Duration = theory.Whole(1)
	}
	if d.strength(k) == 0 {
		return c, false
	}
	bass := len(d.lines) - 1
	for u, p := range d.solution.Chords[k].Pitches {
		if u == v || p.Class() != to.Class() {
			continue
		}
		if u != bass || d.solution.Chords[k].Reading.MemberOf(to.Class()) != 0 {
			return c, false
		}
	}
	if v == bass {
		// Only the 2-3 suspension stands in the bass: its resolution is a third
		// chord member.
		return c, d.solution.Chords[k].Reading.Inversion() == 1
	}
	return c, true
}

// strength is the metrical strength of a chord's onset.
func (d *decorator) strength(k int) int {
	time := d.layout.time()
	at := d.onsets[k].Add(time.Measure()).Sub(d.layout.Pickup)
	measure := time.Measure()
	for !at.Less(measure) {
		at = at.Sub(measure)
	}
	return time.Strength(at)
}

// foreign reports whether a pitch is no member of chord k.
func (d *decorator) foreign(p theory.Pitch, k int) bool {
	return d.solution.Chords[k].Reading.MemberOf(p.Class()) < 0
}

// stepFrom returns the next note of the key up (1) or down (-1). In minor the
// line up to the tonic takes the raised degrees and the line down the lowered
// ones (the melodic scale), and a note that a neighboring chord alters is taken
// as it stands there.
func (d *decorator) stepFrom(p theory.Pitch, direction, k int) theory.Pitch {
	diatonic := p.Diatonic() + direction
	step := theory.Step(((diatonic % 7) + 7) % 7)
	out := theory.Pitch{Step: step, Octave: int8((diatonic - int(step)) / 7)}
	key := d.solution.Chords[k].Reading.Key
	for _, c := range key.Scale() {
		if c.Step == step {
			out.Alter = c.Alter
		}
	}
	for _, near := range []int{k - 1, k} {
		r := d.solution.Chords[near].Reading
		for m := range r.Size() {
			if c := r.Member(m); c.Step == step {
				out.Alter = c.Alter
				return out
			}
		}
	}
	if degree, _ := key.Degree(out.Class()); key.Mode == theory.MinorMode && direction > 0 && degree >= 6 {
		out.Alter++
	}
	return out
}
