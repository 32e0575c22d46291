package voicing

import (
	"slices"
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// reach is how many moments before and after a fault a window holds, so that
// preparation, resolution and the harmony around are in view.
const reach = 6

// window is a stretch of a texture that can be checked by itself, which is far
// quicker than checking the whole.
type window struct {
	texture  *theory.Texture
	analysis *harmony.Analysis
	labels   []harmony.Label
	// written are the chords that the music was read in when it came.
	written []harmony.Label
	// given are the chords that were named.
	given []harmony.Annotation
	// first is, for each voice, the index in the whole of the window's first
	// note; from and to bound the moments of the fault in the window's onsets.
	first    []int
	from, to theory.Fraction
}

func (m *mender) windowAround(d *draft, f *partwriting.Finding) *window {
	t := d.texture
	from, to := f.Onset, f.Onset
	for _, ref := range f.Notes {
		n := &t.Voices[ref.Voice].Notes[ref.Note]
		if n.Onset.Less(from) {
			from = n.Onset
		}
		if to.Less(n.Onset) {
			to = n.Onset
		}
	}
	low, high := 0, len(t.Moments)-1
	for i := range t.Moments {
		if !from.Less(t.Moments[i].Onset) {
			low = i
		}
	}
	for i := len(t.Moments) - 1; i >= 0; i-- {
		if !t.Moments[i].Onset.Less(to) {
			high = i
		}
	}
	start := t.Moments[max(low-reach, 0)].Onset
	end := t.Score.End()
	if high+reach+1 < len(t.Moments) {
		end = t.Moments[high+reach+1].Onset
	}
	w := &window{from: from, to: to}
	voices := make([]theory.Voice, len(t.Voices))
	for v := range t.Voices {
		voices[v] = t.Voices[v]
		notes := t.Voices[v].Notes
		a, b := 0, len(notes)
		for a < b && !start.Less(notes[a].End()) {
			a++
		}
		for b > a && !notes[b-1].Onset.Less(end) {
			b--
		}
		voices[v].Notes = notes[a:b:b]
		w.first = append(w.first, a)
	}
	w.texture = theory.NewTexture(t.Score, t.Layout, t.Found, voices)
	for i := range d.reading.analysis.Harmonies {
		h := &d.reading.analysis.Harmonies[i]
		if start.Less(h.End) && h.Onset.Less(end) {
			w.labels = append(w.labels, labelOf(h))
		}
	}
	w.written = m.original.labels
	if a := m.original.reading.analysis; a.Use != harmony.Ignore {
		w.given = a.Given
	}
	w.analysis = harmony.Assume(w.texture, w.labels)
	return w
}

// named is the chord that somebody has named at an onset, nil where nobody has.
func (w *window) named(onset theory.Fraction) *harmony.Chord {
	i := sort.Search(len(w.given), func(i int) bool { return onset.Less(w.given[i].Onset) })
	if i == 0 || !onset.Less(w.given[i-1].End) {
		return nil
	}
	return &w.given[i-1].Chord
}

// assume reads a changed texture in the chords of another reading.
func assume(t *theory.Texture, a *harmony.Analysis) *harmony.Analysis {
	labels := make([]harmony.Label, 0, len(a.Harmonies))
	for i := range a.Harmonies {
		labels = append(labels, labelOf(&a.Harmonies[i]))
	}
	return harmony.Assume(t, labels)
}

// changes lists what each note that sounds at the fault's moments, and at so many
// moments beside them, could become: another member of its chord within an
// octave, or the same note in another octave.
func (m *mender) changes(w *window, beside int) []change {
	var out []change
	t := w.texture
	first, last := len(t.Moments), -1
	for i := range t.Moments {
		if !t.Moments[i].Onset.Less(w.from) && !w.to.Less(t.Moments[i].Onset) {
			first, last = min(first, i), i
		}
	}
	for i := max(first-beside, 0); i <= min(last+beside, len(t.Moments)-1); i++ {
		for v := range t.Voices {
			n := t.At(i, v)
			if n < 0 || slices.Contains(m.options.Keep, v) || slices.Contains(m.options.KeepMeasures, int(t.Voices[v].Notes[n].Measure)) {
				continue
			}
			ref := partwriting.NoteRef{Voice: v, Note: n}
			if slices.ContainsFunc(out, func(c change) bool { return c.ref == ref }) {
				continue // it sounds at two of the moments
			}
			out = append(out, m.alternativesFor(w, ref)...)
		}
	}
	return out
}

// alternativesFor lists what one note could become: another member of its chord, the
// same note in another octave, or an octave of what it was in the original.
func (m *mender) alternativesFor(w *window, ref partwriting.NoteRef) []change {
	note := &w.texture.Voices[ref.Voice].Notes[ref.Note]
	written := m.original.Voices[ref.Voice].Notes[ref.Note+w.first[ref.Voice]].Pitch
	classes := append(w.members(note), note.Pitch.Class(), written.Class())
	var out []change
	seen := map[theory.Pitch]bool{note.Pitch: true}
	for _, c := range classes {
		for octave := note.Pitch.Octave - 1; octave <= note.Pitch.Octave+1; octave++ {
			to := theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: octave}
			if seen[to] || abs(to.Semitones()-note.Pitch.Semitones()) > 12 {
				continue
			}
			seen[to] = true
			one := change{ref: ref, to: to, protected: m.isProtected(w, ref, to)}
			one.effort = m.effort(w.changed([]change{one}), w, []change{one})
			out = append(out, one)
		}
	}
	return out
}

// isProtected reports whether a note should stay: the root in the bass of a chord in
// root position, and in the final chord the bass and the root on top.
func (m *mender) isProtected(w *window, ref partwriting.NoteRef, to theory.Pitch) bool {
	note := &w.texture.Voices[ref.Voice].Notes[ref.Note]
	h := w.harmonyAt(note.Onset)
	if h == nil || to.Class() == note.Pitch.Class() {
		return false
	}
	bass, root := ref.Voice == len(w.texture.Voices)-1, note.Pitch.Class() == h.Root()
	final := m.original.Moments[len(m.original.Moments)-1].Onset.Less(note.End())
	return bass && note.Pitch.Class() == h.Bass() && (final || root) || ref.Voice == 0 && final && root
}

// harmonyAt is the chord that the music was read in at an onset when it came, nil
// where there is none.
func (w *window) harmonyAt(onset theory.Fraction) *harmony.Label {
	i := sort.Search(len(w.written), func(i int) bool { return onset.Less(w.written[i].Onset) })
	if i == 0 {
		return nil
	}
	return &w.written[i-1]
}

// members returns the chord that a note begins in, as it was named or else read, or what sounds with it where
// no harmony was read.
func (w *window) members(note *theory.VoiceNote) []theory.PitchClass {
	var classes []theory.PitchClass
	if chord := w.named(note.Onset); chord != nil {
		for k := range chord.Quality.Size() {
			classes = append(classes, chord.Quality.Member(chord.Root, k))
		}
		return classes
	}
	if h := w.harmonyAt(note.Onset); h != nil {
		for k := range h.Size() {
			classes = append(classes, h.Member(k))
		}
		return classes
	}
	for i := range w.texture.Moments {
		if w.texture.Moments[i].Onset != note.Onset {
			continue
		}
		for v := range w.texture.Voices {
			if n := w.texture.Sounding(i, v); n != nil {
				classes = append(classes, n.Pitch.Class())
			}
		}
	}
	return classes
}

// changed returns the window's music with changes made.
func (w *window) changed(changes []change) *theory.Texture {
	return rewrite(w.texture, changes, make([]int, len(w.first)))
}

// apply makes the window's changes in the whole texture.
func (w *window) apply(whole *theory.Texture, changes []change) *theory.Texture {
	return rewrite(whole, changes, w.first)
}

// rewrite copies the voices that change; shift turns note indexes into those of
// the texture.
func rewrite(t *theory.Texture, changes []change, shift []int) *theory.Texture {
	voices := slices.Clone(t.Voices)
	copied := make([]bool, len(voices))
	for _, c := range changes {
		v := c.ref.Voice
		if !copied[v] {
			voices[v].Notes = slices.Clone(voices[v].Notes)
			copied[v] = true
		}
		voices[v].Notes[c.ref.Note+shift[v]].Pitch = c.to
	}
	changed := *t // moments stay: only pitches differ
	changed.Voices = voices
	return &changed
}
