package voicing

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Voicings that are offered for their character are the best there are of it: trying
// every voicing finds no cheaper one that ends on the same note of the last chord, and
// none that is cheaper with the charge for another position, or for want of contrary
// motion, on top.
func TestCharactersEqualEnumeration(t *testing.T) {
	random := rand.New(rand.NewPCG(19, 23))
	endings, leanings := 0, 0
	for range 150 {
		p := randomProblem(t, random)
		l, err := newLattice(t.Context(), p, forbidden, true)
		if errors.As(err, new(*ImpossibleError)) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		every := enumerate(p)
		if every == nil || len(every.all) > 3000 {
			continue // too many to write out
		}
		position := func(p Position) func(s *Solution) Cost {
			return func(s *Solution) (sum Cost) {
				for _, c := range s.Chords {
					if heardAs(c.Pitches).open != (p == OpenPosition) {
						sum += towardPosition
					}
				}
				return sum
			}
		}
		for _, s := range l.endings() {
			endings++
			member := s.Character().Ends
			least := every.least(func(o *Solution) bool {
				return o.Character().Ends == member && o.Chords[len(o.Chords)-1].Reading == s.Chords[len(s.Chords)-1].Reading
			}, nil)
			if !every.has(s) || least != s.Cost {
				t.Errorf("%s: ends on member %d for %d, enumeration found %d", describe(p), member, s.Cost, least)
			}
		}
		for _, lean := range []struct {
			by   leaning
			owes func(s *Solution) Cost
		}{
			{l.towardPosition(OpenPosition), position(OpenPosition)},
			{l.towardPosition(ClosePosition), position(ClosePosition)},
			{l.towardContrary(), func(s *Solution) Cost { return towardContrary * Cost(len(s.Chords)-1-s.Character().Contrary) }},
		} {
			leanings++
			s, err := l.again().leaning(t.Context(), l, &lean.by)
			if err != nil {
				t.Fatal(err)
			}
			if least := every.least(nil, lean.owes); !every.has(s) || least != s.Cost+lean.owes(s) {
				t.Errorf("%s: %d with %d on top, enumeration found %d", describe(p), s.Cost, lean.owes(s), least)
			}
		}
	}
	if endings < 100 || leanings < 100 {
		t.Errorf("%d endings and %d leanings compared", endings, leanings)
	}
	t.Logf("%d endings and %d leanings compared", endings, leanings)
}

// least is the least cost with what a voicing owes on top, among those that are meant.
func (e *enumeration) least(meant func(*Solution) bool, owes func(*Solution) Cost) Cost {
	least := Cost(math.MaxInt32)
	for i := range e.all {
		s := e.solution(i)
		if meant != nil && !meant(s) {
			continue
		}
		cost := s.Cost
		if owes != nil {
			cost += owes(s)
		}
		least = min(least, cost)
	}
	return least
}

// Among six ways to voice a phrase that closes with V-I are other endings of the top
// voice, and, where they cost little more, another position or more contrary motion.
func TestAlternativesDifferInCharacter(t *testing.T) {
	random := rand.New(rand.NewPCG(29, 31))
	all, endings, positions, against := 0, 0, 0, 0
	for all < 60 {
		p := closingPhrase(random, Chorale())
		ways, err := Alternatives(p, 6)
		if err != nil {
			continue
		}
		all++
		first := ways[0].Character()
		var ending, position, more bool
		for _, s := range ways[1:] {
			c := s.Character()
			ending = ending || c.Ends != first.Ends
			position = position || c.Position != first.Position
			more = more || c.Contrary > first.Contrary
		}
		for count, is := range map[*int]bool{&endings: ending, &positions: position, &against: more} {
			if is {
				*count++
			}
		}
	}
	t.Logf("of %d phrases %d have another ending, %d another position, %d more contrary motion among six ways", all, endings, positions, against)
	if endings*10 < all*9 || positions*2 < all || against*2 < all {
		t.Errorf("of %d phrases %d have another ending, %d another position, %d more contrary motion among six ways", all, endings, positions, against)
	}
}
