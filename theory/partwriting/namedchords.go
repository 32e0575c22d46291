package partwriting

import (
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
)

// namedChord is a chord that somebody has named and the moments it is for.
type namedChord struct {
	first, end int
	members    []theory.PitchClass
	set        pitchClasses
	bass       theory.PitchClass
	hasBass    bool
	text       string
}

// namedChords returns the chords that labels name or, where the whole analysis was
// given, its own.
func (p *Passage) namedChords() []namedChord {
	if p.Harmony != nil && len(p.Harmony.Given) > 0 {
		return p.givenChords()
	}
	var out []namedChord
	for i := range p.chords {
		if h := &p.chords[i]; named(h) {
			n := namedChord{
				first: h.FirstMoment, end: h.EndMoment, members: h.members[:h.size], set: h.set,
				bass: h.Bass(), hasBass: true, text: h.Numeral.Text(h.Key.Mode),
			}
			for i := 0; h.Pivot != nil && i < h.Pivot.Size(); i++ {
				n.set = n.set.with(h.Pivot.Member(i)) // it may be spelled in either key
			}
			out = append(out, n)
		}
	}
	return out
}

// givenChords returns the chords that labels name, where the notes can be held
// against them.
func (p *Passage) givenChords() []namedChord {
	var out []namedChord
	for i := range p.Harmony.Given {
		label := &p.Harmony.Given[i]
		n := namedChord{first: p.momentFrom(label.Onset), end: p.momentFrom(label.End), hasBass: !label.OpenBass, text: label.String()}
		if label.More || n.first >= n.end || p.sounding(n.first) < fewestForChord {
			continue // added and altered notes say more than we compare
		}
		n.addMembers(label.Chord)
		for i := 0; label.Pivot != nil && i < label.Pivot.Size(); i++ {
			n.set = n.set.with(label.Pivot.Member(i)) // it may be spelled in either key
		}
		out = append(out, n)
	}
	return out
}

func (n *namedChord) addMembers(c harmony.Chord) {
	for member := range c.Quality.Size() {
		class := c.Quality.Member(c.Root, member)
		n.members, n.set = append(n.members, class), n.set.with(class)
	}
	n.bass = c.Bass()
}

// momentFrom returns the first moment at or after an onset.
func (p *Passage) momentFrom(onset theory.Fraction) int {
	return sort.Search(len(p.Moments), func(m int) bool { return !p.Moments[m].Onset.Less(onset) })
}

// soundsLike returns the member that a pitch class would be under another letter.
func (n *namedChord) soundsLike(c theory.PitchClass) (theory.PitchClass, bool) {
	for _, member := range n.members {
		if member != c && member.Chroma() == c.Chroma() {
			return member, true
		}
	}
	return theory.PitchClass{}, false
}

// eachForeign visits the notes struck in a named chord that are no members of it.
func (p *Passage) eachForeign(visit func(n *namedChord, m, v int)) {
	chords := p.namedChords()
	for i := range chords {
		n := &chords[i]
		for m := n.first; m < n.end; m++ {
			for v := range p.Voices {
				if p.cell(m, v).note >= 0 && p.IsStruck(m, v) && !n.set.has(p.Sounding(m, v).Pitch.Class()) {
					visit(n, m, v)
				}
			}
		}
	}
}

// fewestForChord is how many voices have to sound for notes to name a chord.
const fewestForChord = 3
