package voicing

import (
	"errors"
	"math/rand/v2"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// TestTexturesHaveNoFaults lets the rules, which are given the chords, judge what
// the solver makes of random progressions in each texture.
func TestTexturesHaveNoFaults(t *testing.T) {
	english, _ := partwriting.CatalogFor("en")
	for _, texture := range []struct {
		style func() Style
		rules string
	}{
		{Chorale, partwriting.DefaultRuleSet},
		{Keyboard, "keyboard"},
		{ThreeVoices, partwriting.DefaultRuleSet},
		{FiveVoices, partwriting.DefaultRuleSet},
	} {
		style := texture.style()
		t.Run(style.Name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(37, 41))
			solved := 0
			for range 400 {
				p := randomProblem(t, random)
				p.Style = style
				for k := range p.Slots {
					p.Slots[k].Fixed, p.Slots[k].PhraseEnd = nil, false
				}
				s := solveIfPossible(t, p)
				if s == nil {
					continue
				}
				solved++
				written := s.Texture(&p.Style, Layout{})
				for _, f := range partwriting.Check(written, s.Harmony(written, Layout{}), partwriting.RuleSetByName(texture.rules)) {
					if f.Severity == partwriting.Fault && f.Family != partwriting.Progression {
						t.Errorf("%s: %s at %v: %s", describe(p), f.Rule, f.Onset, english.Message(&f, written))
						for _, c := range s.Chords {
							t.Logf("  %v %v", c.Reading, c.Pitches)
						}
					}
				}
			}
			t.Logf("%d of 400 voiced", solved)
			if solved < 150 {
				t.Errorf("only %d of 400 progressions can be voiced", solved)
			}
		})
	}
}

// TestKeyboardStaysWithinAHand asks of keyboard style what Open Music Theory v1
// asks: the upper three voices within an octave, which every hand can reach, and
// the position kept where nothing speaks against it.
func TestKeyboardStaysWithinAHand(t *testing.T) {
	p := progression(Keyboard(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range s.Chords {
		if hand := theory.Between(c.Pitches[2], c.Pitches[0]); theory.PerfectOctave.Semitones < hand.Semitones {
			t.Errorf("%v: the right hand spans %v", c.Pitches, hand)
		}
	}
	wide := Keyboard()
	wide.MaxSpan, wide.Rules = 0, nil // neither the hand nor its rule
	wide.Weights.PositionChange = 0
	q := progression(wide, phrase16...)
	for k := range q.Slots[:1] {
		top, alto, tenor := theory.MustPitch("G5"), theory.MustPitch("C5"), theory.MustPitch("E4")
		q.Slots[k].Fixed = []*theory.Pitch{&top, &alto, &tenor}
	}
	open, err := Solve(q)
	if err != nil {
		t.Fatal(err)
	}
	if hand := theory.Between(open.Chords[0].Pitches[2], open.Chords[0].Pitches[0]); hand.Semitones <= 12 {
		t.Errorf("without the limit a hand that is given may be wider than an octave, it is %v", hand)
	}
}

// Three voices keep root and third of every triad and may leave the fifth out; a
// seventh chord keeps root, third and seventh in root position (Open Music Theory
// v1, on incomplete chords). Five voices leave nothing out.
func TestWhatThreeAndFiveVoicesLeaveOut(t *testing.T) {
	for _, style := range []Style{ThreeVoices(), FiveVoices()} {
		p := progression(style, one, six, two, fiveSev, one, four, fiveSix, one, twoSix, fiveSev, six)
		s, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range s.Chords {
			count := make([]int, c.Reading.Size())
			for _, pitch := range c.Pitches {
				count[c.Reading.MemberOf(pitch.Class())]++
			}
			for m, n := range count {
				if n == 0 && (m != 2 || style.Name == "five voices") {
					t.Errorf("%s: %v %v lacks its member %d", style.Name, c.Reading, c.Pitches, m)
				}
			}
			if lead, ok := c.Reading.LeadingTone(); ok && count[c.Reading.MemberOf(lead)] > 1 {
				t.Errorf("%s: %v %v doubles the leading tone", style.Name, c.Reading, c.Pitches)
			}
		}
	}
}

// A choir has ranges of its own; every note lies in them, given notes apart, and
// where they leave no way the chord is named. The ranges here are for a treble
// choir and are no advice: what young voices can sing the voice coach says.
func TestCustomRanges(t *testing.T) {
	style := Style{
		Name: "treble choir",
		Voices: []VoiceRange{
			voice("S1", "C4", "E4", "D5", "F5"), voice("S2", "B3", "C4", "B4", "D5"), voice("A", "G3", "A3", "F4", "A4"),
		},
		Weights: defaultWeights(),
	}
	p := progression(style, one, four, fiveSix, one, twoSix, five, one)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range s.Chords {
		for v, pitch := range c.Pitches {
			if r := style.Voices[v]; r.Low.Above(pitch) || pitch.Above(r.High) {
				t.Errorf("%v lies outside %s", pitch, r.Name)
			}
		}
	}
	style.Voices[2] = voice("A", "D4", "D4", "F4", "F4")
	_, err = Solve(progression(style, two, one))
	var impossible *ImpossibleError
	if !errors.As(err, &impossible) || impossible.Slot != 1 || !impossible.Alone {
		t.Errorf("the lowest voice cannot sing the root of I, got %v", err)
	}
}

// A Neapolitan doubles its bass and neither its root nor, in major, its altered
// fifth (Hutchinson, Music Theory for the 21st-Century Classroom, section 29.3); a
// German sixth goes to V by way of a six-four, since its fifth would run parallel
// (section 29.4).
func TestChromaticChords(t *testing.T) {
	for _, text := range []string{"c: i N6 V i", "C: I N6 V I", "C: I N6 V7 I"} {
		r, err := ReadProgression(text)
		if err != nil {
			t.Fatal(err)
		}
		s, err := Solve(r.Problem(Chorale()))
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		c := s.Chords[1]
		doubled := 0
		for _, pitch := range c.Pitches {
			if pitch.Class() == c.Reading.Bass() {
				doubled++
			}
		}
		if doubled != 2 {
			t.Errorf("%s: %v sings the bass note %d times, want 2", text, c.Pitches, doubled)
		}
	}
	r, err := ReadProgression("C: I Ger65 Cad64 V I")
	if err != nil {
		t.Fatal(err)
	}
	s, err := Solve(r.Problem(Chorale()))
	if err != nil {
		t.Fatal(err)
	}
	moves := map[string]theory.Interval{}
	for v, pitch := range s.Chords[1].Pitches {
		moves[pitch.Class().String()] = theory.Between(pitch, s.Chords[2].Pitches[v])
	}
	if moves["F#"] != theory.MinorSecond || moves["Ab"] != theory.MinorSecond.Invert() {
		t.Errorf("the augmented sixth opens by %v", moves)
	}
	if _, ok := moves["F#"]; !ok {
		t.Errorf("no F# in %v", s.Chords[1].Pitches)
	}
}
