package voicing

import (
	"math/rand/v2"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// How many of a hundred notes that repeat the one before are held over from it instead.
const (
	// dottedOf100 are those that move on after half a beat, so that a note of a beat and a
	// half comes of it: counted in the voice parts of 77 songs of the OpenScore Lieder Corpus
	// (CC0), 307 of 343.
	dottedOf100 = 90
	// syncopatedOf100 are those of the inner voices after a note that begins off the beat:
	// counted in the odd-numbered chorales edited by C. Sapp, 361 of 777.
	syncopatedOf100 = 46
)

// bind makes a figure hold a note over a beat where it can: a repeated note that the figure
// leaves after half a beat makes a dotted note with the one before it, a note that the figure
// reaches off the beat a syncopation with the same note after it. The last chord of a phrase
// is struck by all voices.
func (d *decorator) bind(f *figure, g *gap, random *rand.Rand) {
	k := g.change
	at := d.onsets[k]
	beat := d.timeAt(at).Beat()
	half := beat.Mul(theory.Frac(1, 2))
	dotted, syncopated := random.IntN(100) < dottedOf100, random.IntN(100) < syncopatedOf100
	lasts := func(k int) bool { return d.onsets[k+1].Sub(d.onsets[k]) == beat }
	if dotted && k > 1 && f.onset().Less(at) && f.onset().Sub(d.onsets[k-1]) == half &&
		lasts(k-1) && lasts(k-2) && d.strength(k-1) <= d.strength(k-2) && d.repeats(g.voice, k-1) {
		f.joins = append(f.joins, d.onsets[k-1])
	}
	if syncopated && d.inner(g.voice) && f.end().Sub(at) == half && !d.ends(k) && !d.ends(k+1) && lasts(k) && d.repeats(g.voice, k+1) {
		f.joins = append(f.joins, d.onsets[k+1])
	}
}

func (d *decorator) inner(voice int) bool { return voice > 0 && voice < len(d.lines)-1 }

// repeats reports whether a voice has the note of the chord before while two others move on,
// within a phrase.
func (d *decorator) repeats(voice, k int) bool {
	before, now := d.solution.Chords[k-1].Pitches, d.solution.Chords[k].Pitches
	return !d.problem.Slots[k-1].PhraseEnd && before[voice] == now[voice] && d.othersMove(voice, k) >= 2
}

// othersMove counts the other voices that come to a chord with another note.
func (d *decorator) othersMove(voice, k int) int {
	before, now := d.solution.Chords[k-1].Pitches, d.solution.Chords[k].Pitches
	n := 0
	for v := range now {
		if v != voice && before[v] != now[v] {
			n++
		}
	}
	return n
}

// early is a note that both chords have, taken half a beat before the second and held into
// it: a syncopation. It stands in the inner voices, as 9 in 10 of the chorales' do (edited by
// C. Sapp: 361 of 409).
func (d *decorator) early(g *gap) []figure {
	k := g.change
	beat := d.timeAt(d.onsets[k-1]).Beat()
	length := d.onsets[k+1].Sub(d.onsets[k])
	switch {
	case !d.inner(g.voice) || d.ends(k) || g.move == theory.Unison || abs(g.move.Steps) > 3:
		return nil
	case g.length.Less(beat) || length.Less(beat) || g.unit.Mul(theory.Whole(2)) != beat:
		return nil
	case d.foreign(g.to, k-1) || d.othersMove(g.voice, k) < 2:
		return nil
	}
	return []figure{{taste: -0.2, joins: []theory.Fraction{d.onsets[k]}, notes: []Decoration{{
		Kind: harmony.ChordTone, Voice: g.voice, Change: k, Pitch: g.to, Onset: d.onsets[k].Sub(g.unit), Duration: g.unit,
	}}}}
}

// join makes one note of two in a line that meet at an onset with the same pitch. The
// outer voices hold over only what begins with a chord.
func (d *decorator) join(voice int, at theory.Fraction) {
	line := d.lines[voice]
	inner := d.inner(voice)
	for i := 1; i < len(line); i++ {
		if line[i].from == at && line[i-1].to == at && line[i].pitch == line[i-1].pitch && (inner || slices.Contains(d.onsets, line[i-1].from)) {
			out := slices.Delete(slices.Clone(line), i, i+1)
			out[i-1].to, out[i-1].sign = line[i].to, line[i].sign
			d.lines[voice] = out
			return
		}
	}
}
