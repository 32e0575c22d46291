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

func reading(n harmony.Numeral) harmony.Reading { return harmony.Reading{Key: cMajor, Numeral: n} }

func chord(n harmony.Numeral, pitches ...string) Chord {
	c := Chord{Reading: reading(n)}
	for _, p := range pitches {
		c.Pitches = append(c.Pitches, theory.MustPitch(p))
	}
	return c
}

// Hutchinson, Music Theory for the 21st-Century Classroom, fig. 26.7.2 (roots a
// fifth apart: keep the common tone, move the others by step) and fig. 26.7.3
// (roots a second apart: all upper voices against the bass).
func TestFirstChoicesOfTheTextbook(t *testing.T) {
	cases := []struct {
		from Chord
		to   harmony.Numeral
		way  Way
		want string
		why  string
	}{
		{chord(one, "E5", "G4", "C4", "C3"), five, KeepCommon, "[D5 G4 B3 G3]", "G is kept, E and C step down"},
		{chord(one, "C5", "G4", "E4", "C3"), two, AgainstBass, "[A4 F4 D4 D3]", "nothing is common: against the rising bass"},
	}
	for _, c := range cases {
		var best *Option
		for _, o := range Options(Question{From: c.from, To: reading(c.to), Style: Chorale(), Best: 1}) {
			if o.Way == c.way && fmt.Sprint(o.Pitches) == c.want {
				best = &o
			}
		}
		if best == nil {
			t.Errorf("%s: %s is not the first of its group", c.why, c.want)
			for _, o := range Options(Question{From: c.from, To: reading(c.to), Style: Chorale(), Best: 3}) {
				t.Logf("  %v %d %v", o.Way, o.Cost, o.Pitches)
			}
		}
	}
}

func TestOptionsTellWhatTheyOpen(t *testing.T) {
	all := Options(Question{From: chord(four, "F4", "C4", "A3", "F3"), To: reading(five), Style: Chorale(), Best: 2, Onward: []harmony.Reading{reading(one), reading(six)}})
	if len(all) == 0 {
		t.Fatal("no option")
	}
	for _, o := range all {
		if len(o.Onward) != 2 {
			t.Fatalf("%v: %d onward counts, want 2", o.Pitches, len(o.Onward))
		}
		for i, next := range []harmony.Numeral{one, six} {
			count := 0
			p := &Problem{Style: Chorale(), Slots: []Slot{Given(reading(five)), Given(reading(next))}}
			for v := range o.Pitches {
				p.Slots[0].Fixed = append(p.Slots[0].Fixed, &o.Pitches[v])
			}
			if o.Severity() < partwriting.Fault {
				count = len(enumerate(p).all)
			} else {
				count = o.Onward[i] // the solver does not begin with it
			}
			if count != o.Onward[i] {
				t.Errorf("%v: %d ways on to %v, counted one by one %d", o.Pitches, o.Onward[i], next, count)
			}
		}
	}
}

// TestOptionsAreAllThereIs goes through every row of notes within the ranges, from
// the top down and no wider than the style allows, that are those of the next chord
// over its bass note. Each is among the options, and as grave as the rules make it.
func TestOptionsAreAllThereIs(t *testing.T) {
	random := rand.New(rand.NewPCG(61, 67))
	compared, faulty, clean := 0, 0, 0
	for changes := 0; changes < 12; {
		p := randomProblem(t, random)
		s := solveIfPossible(t, p)
		if s == nil || len(s.Chords) < 2 {
			continue
		}
		changes++
		q := Question{From: s.Chords[0], To: s.Chords[1].Reading, Style: p.Style}
		found := map[string]partwriting.Severity{}
		for _, o := range Options(q) {
			found[fmt.Sprint(o.Pitches)] = o.Severity()
		}
		rows := everyRow(&q, nil)
		if len(rows) != len(found) {
			t.Errorf("%v to %v: %d options, %d rows of notes", q.From, q.To, len(found), len(rows))
		}
		for _, row := range rows {
			texture, analysis := q.Passage(row)
			worst := partwriting.Off
			for _, f := range partwriting.Check(texture, analysis, q.Style.RuleSet()) {
				if f.Onset == theory.Whole(1) && f.Family != partwriting.Progression && f.Family != partwriting.Spelling {
					worst = max(worst, f.Severity)
				}
			}
			got, ok := found[fmt.Sprint(row)]
			if !ok || got != worst {
				t.Errorf("%v to %v: %v is %v, the rules make it %v (listed: %t)", q.From, q.To, row, got, worst, ok)
			}
			compared++
			switch worst {
			case partwriting.Fault:
				faulty++
			case partwriting.Off:
				clean++
			}
		}
	}
	if faulty == 0 || clean == 0 {
		t.Errorf("%d options with faults, %d without any finding", faulty, clean)
	}
	t.Logf("%d options of 12 changes, %d with faults, %d without any finding", compared, faulty, clean)
}

func everyRow(q *Question, above []theory.Pitch) (rows [][]theory.Pitch) {
	v, last := len(above), len(q.Style.Voices)-1
	if v > last {
		return [][]theory.Pitch{slices.Clone(above)}
	}
	r := q.Style.Voices[v]
	for semitones := r.Low.Semitones(); semitones <= r.High.Semitones(); semitones++ {
		for member := range q.To.Size() {
			class := q.To.Member(member)
			for octave := r.Low.Octave - 1; octave <= r.High.Octave+1; octave++ {
				p := theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: octave}
				if p.Semitones() != semitones || v == last && class != q.To.Bass() {
					continue
				}
				if v > 0 {
					gap := above[v-1].Semitones() - semitones
					if gap < 0 || v < last && q.Style.MaxSpan > 0 && above[0].Semitones()-semitones > q.Style.MaxSpan {
						continue
					}
				}
				rows = append(rows, everyRow(q, append(above, p))...)
			}
		}
	}
	return rows
}

// Where every continuation breaks a rule, they are listed with the rule, the voices
// and the three ways: a seventh in the bass that goes to a chord without its
// resolution.
func TestOptionsWhereNoneIsWithoutFault(t *testing.T) {
	f := theory.MajorKey(theory.MustPitch("F4").Class())
	read := func(text string) harmony.Reading {
		n, err := harmony.ParseNumeral(text, f.Mode)
		if err != nil {
			t.Fatal(err)
		}
		return harmony.Reading{Key: f, Numeral: n}
	}
	from := Chord{Reading: read("V42")}
	for _, name := range []string{"G4", "E4", "C4", "Bb2"} {
		from.Pitches = append(from.Pitches, theory.MustPitch(name))
	}
	ways := map[Way]int{}
	for _, o := range Options(Question{From: from, To: read("vi"), Style: Keyboard(), Best: 3}) {
		ways[o.Way]++
		if o.Severity() != partwriting.Fault || len(o.Findings[0].Voices) == 0 {
			t.Errorf("%v: %v, want a fault with its voices", o.Pitches, o.Findings)
		}
	}
	for _, way := range []Way{AgainstBass, SimilarUp, SimilarDown} {
		if ways[way] == 0 {
			t.Errorf("nothing goes %v", way)
		}
	}
}
