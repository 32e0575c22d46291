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

// A tune or a bass that is given is the task, and stays as it is; where every note of every
// voice is settled, the notes have been chosen, and all lines may be decorated. Nothing delays
// the notes of the last chord but a suspension (common practice, no source).
func TestGivenLinesAndLastChordsAreLeftAlone(t *testing.T) {
	const row = "C: I{E5,G4,C4,C3} V6{D5,G4,D4,B2} I{C5,G4,E4,C3} IV{C5,A4,F4,F3} V{B4,G4,D4,G3} I{C5,G4,E4,C3}"
	for _, tt := range []struct {
		text  string
		given int
	}{
		{"C: soprano E5*2 D5 B4 C5 A4 B4*2 G4 C5*2", 0},
		{"f: soprano Ab4 Bb4 C5 F4 G4 E4 F4*2", 0},
		{"G: bass G2 C3 A2 F#2/7-6*2 G2 C3 D3/4-3*2 G2*4", 3},
		{"C: unfigured C3 A2 F2 D3 G2*2 C3*2", 3},
		{row, -1},
		{"f: i i VI V VI iv V i V i*4", -1},
		{"C: I V6 I IV V7 vi*2 ii6 V7*2 I*4", -1},
	} {
		progression, err := ReadProgression(tt.text)
		if err != nil {
			t.Fatal(err)
		}
		p := progression.Problem(Chorale())
		s, err := Solve(p)
		if err != nil {
			t.Fatalf("%s: %v", tt.text, err)
		}
		last := len(s.Chords) - 1
		end := progression.Layout.onsets(last + 1)[last]
		decorated := map[int]bool{}
		for seed := range uint64(20) {
			_, added := Elaborate(p, s, progression.Layout, Elaboration{Density: 1, Seed: seed})
			for _, d := range added {
				decorated[d.Voice] = true
				if !d.Onset.Less(end) && d.Kind != harmony.Suspension {
					t.Errorf("%s, seed %d: %v in voice %d at %v, within the last chord", tt.text, seed, d.Kind, d.Voice, d.Onset)
				}
			}
		}
		if len(decorated) == 0 || tt.given >= 0 && decorated[tt.given] {
			t.Errorf("%s: decorated are %v", tt.text, decorated)
		}
		if tt.given < 0 && !decorated[3] {
			t.Errorf("%s: the bass is not decorated, though no line is given", tt.text)
		}
	}
}

// No two voices come from one perfect fifth or octave to another on successive beats either,
// within long chords too (Open Music Theory v1, second species: perfect intervals on
// consecutive downbeats; that a longer chord has several beats: common practice, no source).
func TestNoPerfectIntervalsFromBeatToBeat(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	for phrases := 0; phrases < 60; {
		p := randomProblem(t, random)
		p.Style = Chorale()
		var l Layout
		for k := range p.Slots {
			p.Slots[k].Fixed = nil
			l.Durations = append(l.Durations, theory.Whole(int64(1+random.IntN(3))))
		}
		s := solveIfPossible(t, p)
		if s == nil {
			continue
		}
		phrases++
		plain, _ := Elaborate(p, s, l, Elaboration{})
		florid, _ := Elaborate(p, s, l, Elaboration{Density: 1, Seed: random.Uint64()})
		before := perfectsOnBeats(plain)
		for place := range perfectsOnBeats(florid) {
			if !before[place] {
				t.Errorf("%s: perfect intervals in a row, %s", describe(p), place)
			}
		}
	}
}

// perfectsOnBeats are the pairs of voices that move from one perfect fifth, octave or unison to
// another between a quarter and the next.
func perfectsOnBeats(x *theory.Texture) map[string]bool {
	sounding := func(v int, at theory.Fraction) *theory.Pitch {
		for i := range x.Voices[v].Notes {
			if n := &x.Voices[v].Notes[i]; !at.Less(n.Onset) && at.Less(n.End()) {
				return &n.Pitch
			}
		}
		return nil
	}
	out := map[string]bool{}
	for at := theory.Whole(1); at.Less(x.Score.End()); at = at.Add(theory.Whole(1)) {
		for u := range x.Voices {
			for v := range u {
				a, b, c, d := sounding(u, at.Sub(theory.Whole(1))), sounding(v, at.Sub(theory.Whole(1))), sounding(u, at), sounding(v, at)
				if a == nil || b == nil || c == nil || d == nil || *a == *c || *b == *d {
					continue
				}
				before, after := theory.Between(*a, *b), theory.Between(*c, *d)
				if before.IsPerfectFifth() && after.IsPerfectFifth() || before.IsPerfectOctave() && after.IsPerfectOctave() {
					out[fmt.Sprintf("voices %d and %d at %v", v, u, at)] = true
				}
			}
		}
	}
	return out
}
