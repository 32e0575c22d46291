package voicing

import (
	"slices"
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Tune is a melody that is given with its rhythm, and whose chords are to be chosen: a chord lasts
// over the short notes that pass by.
type Tune struct {
	// Notes are in order of onset; Measures of the score say where beats are.
	Notes []theory.VoiceNote
	Score *theory.Score
	// Key is the key at an onset, Closes whether a note ends a phrase.
	Key    func(theory.Fraction) theory.Key
	Closes func(n *theory.VoiceNote) bool
}

// Points are the onsets at which chords stand, in order: at the first note of each phrase, at
// each that begins on a beat or lasts as long as one, and on the beat that has the leading tone before the end of a
// phrase, if only as its last note.
func (t *Tune) Points() []theory.Fraction {
	var out []theory.Fraction
	for i := range t.Notes {
		n := &t.Notes[i]
		if Carries(n, t.Score.MeasureAt(n.Onset)) || i == 0 || t.Closes(&t.Notes[i-1]) {
			out = append(out, n.Onset)
		}
		if from, needed := t.closes(i); needed {
			out = append(out, from)
		}
	}
	slices.SortFunc(out, theory.Fraction.Cmp)
	return slices.Compact(out)
}

// Carries reports whether a note of a given line takes a chord of its own: one that
// begins on a beat of its measure, or lasts as long as one.
func Carries(n *theory.VoiceNote, m *theory.Measure) bool {
	return OnBeat(n.Onset, m) || !n.Duration.Less(m.Time.Beat())
}

// OnBeat reports whether an onset is a beat of its measure.
func OnBeat(onset theory.Fraction, m *theory.Measure) bool {
	return m.Time.Strength(onset.Sub(m.Onset).Add(m.Into)) > 0
}

// closes reports whether a note that takes no chord by its place and length needs one,
// as it leads to the tonic that ends a phrase and comes from no note of the dominant, and whence:
// a leading tone from the beat on, where the tonic before it is suspended, another from itself
// on (common practice, no source).
func (t *Tune) closes(i int) (from theory.Fraction, needed bool) {
	if i == 0 || i+1 == len(t.Notes) || !t.Closes(&t.Notes[i+1]) || t.Closes(&t.Notes[i-1]) || t.Closes(&t.Notes[i]) {
		return from, false
	}
	n, m := &t.Notes[i], t.Score.MeasureAt(t.Notes[i].Onset)
	key := t.Key(n.Onset)
	degree := func(p theory.Pitch) int { d, _ := key.Degree(p.Class()); return d }
	leading := n.Pitch.Class() == key.LeadingTone()
	if Carries(n, m) || t.Notes[i+1].Pitch.Class() != key.Tonic || t.leaps(i+1) || !leading && degree(n.Pitch) != 2 {
		return from, false
	}
	switch degree(t.Notes[i-1].Pitch) {
	case 2, 4, 5, 7:
		return from, false
	case 1:
		if before := t.Notes[i-1].Onset; leading && !t.leaps(i) {
			if from = n.Onset.Sub(m.Time.IntoBeat(n.Onset.Sub(m.Onset).Add(m.Into))); from.Less(before) {
				from = before
			}
			return from, true
		}
	}
	return n.Onset, true
}

// Under sets the chord from an onset up to the next one under the tune: against its first
// note there, which the chord holds, or where that is a suspended tonic against the leading tone. What the
// tune comes to or leaves by leap meanwhile is to belong to the chord too, as passing and neighbor notes go by step.
func (t *Tune) Under(c *ProgressionChord, onset, next theory.Fraction) {
	first, end := SoundingBetween(t.Notes, onset, next)
	set := first
	for i := first; i < end; i++ {
		if _, needed := t.closes(i); needed {
			set = i
		}
	}
	if len(c.Fixed) == 0 {
		c.Fixed = []*theory.Pitch{nil}
	}
	c.Fixed[0] = &t.Notes[set].Pitch
	c.FollowLine(t.Notes[first:end], set-first, func(onset theory.Fraction) bool { return OnBeat(onset, t.Score.MeasureAt(onset)) })
	for i := first + 1; i < end; i++ {
		if pitch := t.Notes[i].Pitch; i != set && (t.leaps(i) || t.leaps(i+1)) && !slices.Contains(c.besides, pitch.Class()) {
			c.besides = append(c.besides, pitch.Class())
		}
	}
}

// SoundingBetween returns which notes of a line sound from an onset up to another: from the
// first index on, up to the second.
func SoundingBetween(line []theory.VoiceNote, onset, until theory.Fraction) (first, end int) {
	first = sort.Search(len(line), func(i int) bool { return onset.Less(line[i].End()) })
	for end = first; end < len(line) && line[end].Onset.Less(until); end++ {
	}
	return first, end
}

// leaps reports whether the tune leaps to a note; the next phrase begins anew.
func (t *Tune) leaps(i int) bool {
	if i == len(t.Notes) || t.Closes(&t.Notes[i-1]) {
		return false
	}
	steps := t.Notes[i].Pitch.Diatonic() - t.Notes[i-1].Pitch.Diatonic()
	return steps < -1 || steps > 1
}

// ChooseUnder leaves the chord open that [Tune.Under] has set: any of the key's that holds the note
// and, as far as one chord can hold them, the others that are to belong to it.
func (c *ProgressionChord) ChooseUnder(key theory.Key) {
	c.Reading = harmony.Reading{Key: key}
	all := UnderMelody(*c.Fixed[0], key).Choices
	for ; len(c.besides) > 0; c.besides = c.besides[:len(c.besides)-1] {
		kept := slices.DeleteFunc(slices.Clone(all), func(choice Choice) bool { return !c.holdsBesides(choice.Reading) })
		if len(kept) > 0 {
			c.Choices = kept
			return
		}
	}
	c.Choices = all
}

// holdsBesides reports whether a chord holds all notes that the given tune comes to or leaves by leap.
func (c *ProgressionChord) holdsBesides(r harmony.Reading) bool {
	return !slices.ContainsFunc(c.besides, func(note theory.PitchClass) bool { return r.MemberOf(note) < 0 })
}

// follow lets the chords of a melody in a text last over its short notes, but for those with
// which other voices are given too.
func (r *rowReader) follow() {
	p := r.progression
	if r.melody != len(p.Chords) {
		return // chords are given
	}
	onsets := p.Layout.onsets(len(p.Chords))
	t := Tune{Score: &theory.Score{Measures: p.Layout.measures(onsets[len(p.Chords)])}}
	for k := range p.Chords {
		t.Notes = append(t.Notes, theory.VoiceNote{Pitch: *p.Chords[k].Fixed[0], Onset: onsets[k], Duration: p.Chords[k].Duration})
	}
	at := func(onset theory.Fraction) *ProgressionChord {
		k, found := slices.BinarySearchFunc(onsets, onset, theory.Fraction.Cmp)
		if !found {
			k--
		}
		return &p.Chords[k]
	}
	t.Key = func(onset theory.Fraction) theory.Key { return at(onset).Reading.Key }
	t.Closes = func(n *theory.VoiceNote) bool { return n.End() == onsets[len(p.Chords)] || at(n.Onset).PhraseEnd }
	points := t.Points()
	for k := range p.Chords {
		if len(p.Chords[k].Fixed) > 1 {
			points = append(points, onsets[k])
		}
	}
	slices.SortFunc(points, theory.Fraction.Cmp)
	points = slices.Compact(points)
	if slices.Equal(points, onsets[:len(p.Chords)]) {
		return
	}
	whole := &Progression{Layout: Layout{Time: p.Layout.Time, Pickup: p.Layout.Pickup, Top: t.Notes}}
	word := 0
	for k, onset := range points {
		next := onsets[len(p.Chords)]
		if k+1 < len(points) {
			next = points[k+1]
		}
		c := ProgressionChord{Duration: next.Sub(onset), Text: at(onset).Text, Line: at(onset).Line, Open: k > 0}
		if word < len(onsets) && onsets[word] == onset { // not where a chord comes in under a note
			c.Fixed = slices.Clone(p.Chords[word].Fixed)
		}
		for ; word < len(p.Chords) && onsets[word].Less(next); word++ {
			c.PhraseEnd = c.PhraseEnd || p.Chords[word].PhraseEnd
		}
		t.Under(&c, onset, next)
		if c.ChooseUnder(t.Key(onset)); k == 0 {
			c.Choices = Opening(c.Choices)
		}
		whole.Add(c)
	}
	r.progression = whole
}
