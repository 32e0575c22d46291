package harmony

import (
	"strconv"

	"partwright/theory"
)

// DeviceKind is a kind of harmonic device: what a musician names beside numerals.
type DeviceKind int8

// Kinds of device. Definitions: Open Music Theory and Hutchinson, Music Theory for the
// 21st-Century Classroom, from memory.
const (
	// Sequence: a model of one or two chords that is repeated on other degrees.
	Sequence DeviceKind = iota
	// PedalPoint: a note that stays through chords it is foreign to.
	PedalPoint
	// Mixture: a chord of the parallel minor in major.
	Mixture
	// CommonTone: a diminished seventh that holds the root of the chord after it.
	CommonTone
	// Reinterpretation: a chord that goes on as another spelling of it would.
	Reinterpretation
	// ModalFinal: the piece ends on the final of a mode whose scale it keeps.
	ModalFinal
)

// String returns the word in kebab case.
func (k DeviceKind) String() string {
	return [...]string{"sequence", "pedal-point", "mixture", "common-tone", "reinterpretation", "modal-final"}[k]
}

// Device is one harmonic device.
type Device struct {
	Kind DeviceKind
	// First and Last index Harmonies.
	First, Last int
	// Name says which: of sequences one of sequenceNames or "parallel-sixths", of a
	// pedal point the degree that stays ("1", "5"), of a modal final the mode ("dorian",
	// "phrygian", "lydian", "mixolydian"), of a reinterpretation what the chord acts as,
	// as "Ger6" or a chord symbol ("Ab7", "C#dim7"); empty for the others.
	Name string
	// Voice is the voice of a pedal point, -1 for other kinds.
	Voice int
}

// Devices lists the harmonic devices of an analysis, by kind and then in order.
func (a *Analysis) Devices() []Device {
	if len(a.Harmonies) == 0 || a.texture == nil {
		return nil
	}
	out := append(a.sequences(), a.pedalPoints()...)
	for i := range a.Harmonies {
		if a.Harmonies[i].IsMixture() {
			out = append(out, Device{Mixture, i, i, "", -1})
		}
	}
	for i := range a.Harmonies {
		if i+1 < len(a.Harmonies) && a.sharesRoot(i) {
			out = append(out, Device{CommonTone, i, i + 1, "", -1})
		}
	}
	for i := range a.Harmonies {
		if i+1 < len(a.Harmonies) {
			if as := a.actsAs(i); as != "" {
				out = append(out, Device{Reinterpretation, i, i + 1, as, -1})
			}
		}
	}
	if mode := a.mode(); mode != "" {
		last := len(a.Harmonies) - 1
		out = append(out, Device{ModalFinal, last, last, mode, -1})
	}
	return out
}

// IsMixture reports whether a chord in major is one of the parallel minor: its notes
// all lie in that scale, or are its leading tone, and one of them outside the major
// scale. Applied chords and augmented sixths are none.
func (r Reading) IsMixture() bool {
	if r.Key.Mode != theory.MajorMode || r.Numeral.IsApplied() || r.Quality().IsAugmentedSixth() {
		return false
	}
	minor := theory.MinorKey(r.Key.Tonic)
	borrowed := false
	for i := range r.Size() {
		c := r.Member(i)
		if !inScaleOf(minor, c) && c != r.Key.LeadingTone() {
			return false
		}
		borrowed = borrowed || !inScaleOf(r.Key, c)
	}
	return borrowed
}

func inScaleOf(k theory.Key, c theory.PitchClass) bool {
	for _, s := range k.Scale() {
		if s == c {
			return true
		}
	}
	return false
}

// sharesRoot reports whether a diminished seventh holds the root of the chord after
// it, the tonic or the dominant. The leading-tone seventh of the key itself is none: to
// VI it moves as V does. Nor is what comes before a cadential six-four: it leads to the
// dominant.
func (a *Analysis) sharesRoot(i int) bool {
	h, next := &a.Harmonies[i], &a.Harmonies[i+1]
	own := h.Key == next.Key && !h.Numeral.IsApplied() && h.Numeral.Degree == 7
	if h.Quality() != DiminishedSeventh || own {
		return false
	}
	tonic := next.Numeral.IsTonic() && next.Inversion() != 2
	dominant := next.Numeral.Degree == 5 && next.Numeral.IsDominant() && !next.Numeral.IsApplied()
	return (tonic || dominant) && semitonesUp(h.Root(), next.Root())%3 == 0
}

// aim is the root that a chord's successor has for the ear: that of the dominant where
// it is a cadential six-four.
func (h *Harmony) aim() theory.PitchClass {
	if h.Numeral.IsTonic() && h.Numeral.Inversion == 2 {
		return h.Bass()
	}
	return h.Root()
}

// semitonesUp is the distance up from one pitch class to another.
func semitonesUp(from, to theory.PitchClass) int { return (to.Chroma() - from.Chroma() + 12) % 12 }

// actsAs returns what another spelling of a chord explains about how it goes on, ""
// where its own does.
func (a *Analysis) actsAs(i int) string {
	h, next := &a.Harmonies[i], &a.Harmonies[i+1]
	switch h.Quality() {
	case DominantSeventh:
		// Its root falls by a semitone to a dominant: an augmented sixth opens.
		isDominant := next.aim() == next.Key.At(5) && (next.Inversion() == 0 || next.Numeral.IsTonic())
		if isDominant && semitonesUp(next.aim(), h.Root()) == 1 {
			return "Ger6"
		}
	case GermanSixth:
		// Its bass is the root of a dominant seventh whose tonic follows.
		if root := h.Member(1); semitonesUp(root, next.Root()) == 5 && !next.Quality().IsAugmentedSixth() {
			return Chord{root, DominantSeventh, 0}.Symbol()
		}
	case DiminishedSeventh:
		goal := next.aim()
		if q := next.Quality(); q != MajorTriad && q != MinorTriad && q != DominantSeventh {
			return ""
		}
		if semitonesUp(h.Root(), goal)%3 == 1 && semitonesUp(h.Root(), goal) != 1 {
			lead := theory.MajorKey(goal).LeadingTone()
			return Chord{lead, DiminishedSeventh, 0}.Symbol()
		}
	}
	return ""
}

// pedalPoints finds notes that stay, held or struck again, from a chord they belong to
// through one they do not until one they belong to.
func (a *Analysis) pedalPoints() []Device {
	var out []Device
	for v := range a.texture.Voices {
		notes := a.texture.Voices[v].Notes
		for n := 0; n < len(notes); {
			end := n + 1
			for end < len(notes) && notes[end].Pitch == notes[n].Pitch && notes[end].Onset == notes[end-1].End() {
				end++
			}
			c, from, until := notes[n].Pitch.Class(), notes[n].Onset, notes[end-1].End()
			d, ok := a.pedalOf(v, c, from, until)
			if !ok {
				d, ok = a.heardPedal(v, c, from, until)
			}
			if ok {
				out = append(out, d)
			}
			n = end
		}
	}
	return out
}

func (a *Analysis) pedalOf(v int, c theory.PitchClass, from, until theory.Fraction) (Device, bool) {
	first, last, foreign := -1, -1, false
	pending := false
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		if !from.Less(h.End) || !h.Onset.Less(until) {
			continue
		}
		switch member := h.MemberOf(c) >= 0; {
		case member && first < 0:
			first = i
		case member:
			last, foreign = i, foreign || pending
		case first >= 0:
			pending = true
		}
	}
	if !foreign || last-first < 2 {
		return Device{}, false
	}
	degree, _ := a.Harmonies[first].Key.Degree(c)
	return Device{PedalPoint, first, last, strconv.Itoa(degree), v}, true
}

// leastPhrases is how many phrases a piece has whose final is trusted: an excerpt may
// end on a dominant. Our own choice.
const leastPhrases = 4

// modes are by the degree that their final is of the major scale with their signature.
var modes = map[int]struct {
	name string
	// natural is the note that tells the mode, usual the one that major or minor has in
	// its place, in fifths above the final.
	natural, usual int
}{
	2: {"dorian", 3, -4},
	3: {"phrygian", -5, 2},
	4: {"lydian", 6, -1},
	5: {"mixolydian", -2, 5},
}

// mode tells the mode of a piece whose last chord, in root position, stands on the
// final of another mode than the signature's major and minor, and that has the degree
// of the mode more often than that of the key; "" for others. Phrygian, lydian and
// mixolydian pieces do not end with a dominant and its tonic, which want a leading tone or
// another fourth degree.
func (a *Analysis) mode() string {
	t := a.texture
	if len(a.Phrases) < leastPhrases {
		return ""
	}
	last := &a.Harmonies[len(a.Harmonies)-1]
	signature := t.Score.Measures[len(t.Score.Measures)-1].Key.Fifths
	tonic := theory.MajorKey(theory.PitchClassAtFifths(int(signature)))
	degree, alter := tonic.Degree(last.Root())
	m, known := modes[degree]
	if last.Inversion() != 0 || alter != 0 || !known {
		return ""
	}
	if n := len(a.Harmonies); m.name != "dorian" && last.Numeral.IsTonic() && n > 1 && a.Harmonies[n-2].Numeral.IsDominant() {
		return ""
	}
	natural := theory.PitchClassAtFifths(last.Root().Fifths() + m.natural)
	usual := theory.PitchClassAtFifths(last.Root().Fifths() + m.usual)
	with, without := 0.0, 0.0
	for v := range t.Voices {
		for i := range t.Voices[v].Notes {
			switch n := &t.Voices[v].Notes[i]; n.Pitch.Class() {
			case natural:
				with += n.Duration.Float()
			case usual:
				without += n.Duration.Float()
			}
		}
	}
	if with <= without {
		return ""
	}
	return m.name
}
