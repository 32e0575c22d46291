package voicing

import (
	"reflect"
	"testing"

	"partwright/theory"
)

func TestChargesSumToTheCost(t *testing.T) {
	p := progression(Chorale(), one, six, two, fiveSix5, one, four, cadSix4, fiveSev, six)
	p.Slots[4].PhraseEnd = true
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	e, err := explained(p, s)
	if err != nil {
		t.Fatal(err)
	}
	var sum Cost
	for _, c := range e.Opening {
		sum += c.Cost
	}
	for k, c := range e.Changes {
		sum += c.Cost
		instead := Cost(0)
		for _, charge := range c.Instead {
			instead += charge.Cost
		}
		if c.RunnerUp == nil || instead != c.Behind || c.Behind < 0 {
			t.Errorf("change %d: the runner-up %v is %d behind, its terms sum to %d", k+1, c.RunnerUp, c.Behind, instead)
		}
	}
	if sum != s.Cost {
		t.Errorf("the charges sum to %d, the solution costs %d", sum, s.Cost)
	}
}

func TestEveryWeightIsATerm(t *testing.T) {
	if want := reflect.TypeOf(Weights{}).NumField(); len(terms) != want {
		t.Errorf("%d terms for %d weights", len(terms), want)
	}
	seen := map[*Cost]string{}
	var w Weights
	for _, term := range terms {
		if other, taken := seen[term.of(&w)]; taken {
			t.Errorf("%s and %s name the same weight", other, term.name)
		}
		seen[term.of(&w)] = term.name
	}
}

func TestDominantSeventhIsExplained(t *testing.T) {
	p := progression(Chorale(), fiveSev, one)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	e, err := explained(p, s)
	if err != nil {
		t.Fatal(err)
	}
	found := map[Tendency]theory.Interval{}
	for _, m := range e.Changes[0].Moves {
		found[m.Tendency] = m.Interval
	}
	if found[LeadingToneRises] != theory.MinorSecond {
		t.Errorf("the leading tone moves by %v, want up a minor second", found[LeadingToneRises])
	}
	if found[SeventhFalls] != theory.MinorSecond.Invert() {
		t.Errorf("the seventh moves by %v, want down a minor second", found[SeventhFalls])
	}
	if e.Changes[0].RunnerUp == nil || e.Changes[0].Behind < 0 {
		t.Errorf("no runner-up: %+v", e.Changes[0])
	}
}
