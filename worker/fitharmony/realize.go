package main

import (
	"fmt"
	"math/rand/v2"
	"strconv"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Labels say what sounds without saying how. realizer makes four-part music of
// labels alone, with passing notes, neighbors and suspensions about as often as
// chorales have them, so that nothing has to be learned from the notes of any
// edition.
type realizer struct{ r *rand.Rand }

// How often a chance to decorate is used. Common practice, no source.
const (
	passingShare    = 0.45
	neighborShare   = 0.08
	suspensionShare = 0.12
	repeatShare     = 0.6 // a chord that lasts is struck anew on the next beat
	dorianShare     = 0.12
	mixolydianShare = 0.05
)

// slot is one beat, or what a chord has of it, with a pitch for each voice from
// the top.
type slot struct {
	onset, length theory.Fraction
	level         int
	pitches       [4]theory.Pitch
	harmony.Reading
	phraseEnd, begins bool
}

// realize makes an example of an analysis, nil of one without labels.
func (z *realizer) realize(name string, labels *harmony.RomanText) *example {
	if len(labels.Entries) == 0 {
		return nil
	}
	score := z.score(labels)
	empty := theory.NewTexture(score, theory.OpenScore, "realized", nil)
	slots := z.slots(score, labels.Place(empty))
	if len(slots) == 0 {
		return nil
	}
	voices := make([]theory.Voice, 4)
	for v := range voices {
		voices[v] = theory.Voice{Name: "SATB"[v : v+1], Part: v, Staff: 1, Notes: z.line(score, slots, v)}
		score.Parts = append(score.Parts, theory.Part{ID: "P" + strconv.Itoa(v+1)})
	}
	return &example{name, theory.NewTexture(score, theory.OpenScore, "realized", voices), labels}
}

// score has the measures that the labels number, and a signature that goes with
// the last key.
func (z *realizer) score(labels *harmony.RomanText) *theory.Score {
	s := &theory.Score{}
	first, last := labels.Entries[0], labels.Entries[len(labels.Entries)-1]
	key := theory.KeySignature{Fifths: z.signature(labels)}
	onset, at := theory.Fraction{}, 0
	for number := first.Measure; number <= last.Measure && number < first.Measure+2000; number++ {
		for at+1 < len(labels.Entries) && labels.Entries[at+1].Measure <= number {
			at++
		}
		time := labels.Entries[at].Time
		m := theory.Measure{Index: len(s.Measures), Label: strconv.Itoa(number), Onset: onset, Length: time.Measure(), Time: time, Key: key}
		if number == 0 && first.Measure == 0 {
			m.Into, m.Implicit = first.Offset, true
			m.Length = m.Length.Sub(first.Offset)
		}
		if m.Length.Sign() <= 0 {
			continue
		}
		onset = onset.Add(m.Length)
		s.Measures = append(s.Measures, m)
	}
	return s
}

// signature is that of the key in which an analysis ends, now and then of a
// modal melody.
func (z *realizer) signature(labels *harmony.RomanText) int8 {
	home := labels.Entries[len(labels.Entries)-1].Key
	signature := home.Signature()
	if first := labels.Entries[0].Key.Signature(); first != signature && z.r.Float64() < 0.3 {
		signature = first
	}
	if home.Mode == theory.MinorMode && z.r.Float64() < dorianShare {
		signature++
	}
	if home.Mode == theory.MajorMode && z.r.Float64() < mixolydianShare {
		signature--
	}
	return int8(signature)
}

// slots voices the chords.
func (z *realizer) slots(s *theory.Score, placed []harmony.Placed) []slot {
	var out []slot
	before := [4]theory.Pitch{theory.MustPitch("D5"), theory.MustPitch("A4"), theory.MustPitch("F4"), theory.MustPitch("F3")}
	measure := 0
	for i, p := range placed {
		if i+1 < len(placed) && placed[i+1].Onset == p.Onset {
			continue
		}
		end := s.Measures[len(s.Measures)-1].Onset.Add(s.Measures[len(s.Measures)-1].Length)
		if i+1 < len(placed) {
			end = placed[i+1].Onset
		}
		pitches := voice(p.Reading, before, z.r)
		before = pitches
		for at, begins := p.Onset, true; at.Less(end); begins = false {
			for measure+1 < len(s.Measures) && !at.Less(s.Measures[measure+1].Onset) {
				measure++
			}
			m := &s.Measures[measure]
			offset := at.Sub(m.Onset).Add(m.Into)
			beat := m.Time.Beat()
			into := offset.Div(beat)
			next := at.Add(beat.Mul(theory.Whole(into.Num()/into.Den() + 1)).Sub(offset))
			if !next.Less(end) {
				next = end
			}
			out = append(out, slot{at, next.Sub(at), m.Time.Strength(offset), pitches, p.Reading, false, begins})
			at = next
		}
		if len(out) > 0 {
			out[len(out)-1].phraseEnd = p.PhraseEnd
		}
	}
	return out
}

// voice spreads a chord so that the upper voices move little: each takes the
// nearest member, and what is missing goes to the voice that has least to move.
func voice(r harmony.Reading, before [4]theory.Pitch, random *rand.Rand) [4]theory.Pitch {
	var out [4]theory.Pitch
	out[3] = nearest(r.Bass(), before[3], 36, 62)
	members := make([]theory.PitchClass, r.Size())
	for i := range members {
		members[i] = r.Member(i)
	}
	best := 1 << 30
	for code := range 4 * 4 * 4 {
		var try [3]theory.Pitch
		ok, cost, used := true, random.IntN(3), 1<<r.Inversion()
		for v, c := 0, code; v < 3; v, c = v+1, c/4 {
			m := c % 4
			if m >= len(members) {
				ok = false
				break
			}
			try[v] = nearest(members[m], before[v], [3]int{60, 54, 47}[v], [3]int{81, 74, 69}[v])
			used |= 1 << m
			cost += abs(try[v].Semitones() - before[v].Semitones())
			if v > 0 && try[v].Semitones() > try[v-1].Semitones() { // #nosec G602 -- v-1 is at least 0
				cost += 30
			}
		}
		for i := range members {
			if used>>i&1 == 0 {
				cost += [4]int{20, 20, 5, 20}[i]
			}
		}
		if ok && cost < best {
			best = cost
			copy(out[:3], try[:])
		}
	}
	return out
}

// nearest is the pitch of a class nearest to another, within bounds in MIDI.
func nearest(c theory.PitchClass, to theory.Pitch, low, high int) theory.Pitch {
	best, least := theory.Pitch{}, 1<<30
	for octave := int8(1); octave < 7; octave++ {
		p := theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: octave}
		d := abs(p.Semitones() - to.Semitones())
		if m := p.MIDI(); m < low || m > high {
			d += 50
		}
		if d < least {
			best, least = p, d
		}
	}
	return best
}

func abs(n int) int { return max(n, -n) }

// lineWriter writes one voice.
type lineWriter struct {
	*realizer
	v     int
	notes []theory.VoiceNote
	// delayed is set where the slot in hand has begun with a suspension.
	delayed bool
}

// line writes one voice: its notes, decorated.
func (z *realizer) line(s *theory.Score, slots []slot, v int) []theory.VoiceNote {
	w := lineWriter{realizer: z, v: v}
	for i := range slots {
		w.say(&slots[i])
		if i+1 < len(slots) && !slots[i].phraseEnd && !slots[i].length.Less(theory.Frac(1, 2)) {
			w.decorate(&slots[i], &slots[i+1])
		}
	}
	measure := 0
	for n := range w.notes {
		note := &w.notes[n]
		for measure+1 < len(s.Measures) && !note.Onset.Less(s.Measures[measure+1].Onset) {
			measure++
		}
		note.Measure, note.IDs = int32(measure), []theory.NoteID{0}
	}
	return w.notes
}

// say writes the chord tone of a slot: anew, or held on from the slot before.
func (w *lineWriter) say(now *slot) {
	onset, length, pitch := now.onset, now.length, now.pitches[w.v]
	if w.delayed {
		length = length.Div(theory.Whole(2))
		onset = onset.Add(length)
	}
	flags := theory.NoteFlags(0)
	if now.phraseEnd {
		flags = theory.Fermata
	}
	n := len(w.notes)
	again := n > 0 && !now.begins && w.notes[n-1].Pitch == pitch && !w.delayed
	w.delayed = false
	if again && w.r.Float64() >= repeatShare {
		w.notes[n-1].Duration = w.notes[n-1].Duration.Add(length)
		w.notes[n-1].Flags |= flags
		return
	}
	w.notes = append(w.notes, theory.VoiceNote{Pitch: pitch, Onset: onset, Duration: length, Flags: flags})
}

// decorate leads from one slot to the next by a passing note, a neighbor or a
// suspension, now and then.
func (w *lineWriter) decorate(now, next *slot) {
	pitch := now.pitches[w.v]
	last := &w.notes[len(w.notes)-1]
	half := now.length.Div(theory.Whole(2))
	steps := next.pitches[w.v].Diatonic() - pitch.Diatonic()
	chance := w.r.Float64()
	switch {
	case abs(steps) == 2 && chance < passingShare && half.Less(last.Duration):
		w.insert(inScale(now.Reading, pitch.Diatonic()+steps/2), next.onset, half)
	case steps == 0 && chance < neighborShare && half.Less(last.Duration):
		w.insert(inScale(now.Reading, pitch.Diatonic()+1-2*w.r.IntN(2)), next.onset, half)
	case steps == -1 && w.v < 3 && next.begins && next.level > 0 && !next.length.Less(theory.Whole(1)) && chance < suspensionShare:
		last.Duration = last.Duration.Add(next.length.Div(theory.Whole(2)))
		w.delayed = true
	}
}

// insert puts a note before an onset, at the cost of the last one.
func (w *lineWriter) insert(p theory.Pitch, before, length theory.Fraction) {
	last := &w.notes[len(w.notes)-1]
	last.Duration = last.Duration.Sub(length)
	w.notes = append(w.notes, theory.VoiceNote{Pitch: p, Onset: before.Sub(length), Duration: length})
}

// inScale is the pitch at a height in letter names as the scale of a chord's key
// has it: in minor with raised degrees under a dominant.
func inScale(r harmony.Reading, diatonic int) theory.Pitch {
	key := r.Numeral.In(r.Key)
	step := theory.Step(diatonic % 7)
	for i, c := range key.Scale() {
		if c.Step == step {
			if key.Mode == theory.MinorMode && i >= 5 && r.Numeral.IsDominant() {
				c.Alter++
			}
			return theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: int8(diatonic / 7)}
		}
	}
	panic(fmt.Sprintf("no step %d in %s", step, key))
}

// excerpts cuts an analysis around its changes of key, as textbooks do: some
// labels before, and after it up to the end of the phrase or the next change.
func (z *realizer) excerpts(labels *harmony.RomanText) []*harmony.RomanText {
	var out []*harmony.RomanText
	all := labels.Entries
	for i := 1; i < len(all); i++ {
		if all[i].Key == all[i-1].Key {
			continue
		}
		first, end := max(0, i-4-z.r.IntN(8)), i+1
		for end < len(all) && end < i+14 && all[end].Key == all[i].Key && !(all[end-1].PhraseEnd && end > i+2) {
			end++
		}
		if end-i < 3 {
			continue
		}
		out = append(out, &harmony.RomanText{Header: labels.Header, Entries: all[first:end]})
	}
	return out
}
