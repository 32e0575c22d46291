package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// What teachers mend in the voices of a harmonized tune costs this for each time, on top of
// what the weights say of it, so that another way of the voices or other chords may be taken
// instead. Sizes are common practice, no source; `./worker -run BlemishesBeside` counts what
// comes of them.
const (
	// stillCosts is for each change to a chord of another root in which an inner voice keeps its
	// note once it has kept it twice.
	stillCosts Cost = 900
	keptTwice  int  = 2
	// narrowCosts is for each chord at which an inner voice has had two notes at most for as
	// many chords as narrowOver says.
	narrowCosts Cost = 1000
	narrowOver  int  = 8
	// tenthsCosts is for each chord in which the outer voices go in thirds or tenths, as they
	// did in the chords before it, so many with it as tenthsFrom says.
	tenthsCosts Cost = 4000
	tenthsFrom  int  = 4
	// hollowCosts is for a chord without its fifth before the end of a phrase, hollowAtClose for
	// the last one, bareCosts for one without its third.
	hollowCosts, hollowAtClose, bareCosts Cost = 1000, 200, 1500
	// thirdCosts is for a doubled third of a major triad.
	thirdCosts Cost = 500
	// meetCosts is for soprano and alto on one note, meetBelow for inner voices, meetAtBottom for
	// the lowest two.
	meetCosts, meetBelow, meetAtBottom Cost = 800, 1200, 350
	// lowCosts is for a bass below its comfortable middle, deepCosts for one that is more than a
	// semitone below it.
	lowCosts, deepCosts Cost = 200, 300
	// seventhCosts is for each seventh that neither goes down a step nor stays.
	seventhCosts Cost = 3000
	// dropCosts is for an inner leading tone that falls by leap from a dominant to its tonic or to
	// the sixth degree; dropAtClose for one in the last chord of a phrase, where that is common.
	dropCosts, dropAtClose Cost = 1300, 800
	// jumpCosts is for an inner leading tone that leaps up instead of rising its semitone.
	jumpCosts Cost = 4000
	// swayCosts is for an inner voice that leaps a fourth or more and back as far.
	swayCosts Cost = 500
	// unequalCosts is for a diminished fifth that becomes a perfect one above the bass.
	unequalCosts Cost = 4500
	// oneWayCosts is for all voices in one direction, innerLeapCosts for an inner voice that
	// leaps more than a fourth, bassLeapCosts for a bass that leaps a diminished fifth, a sixth or
	// a seventh, passCosts for a voice that moves past its neighbor's last note.
	oneWayCosts, innerLeapCosts, bassLeapCosts, passCosts Cost = 700, 300, 800, 300
)

// sung is what the voices of a solution cost with what teachers mend in whole lines.
func sung(s *Solution, style *Style) (sum Cost) {
	var heard recent
	for k := range s.Chords {
		c := &s.Chords[k]
		closes := c.PhraseEnd || k+1 == len(s.Chords)
		heard.add(c)
		sum += c.sung(closes, style) + heard.sung()
		if k > 0 {
			sum += sungBetween(&s.Chords[k-1], c, closes)
		}
	}
	return sum
}

// sung is what a chord costs by itself; closes is set where a phrase ends with it.
func (c *Chord) sung(closes bool, style *Style) (sum Cost) {
	var has [4]int
	for v, p := range c.Pitches {
		if m := c.Reading.MemberOf(p.Class()); m >= 0 && m < len(has) {
			has[m]++
		}
		switch {
		case v == 0 || c.Pitches[v-1] != p:
		case v+1 == len(c.Pitches):
			sum += meetAtBottom
		case v == 1:
			sum += meetCosts
		default:
			sum += meetBelow
		}
	}
	if has[1] == 0 {
		sum += bareCosts
	}
	if has[1] > 1 && c.Reading.Quality() == harmony.MajorTriad {
		sum += thirdCosts
	}
	switch {
	case has[2] > 0:
	case closes:
		sum += hollowAtClose
	default:
		sum += hollowCosts
	}
	bass := len(c.Pitches) - 1
	if style.Voices[bass].EasyLow.Above(c.Pitches[bass]) {
		sum += lowCosts
		if style.Voices[bass].EasyLow.Semitones()-c.Pitches[bass].Semitones() > 1 {
			sum += deepCosts
		}
	}
	return sum
}

// sungBetween is what the way from one chord to the next costs; closes is set where a phrase
// ends with the second.
func sungBetween(from, to *Chord, closes bool) Cost {
	sum := Cost(straying(from, to)) * seventhCosts
	if from.PhraseEnd {
		return sum
	}
	bass := len(to.Pitches) - 1
	if leapsAwkwardly(theory.Between(from.Pitches[bass], to.Pitches[bass])) {
		sum += bassLeapCosts
	}
	if sameHarmony(from.Reading, to.Reading) {
		return sum
	}
	sum += oneWay(from, to) + Cost(unequalFifths(from, to))*unequalCosts
	for v := 1; v <= bass; v++ {
		if to.Pitches[v].Above(from.Pitches[v-1]) || from.Pitches[v].Above(to.Pitches[v-1]) {
			sum += passCosts
		}
	}
	for v := 1; v < bass; v++ {
		if abs(to.Pitches[v].Diatonic()-from.Pitches[v].Diatonic()) > 3 {
			sum += innerLeapCosts
		}
	}
	return sum + drops(from, to, closes)
}

// oneWay is what it costs that all voices go in one direction.
func oneWay(from, to *Chord) Cost {
	rises, falls := 0, 0
	for v, p := range to.Pitches {
		switch before := from.Pitches[v].Diatonic(); {
		case p.Diatonic() > before:
			rises++
		case p.Diatonic() < before:
			falls++
		}
	}
	if max(rises, falls) < len(to.Pitches) {
		return 0
	}
	return oneWayCosts
}

// drops is what inner leading tones cost that leap.
func drops(from, to *Chord, closes bool) (sum Cost) {
	lead, ok := from.Reading.LeadingTone()
	if d := dutyBetween(from.Reading, to.Reading); !ok || !d.resolves && !d.deceptive {
		return 0
	}
	for v := 1; v+1 < len(to.Pitches); v++ {
		steps := to.Pitches[v].Diatonic() - from.Pitches[v].Diatonic()
		switch {
		case from.Pitches[v].Class() != lead || steps == -1 || steps == 0 || steps == 1:
		case steps > 1:
			sum += jumpCosts
		case closes:
			sum += dropAtClose
		default:
			sum += dropCosts
		}
	}
	return sum
}

// leapsAwkwardly reports whether a bass leaps a diminished fifth, a sixth or a seventh.
func leapsAwkwardly(move theory.Interval) bool {
	n := move.Number()
	return n == 6 || n == 7 || n == 5 && move.Quality() == theory.Diminished
}

// unequalFifths counts the voices above the bass that go from a diminished fifth to a perfect
// one, but where the upper one goes in tenths with the bass (Mozart K. 331 in Hutchinson 27.1).
func unequalFifths(from, to *Chord) (n int) {
	bass := len(to.Pitches) - 1
	third := func(c *Chord, v int) bool { return (c.Pitches[v].Diatonic()-c.Pitches[bass].Diatonic())%7 == 2 }
	for low := 1; low < bass; low++ {
		for high := range low {
			before := theory.Between(from.Pitches[low], from.Pitches[high]).Simple()
			if before.Steps == 4 && before.Semitones == 6 && theory.Between(to.Pitches[low], to.Pitches[high]).IsPerfectFifth() &&
				from.Pitches[high] != to.Pitches[high] && !(third(from, high) && third(to, high)) {
				n++
			}
		}
	}
	return n
}

// recent are chords that follow one another, the last one first; those before the first of a
// piece are nil.
type recent [narrowOver]*Chord

// add takes one more chord.
func (h *recent) add(c *Chord) {
	copy(h[1:], h[:])
	h[0] = c
}

// sung is what the lines up to the last chord cost there.
func (h *recent) sung() (sum Cost) {
	for v := 1; v+1 < len(h[0].Pitches); v++ {
		if h.narrow(v) {
			sum += narrowCosts
		}
		if h.still(v) {
			sum += stillCosts
		}
		if h.sways(v) {
			sum += swayCosts
		}
	}
	if h.tenths() {
		sum += tenthsCosts
	}
	return sum
}

// tenths reports whether the outer voices have gone in thirds or tenths for long.
func (h *recent) tenths() bool {
	for back, c := range h[:tenthsFrom] {
		if c == nil || (c.Pitches[0].Diatonic()-c.Pitches[len(c.Pitches)-1].Diatonic())%7 != 2 ||
			back > 0 && (c.PhraseEnd || c.Pitches[0] == h[back-1].Pitches[0]) {
			return false
		}
	}
	return true
}

// still reports whether a voice keeps its note once it has kept it twice, while the chords
// change.
func (h *recent) still(v int) bool {
	if h[1] == nil || h[0].Reading.Root() == h[1].Reading.Root() {
		return false
	}
	kept := 0
	for back := 0; back+1 < len(h) && h[back+1] != nil && h[back+1].Pitches[v] == h[0].Pitches[v]; back++ {
		if h[back].Reading.Root() != h[back+1].Reading.Root() {
			kept++
		}
	}
	return kept > keptTwice
}

// sways reports whether a voice has leapt a fourth or more and back as far.
func (h *recent) sways(v int) bool {
	if h[2] == nil || h[1].PhraseEnd || h[2].PhraseEnd {
		return false
	}
	there, back := h[1].Pitches[v].Diatonic()-h[2].Pitches[v].Diatonic(), h[0].Pitches[v].Diatonic()-h[1].Pitches[v].Diatonic()
	return there >= 3 && back <= -3 || there <= -3 && back >= 3
}

// narrow reports whether a voice has had two notes at most.
func (h *recent) narrow(v int) bool {
	var other theory.Pitch
	has := false
	for _, c := range h {
		if c == nil {
			return false
		}
		switch p := c.Pitches[v]; {
		case p == h[0].Pitches[v] || has && p == other:
		case has:
			return false
		default:
			other, has = p, true
		}
	}
	return true
}
