package voicing

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// verdict counts the faults and cautions of a texture whose chords are known, by
// rule.
func verdict(t *theory.Texture, a *harmony.Analysis) map[partwriting.RuleID]int {
	counts := map[partwriting.RuleID]int{}
	for _, f := range partwriting.Check(t, a, nil) {
		if f.Severity >= partwriting.Caution {
			counts[f.Rule]++
		}
	}
	return counts
}

// TestElaborationsOfRandomPhrases decorates random phrases in several textures, metres
// and densities. No rule says more than before, and the analysis, which is given
// the chords, names every added note as what it was meant to be: of a passing note
// that it is one (Hutchinson, Music Theory for the 21st-Century Classroom, chapter
// 10, has the definitions), of a suspension that the note held over is one.
func TestElaborationsOfRandomPhrases(t *testing.T) {
	random := rand.New(rand.NewPCG(29, 31))
	times := []theory.TimeSignature{{Beats: 4, BeatType: 4}, {Beats: 3, BeatType: 4}, {Beats: 2, BeatType: 2}, {Beats: 6, BeatType: 8}}
	lengths := []theory.Fraction{theory.Whole(1), theory.Whole(1), theory.Frac(3, 2), theory.Whole(2)}
	styles := []func() Style{Chorale, Keyboard, ThreeVoices, FiveVoices}
	added := map[harmony.NoteClass]int{}
	wanted := 300
	if testing.Short() {
		wanted = 50
	}
	for phrases := 0; phrases < wanted; {
		p := randomProblem(t, random)
		p.Style = styles[random.IntN(len(styles))]()
		l := Layout{Time: times[random.IntN(len(times))]}
		for k := range p.Slots {
			p.Slots[k].Fixed = nil
			l.Durations = append(l.Durations, lengths[random.IntN(len(lengths))])
		}
		s := solveIfPossible(t, p)
		if s == nil {
			continue
		}
		phrases++
		e := Elaboration{Density: []float64{0.3, 0.6, 1}[random.IntN(3)], Seed: random.Uint64()}
		florid, decorations := Elaborate(p, s, l, e)
		analysis := s.Harmony(florid, l)
		plain := s.Texture(&p.Style, l)
		before := verdict(plain, s.Harmony(plain, l))
		for rule, n := range verdict(florid, analysis) {
			if n > before[rule] {
				t.Errorf("%s, seed %d: %s %d times, %d before", describe(p), e.Seed, rule, n, before[rule])
			}
		}
		for i := range decorations {
			d := &decorations[i]
			added[d.Kind]++
			if got := classOf(florid, analysis, d); got != d.Kind {
				t.Errorf("%s, seed %d: %v in voice %d at %v is classed as %v", describe(p), e.Seed, d.Kind, d.Voice, d.Onset, got)
			}
		}
	}
	for _, kind := range usualKinds {
		if least := wanted / 50; added[kind] < least && (!testing.Short() || added[kind] == 0) { // a short run tells little
			t.Errorf("only %d notes are %v", added[kind], kind)
		}
	}
	t.Logf("%d phrases, notes added: %v", wanted, added)
}

// classOf is what the analysis makes of the note that a decoration added.
func classOf(t *theory.Texture, a *harmony.Analysis, d *Decoration) harmony.NoteClass {
	for n, note := range t.Voices[d.Voice].Notes {
		held := d.Kind == harmony.Suspension && note.Onset.Less(d.Onset) && d.Onset.Add(d.Duration) == note.End()
		if note.Pitch == d.Pitch && (note.Onset == d.Onset || held) {
			return a.Notes[d.Voice][n].Class
		}
	}
	return harmony.Unread
}

func TestElaborationIsReproducible(t *testing.T) {
	p := progression(Chorale(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for seed := range uint64(20) {
		florid, added := Elaborate(p, s, Layout{}, Elaboration{Density: 0.5, Seed: seed})
		if len(added) == 0 {
			t.Fatal("nothing was added")
		}
		again, _ := Elaborate(p, s, Layout{}, Elaboration{Density: 0.5, Seed: seed})
		if fmt.Sprint(again.Voices) != fmt.Sprint(florid.Voices) {
			t.Errorf("seed %d does not reproduce its sheet", seed)
		}
		seen[fmt.Sprint(florid.Voices)] = true
	}
	if len(seen) < 10 {
		t.Errorf("20 seeds give %d different sheets", len(seen))
	}
}

func TestDensityZeroChangesNothing(t *testing.T) {
	p := progression(Chorale(), one, four, five, one)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	plain, added := Elaborate(p, s, Layout{}, Elaboration{})
	if len(added) != 0 || fmt.Sprint(plain.Voices) != fmt.Sprint(s.Texture(&p.Style, Layout{}).Voices) {
		t.Errorf("a plain sheet has %d decorations", len(added))
	}
}

// The 4-3 suspension of Hutchinson, Music Theory for the 21st-Century Classroom,
// fig. 10.9.2: C is held over from I into V and falls to B.
func TestSuspension(t *testing.T) {
	p := progression(Chorale(), one, five)
	s := &Solution{Chords: []Chord{
		chord(one, "C5", "G4", "E4", "C3"),
		chord(five, "B4", "G4", "D4", "G3"),
	}}
	l := Layout{Durations: []theory.Fraction{theory.Whole(2), theory.Whole(2)}}
	texture, added := Elaborate(p, s, l, Elaboration{Density: 1, Kinds: []harmony.NoteClass{harmony.Suspension}, Voices: []int{0}})
	if len(added) != 1 || added[0].Pitch != theory.MustPitch("C5") || added[0].Onset != theory.Whole(2) {
		t.Fatalf("added %+v, want C5 held over at 2", added)
	}
	top := texture.Voices[0].Notes
	if len(top) != 2 || top[0].Duration != theory.Whole(3) || top[1].Onset != theory.Whole(3) {
		t.Errorf("soprano %+v, want C5 for three quarters, then B4", top)
	}
}

// The levels of a phrase grow strictly, and each keeps what the one before it has.
func TestLevelsGrow(t *testing.T) {
	p := progression(Chorale(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(5) {
		florid := Decorate(p, s, Layout{}, Elaboration{Density: 1, Seed: seed})
		if florid.Steps() < 4 {
			t.Fatalf("seed %d: only %d steps", seed, florid.Steps())
		}
		var before []Decoration
		for level := 1; level <= 4; level++ {
			_, added := florid.At(float64(level) / 4)
			if len(added) <= len(before) {
				t.Errorf("seed %d: level %d adds %d notes, the one before %d", seed, level, len(added), len(before))
			}
			for _, d := range before {
				if !slices.Contains(added, d) {
					t.Errorf("seed %d: level %d has lost %v at %v", seed, level, d.Kind, d.Onset)
				}
			}
			before = added
		}
	}
}

// Suspensions stand on the stronger beats or at a cadence, and an anticipation only in
// the top voice before the last chord of a phrase (common practice, no source; so do
// nearly all of the chorales').
func TestSuspensionsAndAnticipationsStandWhereTheyBelong(t *testing.T) {
	p := progression(Chorale(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(20) {
		_, added := Elaborate(p, s, Layout{}, Elaboration{Density: 1, Seed: seed})
		starts := map[theory.Fraction]int{}
		for _, d := range added {
			starts[d.Onset]++
			switch {
			case d.Kind == harmony.Suspension && d.Change%2 != 0 && d.Change != 13:
				t.Errorf("seed %d: a suspension on the weak chord %d", seed, d.Change)
			case d.Kind == harmony.Anticipation && (d.Voice != 0 || d.Change != 14 && d.Change != 15):
				t.Errorf("seed %d: an anticipation in voice %d before chord %d", seed, d.Voice, d.Change)
			}
		}
		for onset, n := range starts {
			if n > 2 {
				t.Errorf("seed %d: %d voices are decorated at %v", seed, n, onset)
			}
		}
	}
}

// In minor a neighbor above the fifth degree is the lowered sixth, the one below the tonic the
// leading tone, and a line up to a seventh degree that a chord has lowered takes the lowered
// sixth (Laitz, The Complete Musician, on neighbors and the melodic scale, from memory).
func TestStepsInMinor(t *testing.T) {
	for _, tt := range []struct {
		chords, from string
		up           int
		neighbor     bool
		want         string
	}{
		{"a: i i", "E4", 1, true, "F4"},
		{"a: i i", "A4", -1, true, "G#4"},
		{"a: i i", "C5", -1, true, "B4"},
		{"a: V V", "G#4", -1, true, "F#4"},
		{"a: III i", "A4", -1, true, "G4"},
		{"a: i V", "E4", 1, false, "F#4"},
		{"a: i III", "E4", 1, false, "F4"},
		{"a: i v6", "E4", 1, false, "F4"},
		{"a: i i", "A4", -1, false, "G4"},
		{"a: i iv", "E4", 1, false, "F4"},
	} {
		p, err := ReadProgression(tt.chords)
		if err != nil {
			t.Fatal(err)
		}
		var s Solution
		for i := range p.Chords {
			s.Chords = append(s.Chords, Chord{Reading: p.Chords[i].Reading})
		}
		d := decorator{solution: &s}
		step := d.stepFrom
		if tt.neighbor {
			step = d.neighborOf
		}
		if got := step(theory.MustPitch(tt.from), tt.up, 1); got != theory.MustPitch(tt.want) {
			t.Errorf("%s: from %s by %d comes %v, want %s", tt.chords, tt.from, tt.up, got, tt.want)
		}
	}
}

// A fourth between short chords is filled by a note before the beat and one on it, of the usual
// length; nothing is quicker (common practice, no source).
func TestFourthsAreFilledAcrossTheBeat(t *testing.T) {
	p := progression(Chorale(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	filled := 0
	for seed := range uint64(20) {
		_, added := Elaborate(p, s, Layout{}, Elaboration{Density: 1, Seed: seed, Kinds: []harmony.NoteClass{harmony.Passing}})
		for i := range added {
			if added[i].Duration.Less(theory.Frac(1, 2)) {
				t.Errorf("seed %d: a note of %v quarters at %v", seed, added[i].Duration, added[i].Onset)
			}
			for k := range added {
				same := added[k].Voice == added[i].Voice && added[k].Change == added[i].Change
				if same && added[i].Onset.Add(added[i].Duration) == added[k].Onset && added[k].Onset.Den() == 1 {
					filled++
				}
			}
		}
	}
	if filled == 0 {
		t.Error("no fourth is filled")
	}
}
