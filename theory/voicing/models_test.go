package voicing

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// model is a printed realization: a given line with figures, numerals or a
// melody, and the notes that the book gives as the answer, from the bass up.
type model struct {
	source, music string
	style         func() Style
	ruleSet       string
	// bass and soprano say which outer line the exercise gives.
	bass, soprano bool
}

const (
	hutchinson  = "Hutchinson, Music Theory for the 21st-Century Classroom, "
	openTheory  = "Open Music Theory v1, "
	butterfield = "Butterfield, Integrated Music Theory, "
)

var models = []model{
	{openTheory + "basso continuo", "g: i G2 G4 Bb4 D5 | V6 F#2 A4 A4 D5 | i G2 G4 Bb4 D5 | viio6 A2 F#4 A4 C5 | i6 Bb2 D4 G4 Bb4 | V D3 D4 F#4 A4 | i G3 D4 G4 Bb4 | v6 F3 D4 A4 A4 | iv6 Eb3 C4 G4 C5 | iv C3 Eb4 G4 C5 | V D3 D4 F#4 A4 | V7 D3 C4 F#4 A4 | i G3 Bb3 D4 G4", Keyboard, "keyboard", true, false},
	{openTheory + "keyboard exercises, B minor", "b: i B3 F#4 B4 D5 | iv6 G3 G4 B4 E5 | i6 D3 F#4 B4 F#5 | V43 C#3 F#4 A#4 E5 | i B2 F#4 B4 D5 | V7 F#3 E4 A#4 C#5 | i B2 D4 F#4 B4", Keyboard, "keyboard", true, false},
	{openTheory + "keyboard exercises, B flat", "Bb: I Bb2 F4 Bb4 D5 | V42 Eb3 F4 A4 C5 | I6 D3 F4 Bb4 Bb4 | IV6 G3 Eb4 Eb4 Bb4 | Cad64 F3 D4 F4 Bb4 | V7 F2 C4 Eb4 A4 | I Bb2 Bb3 D4 Bb4", Keyboard, "keyboard", true, false},
	{openTheory + "a figured bass in C", "C: I C4 E4 G4 C5 | V6 B3 D4 G4 D5 | V43/V A3 D4 F#4 C5 | V G3 D4 G4 B4 | ii65 F3 D4 A4 C5 | V G3 D4 G4 B4 | I C3 E4 G4 C5", Keyboard, "keyboard", true, false},
	{openTheory + "compound cadence", "C: Cad64 G3 G4 C5 E5 | V7 G2 F4 B4 D5 | I C3 E4 G4 C5", Keyboard, "keyboard", true, false},
	{hutchinson + "chapter 26, practice, figured bass in G minor", "g: i G2 D4 G4 Bb4 | viio6 A2 C4 F#4 A4 | i6 Bb2 D4 D4 G4 | V D3 A3 D4 F#4 | VI Eb3 G3 Bb3 G4", Chorale, "", true, false},
	{hutchinson + "chapter 26, practice, figured bass in B minor", "b: i B2 D4 F#4 B4 | V64 C#3 C#4 F#4 A#4 | i6 D3 B3 F#4 B4 | iio6 E3 E4 G4 C#5 | Cad64 F#3 D4 F#4 B4 | V F#3 C#4 F#4 A#4 | VI G3 B3 D4 B4", Chorale, "", true, false},
	{hutchinson + "chapter 26, practice, numerals in C minor", "c: i C3 Eb4 G4 C5 | iv F3 F4 Ab4 C5 | i64 G3 Eb4 G4 C5 | iv6 Ab3 F4 F4 C5 | iio6 F3 F4 Ab4 D5 | Cad64 G3 Eb4 G4 C5 | V G3 D4 G4 B4 | VI Ab3 C4 Eb4 C5", Chorale, "", false, false},
	{hutchinson + "chapter 26, practice, numerals in D minor", "d: i D3 D4 F4 A4 | VII C3 E4 G4 C5 | III F3 F4 A4 C5 | iv G3 D4 G4 Bb4 | V A3 C#4 E4 A4 | VI Bb3 D4 D4 F4 | iv G3 Bb3 D4 G4 | i D3 A3 D4 F4", Chorale, "", false, false},
	{hutchinson + "chapter 27, practice, root-position sevenths", "b: i7 B2 D4 F#4 A4 | iv7 E3 D4 E4 G4 | VII7 A2 C#4 E4 G4 | IIImaj7 D3 C#4 D4 F#4 | VImaj7 G2 B3 D4 F#4 | iiø7 C#3 B3 C#4 E4 | V7 F#2 A#3 C#4 E4 | i B2 B3 B3 D4", Chorale, "", false, false},
	{hutchinson + "chapter 28, practice, without its nonchord tones", "b: i B2 D4 F#4 B4 | iv E3 E4 G4 B4 | i B2 D4 F#4 B4 | III D3 D4 F#4 A4 | iv E3 B3 E4 G4 | V F#3 A#3 C#4 F#4 | VI G3 B3 B3 D4", Chorale, "", false, false},
	{hutchinson + "chapter 29, practice, applied dominants over a figured bass", "Ab: I Ab2 Eb4 Ab4 C5 | V7/vi C3 E4 G4 Bb4 | V7/ii F3 Eb4 F4 A4 | V7/V Bb2 D4 F4 Ab4 | V Eb3 Bb3 Eb4 G4 | viio7/vi E3 Bb3 Db4 G4 | vi F3 Ab3 C4 F4", Chorale, "", true, false},
	{hutchinson + "chapter 29, practice, chromatic numerals", "Ab: vi F3 F4 Ab4 C5 | Fr43 Fb3 D4 Ab4 Bb4 | V7 Eb3 Db4 G4 Bb4 | bVI Fb3 Cb4 Ab4 Ab4 | N6 Db3 Db4 Fb4 Bbb4 | viio7/V D3 Cb4 F4 Ab4 | V Eb3 Bb3 Eb4 G4 | vi F3 Ab3 C4 Ab4", Chorale, "", false, false},
	{hutchinson + "fig. 27.2.3, inverted sevenths in turn", "d: iv65 Bb3 G4 D5 F5 | VII42 Bb3 G4 C5 E5 | IIImaj65 A3 F4 C5 E5 | VImaj42 A3 F4 Bb4 D5 | iiø65 G3 E4 Bb4 D5 | V42 G3 E4 A4 C#5 | i6 F3 D4 A4 D5", Chorale, "", false, false},
	{butterfield + "unit 11a, a melody harmonized", "C: I C3 G3 E4 C5 | ii6 F2 A3 D4 A4 | V7 G2 G3 F4 B4 | I C3 G3 E4 C5", Chorale, "", false, true},
	{butterfield + "unit 11b, I vi ii V I", "C: I C3 G3 E4 C5 | vi A2 A3 E4 C5 | ii D3 A3 F4 D5 | V G2 B3 G4 D5 | I C3 C4 E4 C5", Chorale, "", false, false},
}

// read parses a model into a problem and the printed voicing, from the top.
func (m *model) read(t *testing.T) (*Problem, *Solution) {
	p, printed := &Problem{Style: m.style()}, &Solution{}
	var key theory.Key
	for _, sonority := range strings.Split(m.music, "|") {
		words := strings.Fields(sonority)
		if name, ok := strings.CutSuffix(words[0], ":"); ok {
			k, err := theory.ParseKey(name)
			if err != nil {
				t.Fatal(err)
			}
			key, words = k, words[1:]
		}
		n, err := harmony.ParseNumeral(words[0], key.Mode)
		if err != nil {
			t.Fatal(err)
		}
		c := Chord{Reading: harmony.Reading{Key: key, Numeral: n}}
		for i := len(words) - 1; i > 0; i-- {
			c.Pitches = append(c.Pitches, theory.MustPitch(words[i]))
		}
		slot := Given(c.Reading)
		slot.Fixed = make([]*theory.Pitch, len(c.Pitches))
		if m.soprano {
			slot.Fixed[0] = &c.Pitches[0]
		}
		if m.bass {
			slot.Fixed[len(c.Pitches)-1] = &c.Pitches[len(c.Pitches)-1]
		}
		p.Slots, printed.Chords = append(p.Slots, slot), append(printed.Chords, c)
	}
	return p, printed
}

func upperMotion(s *Solution) int {
	sum := 0
	for k := 1; k < len(s.Chords); k++ {
		for v := range len(s.Chords[k].Pitches) - 1 {
			sum += abs(theory.Between(s.Chords[k-1].Pitches[v], s.Chords[k].Pitches[v]).Semitones)
		}
	}
	return sum
}

// leadingFaults are the faults of a voicing; those of the progression itself are
// the exercise's.
func leadingFaults(s *Solution, style *Style, set *partwriting.RuleSet) []string {
	texture := s.Texture(style, Layout{})
	var out []string
	for _, f := range partwriting.Check(texture, s.Harmony(texture, Layout{}), set) {
		if f.Severity == partwriting.Fault && f.Family != partwriting.Progression {
			out = append(out, fmt.Sprintf("%s at chord %d", f.Rule, f.Onset.Num()+1))
		}
	}
	return out
}

// TestModels sets our answer beside the printed one: no more faults and, where the
// printed one has no more of them either, no more motion in the upper voices (the sum of semitones, the size of a voice leading
// in Tymoczko, "The Geometry of Musical Chords", Science 313, 2006). The second
// time the book's first sonority is given as well.
func TestModels(t *testing.T) {
	for _, m := range models {
		for _, start := range []string{"free start", "printed start"} {
			t.Run(m.source+", "+start, func(t *testing.T) {
				p, printed := m.read(t)
				if start == "printed start" {
					for v := range p.Style.Voices {
						p.Slots[0].Fixed[v] = &printed.Chords[0].Pitches[v]
					}
				}
				ours, err := Solve(p)
				if err != nil {
					t.Fatal(err)
				}
				set := partwriting.RuleSetByName(m.ruleSet)
				theirFaults, ourFaults := leadingFaults(printed, &p.Style, set), leadingFaults(ours, &p.Style, set)
				if len(ourFaults) > len(theirFaults) {
					t.Errorf("ours has faults %v, the printed one %v", ourFaults, theirFaults)
				}
				if a, b := upperMotion(ours), upperMotion(printed); a > b && len(theirFaults) <= len(ourFaults) {
					t.Errorf("ours moves %d semitones, the printed one %d", a, b)
				}
				for k := range ours.Chords {
					t.Logf("%-14v printed %-20s ours %v", ours.Chords[k].Reading, fmt.Sprint(printed.Chords[k].Pitches), ours.Chords[k].Pitches)
				}
				t.Logf("%-14s printed %-20s ours %s", "motion, faults", fmt.Sprint(upperMotion(printed), theirFaults), fmt.Sprint(upperMotion(ours), ourFaults))
			})
		}
	}
}
