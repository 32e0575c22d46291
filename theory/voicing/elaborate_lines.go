package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// timeAt is the metre that holds at an onset.
func (d *decorator) timeAt(onset theory.Fraction) theory.TimeSignature {
	if m := d.layout.measureAt(onset); m != nil && !m.Time.IsSenzaMisura() {
		return m.Time
	}
	return d.layout.time()
}

// measureAt is the given measure that holds an onset, nil where the layout makes its
// own.
func (l *Layout) measureAt(onset theory.Fraction) *theory.Measure {
	for i := len(l.Frame) - 1; i >= 0; i-- {
		if !onset.Less(l.Frame[i].Onset) {
			return &l.Frame[i]
		}
	}
	return nil
}

// place is how far an onset lies in its measure, and the metre of that.
func (d *decorator) place(onset theory.Fraction) (theory.Fraction, theory.TimeSignature) {
	if m := d.layout.measureAt(onset); m != nil {
		return onset.Sub(m.Onset).Add(m.Into), m.Time
	}
	time := d.layout.time()
	measure := time.Measure()
	at := onset.Add(measure).Sub(d.layout.Pickup)
	for !at.Less(measure) {
		at = at.Sub(measure)
	}
	return at, time
}

// strength is the metrical strength of a chord's onset.
func (d *decorator) strength(k int) int {
	at, time := d.place(d.onsets[k])
	return time.Strength(at)
}

// intoBeat is how far an onset lies behind the beat that it belongs to.
func (d *decorator) intoBeat(onset theory.Fraction) theory.Fraction {
	at, time := d.place(onset)
	return time.IntoBeat(at)
}

// foreign reports whether a pitch is no member of chord k.
func (d *decorator) foreign(p theory.Pitch, k int) bool {
	return d.solution.Chords[k].Reading.MemberOf(p.Class()) < 0
}

// inRange reports whether every note of a figure lies in the range of its voice.
func (d *decorator) inRange(f *figure) bool {
	r := &d.problem.Style.Voices[f.voice]
	return !slices.ContainsFunc(f.notes, func(n Decoration) bool { return n.Pitch.Above(r.High) || r.Low.Above(n.Pitch) })
}

// stepFrom returns the next note of the key up (1) or down (-1). In minor the
// line up to the tonic takes the raised degrees and the line down the lowered
// ones (the melodic scale), and a note that a neighboring chord alters is taken
// as it stands there; the sixth degree is raised only on its way to a raised seventh.
func (d *decorator) stepFrom(p theory.Pitch, direction, k int) theory.Pitch {
	out, given := d.scaleStep(p, direction, k)
	key := d.solution.Chords[k].Reading.Key
	if given || key.Mode != theory.MinorMode || direction < 0 {
		return out
	}
	switch degree, _ := key.Degree(out.Class()); degree {
	case 6:
		above, ofChord := d.scaleStep(out, 1, k)
		if _, alter := key.Degree(above.Class()); !ofChord || alter > 0 {
			out.Alter++
		}
	case 7:
		out.Alter++
	}
	return out
}

// neighborOf is the note that a line goes to and comes back from. In minor the one above the
// fifth degree is the lowered sixth, and the one below the tonic the leading tone (Laitz, The
// Complete Musician, on neighbors in minor, from memory); a neighboring chord may say
// otherwise.
func (d *decorator) neighborOf(p theory.Pitch, direction, k int) theory.Pitch {
	out, given := d.scaleStep(p, direction, k)
	key := d.solution.Chords[k].Reading.Key
	if given || key.Mode != theory.MinorMode || direction > 0 {
		return out
	}
	_, raised := key.Degree(p.Class())
	if degree, _ := key.Degree(out.Class()); degree == 7 || degree == 6 && raised > 0 {
		out.Alter++
	}
	return out
}

// scaleStep returns the next note of the key's scale, as a neighboring chord has it where
// one has it; given tells that one does.
func (d *decorator) scaleStep(p theory.Pitch, direction, k int) (out theory.Pitch, given bool) {
	diatonic := p.Diatonic() + direction
	step := theory.Step(((diatonic % 7) + 7) % 7)
	out = theory.Pitch{Step: step, Octave: int8((diatonic - int(step)) / 7)}
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
				return out, true
			}
		}
	}
	return out, false
}

// apply cuts a figure into its line and holds notes over where it says so.
func (d *decorator) apply(f *figure) bool {
	if !d.cut(f) {
		return false
	}
	for _, at := range f.joins {
		d.join(f.voice, at)
	}
	return true
}

// cut cuts a figure into its line. A suspension lengthens the note before and
// shortens the one it delays; everything else takes its time from the note that
// sounds there, of which something must be left.
func (d *decorator) cut(f *figure) bool {
	if f.across {
		before := d.lines[f.voice]
		for i := range f.notes {
			if !d.cut(&figure{kind: f.kind, voice: f.voice, notes: f.notes[i : i+1]}) {
				d.lines[f.voice] = before
				return false
			}
		}
		return true
	}
	line := d.lines[f.voice]
	from, to := f.onset(), f.end()
	if f.kind == harmony.Suspension || f.kind == harmony.Retardation {
		return d.hold(f.voice, f.notes[0].Pitch, from, to)
	}
	for i, n := range line {
		if from.Less(n.from) || n.to.Less(to) || n.from == from && n.to == to {
			continue
		}
		out := slices.Clone(line[:i])
		if n.from.Less(from) {
			out = append(out, lineNote{pitch: n.pitch, from: n.from, to: from})
		}
		for _, note := range f.notes {
			out = append(out, lineNote{pitch: note.Pitch, from: note.Onset, to: note.Onset.Add(note.Duration)})
		}
		if to.Less(n.to) {
			out = append(out, lineNote{pitch: n.pitch, from: to, to: n.to})
		}
		d.lines[f.voice] = append(out, line[i+1:]...)
		return true
	}
	return false
}

// hold lengthens the note that ends at from until to, if it has sounded as long as it
// is held and leaves time to resolve.
func (d *decorator) hold(v int, pitch theory.Pitch, from, to theory.Fraction) bool {
	line := d.lines[v]
	for i := 1; i < len(line); i++ {
		before := line[i-1]
		if line[i].from != from || before.pitch != pitch {
			continue
		}
		if !to.Less(line[i].to) || from.Sub(before.from).Less(to.Sub(from)) {
			return false
		}
		if !d.inner(v) && slices.ContainsFunc(d.onsets, func(at theory.Fraction) bool { return to.Less(at) && at.Less(line[i].to) }) {
			return false // a syncopation would be left of a dotted note
		}
		out := slices.Clone(line)
		out[i-1].to, out[i].from = to, to
		d.lines[v] = out
		return true
	}
	return false
}

// taken reports whether a figure cannot go with those that are there: its voice is
// decorated at the same change, or two voices already begin a note off the chords
// where it would begin one (one or two at a time keep the texture clear, Hutchinson,
// ch. 28).
func (d *decorator) taken(c *figure) bool {
	for i := range d.figures {
		f := &d.figures[i]
		if f.voice == c.voice && (f.change == c.change || c.onset().Less(f.end()) && f.onset().Less(c.end())) {
			return true
		}
	}
	for _, at := range c.moments() {
		if d.moving(at, c.voice) >= 2 {
			return true
		}
	}
	return false
}

// moments are the onsets at which a figure makes its voice move: those of its notes
// that are struck, and where a delayed note arrives.
func (f *figure) moments() []theory.Fraction {
	var out []theory.Fraction
	held := f.kind == harmony.Suspension || f.kind == harmony.Retardation
	for i := range f.notes {
		if !held {
			out = append(out, f.notes[i].Onset)
		}
	}
	return append(out, f.end())
}

// moving counts the other voices that begin a note at a place where no chord does.
func (d *decorator) moving(at theory.Fraction, voice int) int {
	if slices.Contains(d.onsets, at) {
		return 0
	}
	n := 0
	for v, line := range d.lines {
		i := noteFrom(line, at)
		if v != voice && i >= 0 && line[i].from == at {
			n++
		}
	}
	return n
}

// noteFrom is the index of the note of a line that sounds at an onset, -1 for none.
func noteFrom(line []lineNote, at theory.Fraction) int {
	i, _ := slices.BinarySearchFunc(line, at, func(n lineNote, at theory.Fraction) int {
		if !at.Less(n.to) {
			return -1
		}
		return 1
	})
	if i == len(line) || at.Less(line[i].from) {
		return -1
	}
	return i
}

// suits says how well a figure goes with what is there: first where nobody moves
// yet, in a voice that has had little, in the direction that its line has already.
func (d *decorator) suits(c *figure) float64 {
	s := c.taste
	for _, at := range c.moments() {
		s -= 0.5 * float64(d.moving(at, c.voice))
	}
	for i := range d.figures {
		f := &d.figures[i]
		near := abs(f.change-c.change) <= 1
		switch {
		case f.voice != c.voice || !near:
		case f.kind == harmony.Neighbor || c.kind == harmony.Neighbor:
			s--
		default:
			s -= 0.2
		}
	}
	if c.change > 1 && len(c.notes) > 0 {
		chords := d.solution.Chords
		before := theory.Between(chords[c.change-2].Pitches[c.voice], chords[c.change-1].Pitches[c.voice]).Semitones
		now := theory.Between(chords[c.change-1].Pitches[c.voice], c.notes[0].Pitch).Semitones
		if before*now > 0 {
			s += 0.3
		}
	}
	return s
}
