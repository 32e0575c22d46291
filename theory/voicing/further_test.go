package voicing

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
	"partwright/theory/partwriting"
)

var ownTunes = flag.Int("own-tunes", 25, "tunes that are harmonized five times")

// ownTune is a tune by steps and small leaps that ends 3-2-1 or 2-2-1 or so, within a soprano's
// range.
func ownTune(random *rand.Rand) string {
	for {
		if text, ok := walk(random); ok {
			return text
		}
	}
}

func walk(random *rand.Rand) (text string, ok bool) {
	keys := []string{"C", "D", "Eb", "F", "G", "A", "c", "d", "e", "g", "a", "b"}
	name := keys[random.IntN(len(keys))]
	key, _ := theory.ParseKey(name)
	scale := key.Scale()
	at := 7*4 + int(key.Tonic.Step) // in letter names, from C0
	if at < 7*4+3 {
		at += 7
	}
	tonic, low, high := at, 7*4+1, 7*5+4
	pitch := func(at int) string {
		class := scale[((at-tonic)%7+7)%7]
		return fmt.Sprintf("%v%d", class, at/7)
	}
	at += []int{0, 2, 4, -3}[random.IntN(4)]
	text = name + ": soprano"
	last := at
	for range 5 + random.IntN(4) {
		text, last = text+" "+pitch(at), at
		step := []int{-2, -1, -1, 1, 1, 2, 3}[random.IntN(7)]
		if at+step < low || at+step > high {
			step = -step
		}
		at += step
	}
	return text + " " + pitch(tonic+1) + " " + pitch(tonic), abs(last-tonic-1) < 3
}

// Every further harmonization of tunes of our own is free of faults by the rules of the
// checker, who knows the chords; each seventh goes down a step or stays until it does, in the
// voice that has it (Open Music Theory v1, keyboard-style voice-leading; the rule has no
// other source here than the textbooks'); none is further behind the likeliest way than half
// of the phrases of chorales are (0.82 a note, from -validate melodies), or than the first is.
func TestFurtherHarmonizationsAreGood(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 3))
	answers := 0
	for range *ownTunes {
		text := ownTune(random)
		p, err := ReadProgression(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		harmonize(t, p, Applied)
		pose := func() *Problem { return p.Problem(Chorale()) }
		first, err := Solve(pose())
		if err != nil {
			t.Logf("%s: %v", text, err) // the first one says so
			continue
		}
		found, err := p.Contrasting(context.Background(), tune.Default, Applied, first, pose, 4)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		answers += len(found)
		for _, way := range found {
			p.NameChosen(way.Solution)
			texture := way.Solution.Texture(&pose().Style, p.Layout)
			for _, f := range partwriting.Check(texture, way.Solution.Harmony(texture, p.Layout), nil) {
				if f.Severity == partwriting.Fault && f.Rule != "range" {
					t.Errorf("%s: %s at %v in %v", text, f.Rule, f.Onset, numeralsOf(way.Solution))
				}
			}
			for _, at := range sevenths(way.Solution) {
				t.Errorf("%s: the seventh of chord %d does not resolve in %v", text, at+1, numeralsOf(way.Solution))
			}
			n := float64(len(p.Chords))
			if behind, of := behindAll(p, way.Solution), behindAll(p, first); behind > 0.82*n && behind > of {
				t.Errorf("%s: %v is %.1f behind the likeliest, the first %.1f", text, numeralsOf(way.Solution), behind, of)
			}
		}
	}
	if answers < 2**ownTunes {
		t.Errorf("%d further harmonizations of %d tunes", answers, *ownTunes)
	}
	t.Logf("%d further harmonizations of %d tunes", answers, *ownTunes)
}

// sevenths are the chords with a seventh that neither goes down a step in its voice nor is held
// or handed on while the harmony or a dissonance lasts.
func sevenths(s *Solution) (left []int) {
	for k := 0; k+1 < len(s.Chords); k++ {
		now, next := &s.Chords[k], &s.Chords[k+1]
		if !now.Reading.Quality().IsSeventh() || now.Reading.Root() == next.Reading.Root() && next.Reading.Quality().IsSeventh() {
			continue
		}
		seventh := now.Reading.Member(3)
		for v := range now.Pitches {
			if now.Pitches[v].Class() != seventh {
				continue
			}
			moves := next.Pitches[v].Diatonic() - now.Pitches[v].Diatonic()
			dominants := isDominant(now.Reading) && isDominant(next.Reading)
			if moves != -1 && moves != 0 && !dominants {
				left = append(left, k)
			}
		}
	}
	return left
}

// behindAll is how far a way is behind the likeliest through the phrase, by the model alone.
func behindAll(p *Progression, s *Solution) float64 {
	var notes []tune.Note
	var measures = theory.TimeSignature{Beats: 4, BeatType: 4}
	for i := range p.Chords {
		at := theory.Whole(int64(i % 4))
		notes = append(notes, tune.Note{Pitch: *p.Chords[i].Fixed[0], Strength: measures.Strength(at)})
	}
	w := tune.Default(tune.Melody).Weigh(notes, p.Chords[0].Reading.Key, func(note int, r harmony.Reading) bool {
		if note == 0 && len(p.Chords[0].Choices) == 1 && p.Chords[0].Choices[0].Reading != r {
			return false
		}
		return r.MemberOf(notes[note].Pitch.Class()) >= 0 && Applied.has(r) &&
			(note < len(notes)-1 || r.Inversion() == 0 && (r.Quality() == harmony.MajorTriad || r.Quality() == harmony.MinorTriad))
	}, nil)
	sum := 0.0
	for _, o := range w.Options()[0] {
		if o.Reading == modeled(s.Chords[0].Reading) {
			sum += o.Behind
		}
	}
	for k := 1; k < len(notes); k++ {
		sum += min(w.Behind(k, modeled(s.Chords[k-1].Reading), modeled(s.Chords[k].Reading)), outOfReach)
	}
	return sum
}

// The tune that harmonizations were once looked at as music with: five ways, in none of
// which the voices cost more than one and a half times those of the first, with the sixth degree,
// both predominants and the diminished triad among them (common practice, no source). How far the
// chords may be behind says TestFurtherHarmonizationsAreGood.
func TestFiveWaysThroughOneTune(t *testing.T) {
	p, err := ReadProgression("C: soprano E4 F4 G4 A4 G4 F4 E4 D4 C4")
	if err != nil {
		t.Fatal(err)
	}
	harmonize(t, p, Applied)
	pose := func() *Problem { return p.Problem(Chorale()) }
	first, err := Solve(pose())
	if err != nil {
		t.Fatal(err)
	}
	found, err := p.Contrasting(context.Background(), tune.Default, Applied, first, pose, 4)
	if err != nil || len(found) < 4 {
		t.Fatalf("%d others, %v", len(found), err)
	}
	all := fmt.Sprint(numeralsOf(first))
	voices := func(s *Solution) float64 { return float64(s.Cost) - behindAll(p, s)*float64(behindCosts) }
	for _, way := range found {
		all += fmt.Sprint(numeralsOf(way.Solution))
		if of := voices(first); voices(way.Solution) > 1.5*of {
			t.Errorf("the voices of %v cost %.0f, of the first %.0f", numeralsOf(way.Solution), voices(way.Solution), of)
		}
	}
	for _, want := range []string{"vi", "ii", "viio6", "IV"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %s in %s", want, all)
		}
	}
}
