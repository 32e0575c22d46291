package voicing

import "partwright/theory"

// What teachers mend in the voices of a harmonized tune costs this for each time, on top of
// what the weights say of it, so that a way with other chords may be taken instead. Sizes are
// common practice, no source; `./worker -run BlemishesBeside` counts what comes of them.
const (
	// stillCosts is for each change to a chord of another root in which an inner voice keeps its
	// note once it has kept it twice.
	stillCosts Cost = 1500
	keptTwice  int  = 2
	// seventhCosts is for each seventh that neither goes down a step nor stays.
	seventhCosts Cost = 3000
	// narrowCosts is for each chord at which an inner voice has had two notes at most for as
	// many chords as narrowOver says.
	narrowCosts Cost = 1000
	narrowOver  int  = 8
	// hollowCosts is for a chord without its fifth before the end of a phrase, togetherCosts
	// for two upper voices on one note.
	hollowCosts, togetherCosts Cost = 1100, 700
	// tenthsCosts is for each further chord in which the outer voices go in thirds or tenths
	// once they have done so for as many chords as tenthsFrom says.
	tenthsCosts Cost = 500
	tenthsFrom  int  = 4
)

// sung is what the voices of a solution cost with what teachers mend in whole lines.
func sung(s *Solution) Cost {
	sum := Cost(standsStill(s))*stillCosts + Cost(strayingSevenths(s))*seventhCosts
	first, tenths := 0, 0
	for k := range s.Chords {
		c := &s.Chords[k]
		hollow := true
		for v, p := range c.Pitches {
			if c.Reading.MemberOf(p.Class()) == 2 {
				hollow = false
			}
			inner := v > 0 && v+1 < len(c.Pitches)
			if inner && c.Pitches[v-1] == p {
				sum += togetherCosts
			}
			if inner && narrow(s, k, v) {
				sum += narrowCosts
			}
		}
		if hollow && !c.PhraseEnd && k+1 < len(s.Chords) {
			sum += hollowCosts
		}
		last := len(c.Pitches) - 1
		outer := c.Pitches[0].Diatonic() - c.Pitches[last].Diatonic()
		if k > first && outer%7 == 2 && s.Chords[k-1].Pitches[0] != c.Pitches[0] {
			if tenths++; tenths >= tenthsFrom {
				sum += tenthsCosts
			}
		} else {
			tenths = 0
		}
		if c.PhraseEnd {
			first, tenths = k+1, 0
		}
	}
	return sum
}

// standsStill counts the changes in which an inner voice keeps its note once it has kept it
// twice, while the chords change.
func standsStill(s *Solution) (n int) {
	for v := 1; v+1 < len(s.Chords[0].Pitches); v++ {
		kept := 0
		for k := 1; k < len(s.Chords); k++ {
			switch {
			case s.Chords[k].Pitches[v] != s.Chords[k-1].Pitches[v]:
				kept = 0
			case s.Chords[k].Reading.Root() != s.Chords[k-1].Reading.Root():
				if kept++; kept > keptTwice {
					n++
				}
			}
		}
	}
	return n
}

// narrow reports whether a voice has had two notes at most up to a chord.
func narrow(s *Solution, k, v int) bool {
	if k+1 < narrowOver {
		return false
	}
	one := s.Chords[k].Pitches[v]
	var other theory.Pitch
	has := false
	for back := 1; back < narrowOver; back++ {
		switch p := s.Chords[k-back].Pitches[v]; {
		case p == one || has && p == other:
		case has:
			return false
		default:
			other, has = p, true
		}
	}
	return true
}
