package voicing

import (
	"cmp"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// follow notes what the bass comes from, if the slot before leaves no choice.
func (s *set) follow(before *Slot) {
	if before.PhraseEnd {
		return
	}
	for i := range before.Choices {
		bass := before.Choices[i].Reading.Bass()
		if i > 0 && bass != s.bassFrom {
			s.hasBassFrom = false
			return
		}
		s.bassFrom, s.hasBassFrom = bass, true
	}
}

// arrangement is one way to set a chord: an index into its choice's tones for
// each voice, from the top.
type arrangement struct {
	tone [MaxVoices]uint8
	cost Cost
	open bool
}

// tone is one pitch a voice could take.
type tone struct {
	pitch     theory.Pitch
	semitones int
	diatonic  int
	member    int8
	// leading and seventh mark notes with one way to go.
	leading, seventh bool
}

// set is a chord with everything it could be.
type set struct {
	reading      harmony.Reading
	choiceCost   Cost
	tones        [MaxVoices][]tone
	arrangements []arrangement
	phraseEnd    bool
	// bassFrom is the bass note of the chord before, where that is settled.
	bassFrom    theory.PitchClass
	hasBassFrom bool
}

// arrange lists every arrangement of a reading that stands on its own: within
// range and spacing, uncrossed, complete enough, nothing doubled that may not
// be.
func arrange(c Choice, slot *Slot, style *Style) *set {
	return arrangeWith(c, slot, style, doublingsFor(c.Reading, style))
}

func arrangeWith(c Choice, slot *Slot, style *Style, d doubling) *set {
	s := &set{reading: c.Reading, choiceCost: c.Cost, phraseEnd: slot.PhraseEnd}
	n := len(style.Voices)
	bass := c.Reading.Inversion()
	for v, r := range style.Voices {
		var fixed *theory.Pitch
		if v < len(slot.Fixed) {
			fixed = slot.Fixed[v]
		}
		only := -1
		if v == n-1 && !style.lifted {
			only = bass
		}
		s.tones[v] = tonesOf(c.Reading, r, fixed, only)
	}
	if len(slot.Top) > 0 {
		s.tones[0] = slices.DeleteFunc(s.tones[0], func(t tone) bool { return !slices.Contains(slot.Top, t.pitch.Class()) })
	}
	var a arrangement
	s.extend(&a, 0, n, style, d)
	return s
}

// arrangeAtAnyPrice lists every arrangement within the ranges that does not cross,
// whatever it doubles and leaves out and however wide it stands, each at the price of a
// fault.
func arrangeAtAnyPrice(c Choice, slot *Slot, style *Style) *set {
	s := arrangeWith(c, slot, style, lenient(c.Reading, style))
	if len(s.arrangements) == 0 {
		wide := *style
		wide.MaxGap, wide.MaxBassGap, wide.MaxSpan = 0, 0, 0
		s = arrangeWith(c, slot, &wide, lenient(c.Reading, style))
	}
	for i := range s.arrangements {
		s.arrangements[i].cost += penalty
	}
	return s
}

// doublingsFor is what may be doubled under a style.
func doublingsFor(r harmony.Reading, style *Style) doubling {
	if style.lifted {
		return complete(r, len(style.Voices))
	}
	return doublings(r, style)
}

// tonesOf lists the pitches of a reading within a range, from low to high. A
// fixed pitch is taken even outside the range: the caller's note is given.
func tonesOf(r harmony.Reading, v VoiceRange, fixed *theory.Pitch, only int) []tone {
	lead, hasLead := r.LeadingTone()
	var out []tone
	add := func(p theory.Pitch, member int) {
		out = append(out, tone{
			pitch: p, semitones: p.Semitones(), diatonic: p.Diatonic(), member: int8(member),
			leading: hasLead && p.Class() == lead,
			seventh: member == 3 && !r.Quality().IsAugmentedSixth(),
		})
	}
	if fixed != nil {
		if m := r.MemberOf(fixed.Class()); m >= 0 && (only < 0 || m == only) {
			add(*fixed, m)
		}
		return out
	}
	for octave := v.Low.Octave - 1; octave <= v.High.Octave+1; octave++ {
		for m := range r.Size() {
			if only >= 0 && m != only {
				continue
			}
			c := r.Member(m)
			p := theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: octave}
			if !v.Low.Above(p) && !p.Above(v.High) {
				add(p, m)
			}
		}
	}
	// Ties between voicings fall to the order of tones, so that the order must be
	// the same in every key.
	slices.SortFunc(out, func(a, b tone) int {
		return cmp.Or(a.semitones-b.semitones, a.diatonic-b.diatonic)
	})
	return out
}

// extend fills voice v and those below it.
func (s *set) extend(a *arrangement, v, n int, style *Style, d doubling) {
	style.work.Step(1)
	if v == n {
		if cost, ok := d.judge(s, a, n, style); ok {
			own := *a
			own.cost = cost + s.standing(a, n, style)
			own.open = s.tones[0][a.tone[0]].semitones-s.tones[n-2][a.tone[n-2]].semitones > 12
			s.arrangements = append(s.arrangements, own)
		}
		return
	}
	for i := range s.tones[v] {
		if v > 0 {
			gap := s.tones[v-1][a.tone[v-1]].semitones - s.tones[v][i].semitones
			limit := style.MaxGap
			if v == n-1 {
				limit = style.MaxBassGap
			}
			if gap < 0 || limit > 0 && gap > limit {
				continue
			}
			if v < n-1 && style.MaxSpan > 0 && s.tones[0][a.tone[0]].semitones-s.tones[v][i].semitones > style.MaxSpan {
				continue
			}
		}
		a.tone[v] = uint8(i)
		s.extend(a, v+1, n, style, d)
	}
}

// widest is the interval in semitones between the lowest two voices that still
// sounds as one chord: a twelfth, which chorales exceed in one sonority of a
// hundred (counted in the 370 chorales edited by C. Sapp).
const widest = 19

// standing is what an arrangement costs by itself apart from its doublings.
func (s *set) standing(a *arrangement, n int, style *Style) Cost {
	w := &style.Weights
	var cost Cost
	for v := range n {
		t := &s.tones[v][a.tone[v]]
		r := &style.Voices[v]
		if low := r.EasyLow.Semitones() - t.semitones; low > 0 {
			cost += Cost(low) * w.Uneasy
		}
		if high := t.semitones - r.EasyHigh.Semitones(); high > 0 {
			cost += Cost(high) * w.Uneasy
		}
		if v > 0 && s.tones[v-1][a.tone[v-1]].semitones == t.semitones {
			cost += w.UnisonPair
		}
	}
	low, next := &s.tones[n-1][a.tone[n-1]], &s.tones[n-2][a.tone[n-2]]
	if low.semitones < style.LowBelow.Semitones() && next.semitones-low.semitones <= 4 && next.semitones > low.semitones {
		cost += w.LowThird
	}
	if wide := next.semitones - low.semitones - widest; wide > 0 {
		cost += Cost(wide) * w.Spread
	}
	return cost
}
