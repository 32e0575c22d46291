package voicing

import (
	"math/rand/v2"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// figure is what is added to one voice at one change: a passing note, two in a row,
// a suspension.
type figure struct {
	kind          harmony.NoteClass
	voice, change int
	// notes are added one after another without a gap; chord tones among them are not
	// what the figure counts as.
	notes []Decoration
	// across is set where the last note takes its time from the second chord.
	across bool
	// joins are where a note of the line is held over from the same note before it.
	joins []theory.Fraction
	// taste is drawn once, from 0 to 1, and less for what people write more seldom.
	taste float64
}

func (f *figure) onset() theory.Fraction { return f.notes[0].Onset }

func (f *figure) end() theory.Fraction {
	last := &f.notes[len(f.notes)-1]
	return last.Onset.Add(last.Duration)
}

// gap is one voice between two chords.
type gap struct {
	voice, change int
	from, to      theory.Pitch
	move          theory.Interval
	// length is that of the first chord, unit the usual length of an added note.
	length, unit theory.Fraction
}

// chances lists every figure that the lines offer, by change, then voice. What an
// interval offers follows Hutchinson, Music Theory for the 21st-Century Classroom,
// 10.12: a third takes a passing note, a fourth two, a repeated note a neighbor, a
// step down a suspension.
func (d *decorator) chances(e Elaboration, random *rand.Rand) []figure {
	kinds := e.Kinds
	if kinds == nil {
		kinds = usualKinds
	}
	var out []figure
	for k := 1; k < len(d.solution.Chords); k++ {
		if d.problem.Slots[k-1].PhraseEnd {
			continue
		}
		for v := range d.lines {
			if e.Voices != nil && !slices.Contains(e.Voices, v) || d.problem.gives(v) {
				continue
			}
			g, ok := d.gapAt(v, k)
			if !ok {
				continue
			}
			for _, kind := range kinds {
				for _, f := range d.offers(kind, &g) {
					f.kind, f.voice, f.change = kind, v, k
					f.taste += 1.5 * random.Float64()
					d.bind(&f, &g, random)
					if d.inRange(&f) {
						out = append(out, f)
					}
				}
			}
		}
	}
	return out
}

// gives reports whether the line of a voice is given, as a tune or a bass is. A phrase of
// which every note is settled gives no line: its notes have been chosen.
func (p *Problem) gives(voice int) bool {
	settled := true
	for k := range p.Slots {
		fixed := p.Slots[k].Fixed
		if voice >= len(fixed) || fixed[voice] == nil {
			return false
		}
		settled = settled && len(fixed) == len(p.Style.Voices) && !slices.Contains(fixed, nil)
	}
	return !settled
}

func (d *decorator) gapAt(v, k int) (gap, bool) {
	g := gap{voice: v, change: k, from: d.solution.Chords[k-1].Pitches[v], to: d.solution.Chords[k].Pitches[v]}
	g.move = theory.Between(g.from, g.to)
	g.length = d.onsets[k].Sub(d.onsets[k-1])
	g.unit = d.unit(k-1, g.length)
	return g, g.unit.Sign() > 0
}

// unit is the usual length of a note added to a chord: half a beat, a third of one in
// compound metre, 0 where the chord is too short to be decorated.
func (d *decorator) unit(k int, length theory.Fraction) theory.Fraction {
	time := d.timeAt(d.onsets[k])
	unit := time.Beat().Mul(theory.Frac(1, 2))
	if time.IsCompound() {
		unit = time.Beat().Mul(theory.Frac(1, 3))
	}
	switch {
	case !length.Less(time.Beat()):
		return unit
	case length.Less(theory.Whole(1)):
		return theory.Fraction{}
	}
	return length.Mul(theory.Frac(1, 2))
}

func (d *decorator) offers(kind harmony.NoteClass, g *gap) []figure {
	switch kind {
	case harmony.Passing:
		return d.passing(g)
	case harmony.Neighbor:
		return d.neighbors(g)
	case harmony.Anticipation:
		return d.anticipation(g)
	case harmony.Suspension:
		return d.suspension(g)
	case harmony.ChordTone:
		return slices.Concat(d.skip(g), d.turn(g), d.early(g))
	}
	return nil
}

// row makes a figure of notes that end with the first chord, each of the same
// length, or no figure where the chord would not be heard first.
func (d *decorator) row(g *gap, unit theory.Fraction, taste float64, pitches ...theory.Pitch) []figure {
	whole := unit.Mul(theory.Whole(int64(len(pitches))))
	if !whole.Less(g.length) {
		return nil
	}
	f := figure{taste: taste}
	at := d.onsets[g.change].Sub(whole)
	foreign := 0
	for _, p := range pitches {
		kind := harmony.ChordTone
		if d.foreign(p, g.change-1) {
			kind = harmony.Passing
			foreign++
		}
		f.notes = append(f.notes, Decoration{Kind: kind, Voice: g.voice, Change: g.change, Pitch: p, Onset: at, Duration: unit})
		at = at.Add(unit)
	}
	if foreign == 0 {
		return nil
	}
	return []figure{f}
}

// passing fills a third with one note, on or before the beat, a fourth with two, and
// leads a long note that repeats or steps through a third and back.
func (d *decorator) passing(g *gap) []figure {
	two := g.unit.Mul(theory.Whole(2))
	long := !g.length.Less(g.unit.Mul(theory.Whole(4)))
	up := 1
	if g.move.Steps < 0 {
		up = -1
	}
	walk := func(n int) []theory.Pitch { return d.walk(g.from, up, n, g.change) }
	switch abs(g.move.Steps) {
	case 2:
		out := d.row(g, g.unit, 0, walk(1)...)
		if long {
			out = append(out, d.row(g, two, -0.3, walk(1)...)...)
		}
		return append(out, d.accented(g, walk(1)[0])...)
	case 3:
		if long {
			return d.row(g, g.unit, 0, walk(2)...)
		}
		return d.across(g, walk(2))
	case 4:
		if long {
			return d.row(g, g.unit, 0, walk(3)...)
		}
	case 1:
		if long {
			return d.row(g, g.unit, -0.2, walk(2)...)
		}
	case 0:
		if long && g.move == theory.Unison {
			return append(d.thereAndBack(g, 1), d.thereAndBack(g, -1)...)
		}
	}
	return nil
}

// thereAndBack leads a long note through a third to another chord tone and back.
func (d *decorator) thereAndBack(g *gap, up int) []figure {
	p := d.walk(g.from, up, 2, g.change)
	if d.foreign(p[1], g.change-1) {
		return nil
	}
	return d.row(g, g.unit, -0.3, p[0], p[1], p[0])
}

// walk returns n notes of the scale from a pitch on.
func (d *decorator) walk(from theory.Pitch, up, n, k int) []theory.Pitch {
	var out []theory.Pitch
	for range n {
		from = d.stepFrom(from, up, k)
		out = append(out, from)
	}
	return out
}

// accented is a passing note on the beat, which takes half of it from the chord tone
// that it goes to: about one passing note in six of the chorales.
func (d *decorator) accented(g *gap, p theory.Pitch) []figure {
	unit := d.unit(g.change, d.onsets[g.change+1].Sub(d.onsets[g.change]))
	if unit.Sign() == 0 || !d.foreign(p, g.change) || d.ends(g.change) || d.bears(g) {
		return nil
	}
	return []figure{{taste: -0.5, notes: []Decoration{{
		Kind: harmony.Passing, Voice: g.voice, Change: g.change, Pitch: p, Onset: d.onsets[g.change], Duration: unit,
	}}}}
}

// bears reports whether a voice is the bass of a chord on a strong beat, where a passing note
// under it would be heard as another chord.
func (d *decorator) bears(g *gap) bool {
	return g.voice == len(d.lines)-1 && d.strength(g.change) > 1
}

// across fills a fourth with two notes of the usual length, one before the beat and one on
// it, where the first chord is too short for both: two notes of half the length would stand out
// among the others.
func (d *decorator) across(g *gap, pitches []theory.Pitch) []figure {
	k := g.change
	unit := d.unit(k, d.onsets[k+1].Sub(d.onsets[k]))
	if unit.Sign() == 0 || !d.foreign(pitches[0], k-1) && !d.foreign(pitches[1], k) || d.ends(k) || d.bears(g) {
		return nil
	}
	f := figure{taste: -0.5, across: true}
	for i, p := range pitches {
		n := Decoration{Kind: harmony.ChordTone, Voice: g.voice, Change: k, Pitch: p, Onset: d.onsets[k].Sub(g.unit), Duration: g.unit}
		if i > 0 {
			n.Onset, n.Duration = d.onsets[k], unit
		}
		if d.foreign(p, k-1+i) {
			n.Kind = harmony.Passing
		}
		f.notes = append(f.notes, n)
	}
	return []figure{f}
}

// neighbors leave a repeated note by step and come back to it: above it in the top
// voice, rather below it in the others.
func (d *decorator) neighbors(g *gap) []figure {
	if g.move != theory.Unison {
		return nil
	}
	var out []figure
	for _, up := range []int{-1, 1} {
		p := d.neighborOf(g.from, up, g.change)
		if !d.foreign(p, g.change-1) {
			continue
		}
		taste := 0.0
		if (g.voice == 0) != (up > 0) {
			taste = -0.4
		}
		f := d.row(g, g.unit, taste, p)
		for i := range f {
			f[i].notes[0].Kind = harmony.Neighbor
		}
		out = append(out, f...)
	}
	return out
}

// anticipation takes the last note of a phrase before its chord, in the top voice at
// a cadence: there nearly all of the chorales' anticipations stand.
func (d *decorator) anticipation(g *gap) []figure {
	k := g.change
	if g.voice != 0 || !g.move.IsStep() || !d.cadence(k) || !d.foreign(g.to, k-1) {
		return nil
	}
	f := d.row(g, g.unit, 0, g.to)
	for i := range f {
		f[i].notes[0].Kind = harmony.Anticipation
	}
	return f
}

// ends reports whether a chord is the last of a phrase.
func (d *decorator) ends(k int) bool {
	return d.problem.Slots[k].PhraseEnd || k == len(d.problem.Slots)-1
}

// cadence reports whether a chord closes a phrase and comes from a dominant.
func (d *decorator) cadence(k int) bool {
	return d.ends(k) && k > 0 && d.solution.Chords[k-1].Reading.Numeral.IsDominant()
}

// skip leads a leap of a fourth or more over another note of the chord, from which a
// step goes on in the same direction.
func (d *decorator) skip(g *gap) []figure {
	if abs(g.move.Steps) < 3 {
		return nil
	}
	back := 1
	if g.move.Steps > 0 {
		back = -1
	}
	p := d.stepFrom(g.to, back, g.change)
	if d.foreign(p, g.change-1) || !g.unit.Less(g.length) {
		return nil
	}
	return []figure{{notes: []Decoration{{
		Kind: harmony.ChordTone, Voice: g.voice, Change: g.change, Pitch: p, Onset: d.onsets[g.change].Sub(g.unit), Duration: g.unit,
	}}}}
}

// turn leads a step over the third beyond it, which the first chord has, and back to its
// goal: most of the chorales' chord tones off the beat are reached by third.
func (d *decorator) turn(g *gap) []figure {
	if !g.move.IsStep() || g.voice == 0 || !g.unit.Less(g.length) {
		return nil
	}
	p := d.walk(g.from, g.move.Steps, 2, g.change)[1]
	if d.foreign(p, g.change-1) {
		return nil
	}
	return []figure{{taste: -0.3, notes: []Decoration{{
		Kind: harmony.ChordTone, Voice: g.voice, Change: g.change, Pitch: p, Onset: d.onsets[g.change].Sub(g.unit), Duration: g.unit,
	}}}}
}

// suspension holds the note before over into the chord: prepared as a chord tone on a
// weaker place, dissonant against the bass, resolving down by step while the chord
// lasts, and not sounding in another voice meanwhile, except above the bass as 9-8
// (Open Music Theory v1; Butterfield, unit 10).
func (d *decorator) suspension(g *gap) []figure {
	k := g.change
	length := d.onsets[k+1].Sub(d.onsets[k])
	unit := d.unit(k, length)
	if g.move.Steps != -1 || unit.Sign() == 0 || !d.foreign(g.from, k) || !d.strong(k) {
		return nil
	}
	if g.voice == len(d.lines)-1 {
		// Only the 2-3 suspension stands in the bass: its resolution is a third
		// chord member.
		if d.solution.Chords[k].Reading.Inversion() != 1 {
			return nil
		}
	} else if !d.suspends(g) {
		return nil
	}
	var out []figure
	for _, hold := range []theory.Fraction{unit, unit.Mul(theory.Whole(2))} {
		if !g.length.Less(hold) && hold.Less(length) {
			taste := 0.3 * float64(d.strength(k)-1)
			if d.beforeCadence(k) || d.cadence(k) {
				taste += 0.6
			}
			if !hold.Less(d.timeAt(d.onsets[k]).Beat()) {
				taste += 1.5 // a chord that lasts resolves it on the next beat
			}
			out = append(out, figure{taste: taste, notes: []Decoration{{
				Kind: harmony.Suspension, Voice: g.voice, Change: k, Pitch: g.from, Onset: d.onsets[k], Duration: hold,
			}}})
		}
	}
	return out
}

// strong reports whether a suspension may stand on a chord's onset: on the stronger
// beats, and on the chords of a cadence.
func (d *decorator) strong(k int) bool {
	strength := d.strength(k)
	return strength > 1 || strength > d.strength(k-1) || d.beforeCadence(k) || d.cadence(k)
}

// suspends reports whether a note held in an upper voice makes one of the suspensions
// that have names above the bass, while no other voice has its resolution.
func (d *decorator) suspends(g *gap) bool {
	chord := &d.solution.Chords[g.change]
	bass := len(d.lines) - 1
	switch number := (theory.Between(chord.Pitches[bass], g.from).Simple().Steps%7 + 7) % 7; {
	case number != 1 && number != 3 && number != 6:
		return false
	case number == 1 && chord.Reading.Inversion() != 0:
		return false // 9-8 would double a third
	}
	for u, p := range chord.Pitches {
		if u != g.voice && p.Class() == g.to.Class() && (u != bass || chord.Reading.MemberOf(g.to.Class()) != 0) {
			return false
		}
	}
	return true
}

// beforeCadence reports whether a chord is the dominant before the last chord of a
// phrase.
func (d *decorator) beforeCadence(k int) bool {
	return k+1 < len(d.solution.Chords) && d.cadence(k+1)
}
