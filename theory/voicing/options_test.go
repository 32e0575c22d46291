package voicing

import (
	"flag"
	"fmt"
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

var optionChanges = flag.Int("option-changes", 16, "changes of which every option is compared with the rules")

// TestOptionsAreAllThereIs goes through every row of notes within the ranges, from
// the top down and no wider than the style allows, that are those of the next chord
// over its bass note, in four textures under four rule sets. Each is among the options,
// as grave as the rules make it and in the group of how its voices move, and nothing else
// is.
func TestOptionsAreAllThereIs(t *testing.T) {
	count := map[partwriting.Severity]int{}
	eachChange(t, 61, *optionChanges, func(q *Question) {
		rows := everyRow(q, nil)
		found := map[string]*Option{}
		all := Options(*q)
		for i := range all {
			found[fmt.Sprint(all[i].Pitches)] = &all[i]
			if i > 0 && (all[i].Way < all[i-1].Way || all[i].Way == all[i-1].Way && all[i].kind() < all[i-1].kind()) {
				t.Errorf("%v to %v: %v stands after %v", q.From, q.To, all[i].Pitches, all[i-1].Pitches)
			}
		}
		if len(rows) != len(all) || len(rows) != len(found) {
			t.Errorf("%v to %v: %d options, %d rows of notes", q.From, q.To, len(all), len(rows))
		}
		for _, row := range rows {
			worst := worstOf(q, row)
			count[worst]++
			got := found[fmt.Sprint(row)]
			switch {
			case got == nil:
				t.Errorf("%s, %s: %v to %v: %v is missing", q.Style.Name, q.RuleSet.Name, q.From, q.To, row)
			case got.Severity() != worst:
				t.Errorf("%s, %s: %v to %v: %v is %v, the rules make it %v", q.Style.Name, q.RuleSet.Name, q.From, q.To, row, got.Severity(), worst)
			case got.Way != wayByHand(q, row):
				t.Errorf("%v to %v: %v goes %v, not %v", q.From, q.To, row, wayByHand(q, row), got.Way)
			}
		}
	})
	if count[partwriting.Fault] == 0 || count[partwriting.Caution] == 0 || count[partwriting.Off] == 0 {
		t.Errorf("by severity: %v", count)
	}
	t.Logf("options of %d changes by severity: %v", *optionChanges, count)
}

// worstOf is how grave the worst is that the rules find of a change as a score of its own.
func worstOf(q *Question, row []theory.Pitch) partwriting.Severity {
	texture, analysis := q.Passage(row)
	worst := partwriting.Off
	for _, f := range partwriting.Check(texture, analysis, q.RuleSet) {
		if f.Onset == theory.Whole(1) && f.Family != partwriting.Progression && f.Family != partwriting.Spelling {
			worst = max(worst, f.Severity)
		}
	}
	return worst
}

// wayByHand names the group by what the voices do, as a teacher would.
func wayByHand(q *Question, row []theory.Pitch) Way {
	last := len(row) - 1
	held, leftCommon, ups, downs := 0, 0, 0, 0
	for v := range last {
		from, move := q.From.Pitches[v], theory.Between(q.From.Pitches[v], row[v])
		common := q.To.MemberOf(from.Class()) >= 0
		switch {
		case move == theory.Unison:
			held++
		case common:
			leftCommon++
			fallthrough
		default:
			ups, downs = ups+max(0, signOf(move.Semitones)), downs+max(0, -signOf(move.Semitones))
		}
	}
	bass := signOf(theory.Between(q.From.Pitches[last], row[last]).Semitones)
	switch {
	case held > 0 && leftCommon == 0:
		return KeepCommon
	case bass > 0 && ups == 0, bass < 0 && downs == 0:
		return AgainstBass
	case downs == 0:
		return SimilarUp
	case ups == 0:
		return SimilarDown
	}
	return MixedWays
}

func signOf(n int) int { return max(-1, min(1, n)) }

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

// Changes that have little or nothing without a fault are answered with all ways, each
// with the rule and the voices: a seventh in the bass that goes to a chord without its
// resolution, and one that rises.
func TestOptionsWhereLittleIsWithoutFault(t *testing.T) {
	for _, tt := range []struct {
		key, from, to string
		notes         []string
		style         Style
		ways          []Way
		rule          partwriting.RuleID
		clean         bool
	}{
		{"F", "V42", "vi", []string{"G4", "E4", "C4", "Bb2"}, Keyboard(), []Way{AgainstBass, SimilarUp, SimilarDown}, "seventh-unresolved", false},
		{"C", "V42/V", "ii", []string{"F#4", "D4", "A3", "C3"}, Chorale(), []Way{KeepCommon, AgainstBass, SimilarUp, MixedWays}, "seventh-unresolved", false},
	} {
		key := theory.MajorKey(theory.MustPitch(tt.key + "4").Class())
		read := func(text string) harmony.Reading {
			n, err := harmony.ParseNumeral(text, key.Mode)
			if err != nil {
				t.Fatal(err)
			}
			return harmony.Reading{Key: key, Numeral: n}
		}
		from := Chord{Reading: read(tt.from)}
		for _, name := range tt.notes {
			from.Pitches = append(from.Pitches, theory.MustPitch(name))
		}
		ways, said, clean := map[Way]int{}, false, false
		for _, o := range Options(Question{From: from, To: read(tt.to), Style: tt.style, Best: 3}) {
			ways[o.Way]++
			clean = clean || o.Severity() < partwriting.Fault
			if o.Severity() == partwriting.Fault && len(o.Findings[0].Voices) == 0 {
				t.Errorf("%v: %v, want a fault with its voices", o.Pitches, o.Findings)
			}
			said = said || slices.ContainsFunc(o.Findings, func(f partwriting.Finding) bool { return f.Rule == tt.rule })
		}
		if !said || clean != tt.clean {
			t.Errorf("%s %s: %s is named: %t, without a fault: %t", tt.from, tt.to, tt.rule, said, clean)
		}
		for _, way := range tt.ways {
			if ways[way] == 0 {
				t.Errorf("%s %s: nothing goes %v", tt.from, tt.to, way)
			}
		}
	}
}
