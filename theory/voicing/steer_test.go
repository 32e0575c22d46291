package voicing

import (
	"errors"
	"maps"
	"math/rand/v2"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// graveRule is a rule that a teacher makes grave, and what makes voicings break it
// otherwise.
type graveRule struct {
	rule  partwriting.RuleID
	style Style
	tempt func(*Style)
	// word is the chord that the phrases end with.
	word string
}

// What a rule set makes grave forbids: no voicing that is found breaks it, though many
// would otherwise. Every chord lasts a beat.
func TestGraveRulesForbid(t *testing.T) {
	for _, c := range []graveRule{
		{"unison", FiveVoices(), func(s *Style) { s.Weights.UnisonPair = 0 }, "V7"},
		{"unison", Chorale(), func(s *Style) { s.Weights.UnisonPair, s.Weights.Arch = 0, 0; lower(&s.Voices[0]) }, "I"},
		{"fifth-missing", Chorale(), func(s *Style) { s.Weights.OmittedFifth = 0 }, "I6"},
		{"fifth-missing", Keyboard(), func(s *Style) { s.Weights.OmittedFifth = 0 }, "vi6"},
		{"voice-overlap", Chorale(), func(s *Style) { s.Weights = Weights{} }, "I"},
		{"cross-relation", Chorale(), func(s *Style) { s.Weights.Caution = 0 }, "V65/V"},
	} {
		t.Run(string(c.rule)+" "+c.style.Name+" "+c.word, func(t *testing.T) {
			c.tempt(&c.style)
			otherwise, _ := brokenIn(t, &c, partwriting.Remark)
			grave, voiced := brokenIn(t, &c, partwriting.Fault)
			if otherwise == 0 || grave > 0 || voiced < 20 {
				t.Errorf("%d of %d phrases break it where it is grave, %d where it is not", grave, voiced, otherwise)
			}
		})
	}
}

// lower takes a third off a voice's compass.
func lower(v *VoiceRange) {
	for _, p := range []*theory.Pitch{&v.Low, &v.High, &v.EasyLow, &v.EasyHigh} {
		*p = p.Transpose(theory.MajorThird.Invert())
	}
}

// brokenIn counts random phrases whose cheapest voicing breaks a rule that weighs so much.
func brokenIn(t *testing.T, c *graveRule, weight partwriting.Severity) (broken, voiced int) {
	random := rand.New(rand.NewPCG(41, 43))
	set := *partwriting.RuleSetByName(partwriting.DefaultRuleSet)
	set.Severities = maps.Clone(set.Severities)
	set.Severities[c.rule] = weight
	for range 60 {
		p := &Problem{Style: c.style}
		p.Style.Rules = &set
		for range 3 + random.IntN(6) {
			p.Slots = append(p.Slots, Given(major(t, lawWords[theory.MajorMode][random.IntN(15)])))
		}
		p.Slots = append(p.Slots, Given(major(t, c.word)))
		s, err := Solve(p)
		var impossible *ImpossibleError
		if errors.As(err, &impossible) {
			continue
		}
		voiced++
		layout := Layout{}
		texture := s.Texture(&p.Style, layout)
		for _, f := range partwriting.Check(texture, s.Harmony(texture, layout), &set) {
			if f.Rule == c.rule {
				broken++
				break
			}
		}
	}
	return broken, voiced
}

func major(t *testing.T, word string) harmony.Reading {
	n, err := harmony.ParseNumeral(word, theory.MajorMode)
	if err != nil {
		t.Fatal(err)
	}
	return harmony.Reading{Key: cMajor, Numeral: n}
}
