package voicing

import (
	"math/rand/v2"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// The parallel octaves of Butterfield, Integrated Music Theory, unit 10b, are
// mended by moving one note to another member of its chord.
func TestMendParallels(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 F4 A4 | G2 B3 F4 B4 | C3 C4 E4 C5")
	labels := []harmony.Label{}
	for k, n := range []harmony.Numeral{one, two, fiveSev, one} {
		labels = append(labels, harmony.Label{Onset: theory.Whole(int64(k)), Reading: reading(n)})
	}
	analysis := harmony.Assume(texture, labels)
	before := 0
	for _, f := range partwriting.Check(texture, analysis, nil) {
		if f.Severity == partwriting.Fault {
			before++
		}
	}
	if before == 0 {
		t.Fatal("the example has no fault")
	}
	m := mended(texture, analysis, MendOptions{})
	if len(m.Left) != 0 {
		t.Errorf("%d faults are left, the first: %s", len(m.Left), m.Left[0].Rule)
	}
	if len(m.Edits) == 0 || len(m.Edits) > 4 {
		t.Errorf("%d notes were changed", len(m.Edits))
	}
	for _, e := range m.Edits {
		t.Logf("voice %d note %d: %v to %v", e.Note.Voice, e.Note.Note, texture.Voices[e.Note.Voice].Notes[e.Note.Note].Pitch, e.To)
	}
}

func TestMendKeepsGivenVoices(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 D4 F4")
	m := mended(texture, nil, MendOptions{Keep: []int{0, 3}})
	for _, e := range m.Edits {
		if e.Note.Voice == 0 || e.Note.Voice == 3 {
			t.Errorf("a given voice was changed: %+v", e)
		}
	}
	if len(m.Left) != 0 {
		t.Errorf("%d faults are left", len(m.Left))
	}
}

func TestMendLeavesCleanMusicAlone(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5")
	if m := mended(texture, nil, MendOptions{}); len(m.Edits) != 0 {
		t.Errorf("%d notes were changed: %+v", len(m.Edits), m.Edits)
	}
}

// Alternatives are in order of size, every one mends, and no two sound alike.
func TestMendingAlternatives(t *testing.T) {
	// Hutchinson, Music Theory for the 21st-Century Classroom, fig. 26.3.1, first
	// case: parallel fifths between tenor and bass.
	texture := theorytest.Chords("C: V G3 D4 G4 B4 | vi A3 E4 E4 C5")
	analysis := harmony.Assume(texture, []harmony.Label{{Reading: reading(five)}, {Onset: theory.Whole(1), Reading: reading(six)}})
	all := MendingAlternatives(texture, analysis, MendOptions{}, 4)
	if len(all) < 3 { // a fourth would take the root from a bass
		t.Fatalf("%d mendings, want 3 at least", len(all))
	}
	for i, m := range all {
		if len(m.Left) != 0 || len(m.Edits) == 0 {
			t.Errorf("mending %d leaves %d faults with %d edits", i+1, len(m.Left), len(m.Edits))
		}
		for j := range i {
			if soundAlike(all[j].Texture, m.Texture) {
				t.Errorf("mendings %d and %d sound alike", j+1, i+1)
			}
		}
		if i > 0 && len(m.Edits) < len(all[i-1].Edits) {
			t.Errorf("mending %d (%d notes) is smaller than the one before (%d)", i+1, len(m.Edits), len(all[i-1].Edits))
		}
		t.Log(m.Edits, m.Distance)
	}
	if first := mended(texture, analysis, MendOptions{}); len(first.Edits) != len(all[0].Edits) || first.Distance != all[0].Distance {
		t.Errorf("one mending alone is %v, the first of four %v", first.Edits, all[0].Edits)
	}
}

// With Only the other faults stay.
func TestMendOnlyOneFinding(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 F4 A4 | G3 D4 F4 B4 | E3 B3 G4 B4")
	var faults []partwriting.Finding
	for _, f := range partwriting.Check(texture, nil, nil) {
		if f.Severity == partwriting.Fault {
			faults = append(faults, f)
		}
	}
	if len(faults) < 2 {
		t.Fatalf("%d faults, want two and more", len(faults))
	}
	m := mended(texture, nil, MendOptions{Only: faults[:1]})
	if m.Before != 1 || len(m.Left) != 0 || len(m.Edits) != 1 {
		t.Errorf("%d findings to mend, %d left, edits %v; want one mended by one note", m.Before, len(m.Left), m.Edits)
	}
	for _, f := range partwriting.Check(m.Texture, nil, nil) {
		if f.Severity == partwriting.Fault && keyOf(&f) == keyOf(&faults[0]) {
			t.Errorf("%s is still there", f.Rule)
		}
	}
}

// TestMendingOneWrongNote puts one wrong note into phrases that have no fault, and
// mends all that comes of it. Since putting it back would do, no mending may need
// more than one note or leave a fault, and hardly any moves it farther than that, for a
// smoother line; and what is given stays.
func TestMendingOneWrongNote(t *testing.T) {
	random := rand.New(rand.NewPCG(43, 47))
	spoiled, farther, wanted := 0, 0, 120
	if testing.Short() {
		wanted = 10
	}
	for spoiled < wanted {
		p := randomProblem(t, random)
		p.Style = Chorale()
		for k := range p.Slots {
			p.Slots[k].Fixed, p.Slots[k].PhraseEnd = nil, false
		}
		s := solveIfPossible(t, p)
		if s == nil || len(s.Chords) < 3 {
			continue
		}
		right := s.Texture(&p.Style, Layout{})
		if len(faultsOf(right, s.Harmony(right, Layout{}))) > 0 {
			continue // the progression itself is at fault
		}
		v, k := random.IntN(4), random.IntN(len(s.Chords))
		c := s.Chords[k]
		was := c.Pitches[v]
		class := c.Reading.Member(random.IntN(c.Reading.Size()))
		wrong := theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: was.Octave + int8(random.IntN(3)) - 1}
		if moved := abs(wrong.Semitones() - was.Semitones()); moved == 0 || moved > 12 {
			continue
		}
		texture := partwriting.Apply(right, partwriting.Fix{Edits: []partwriting.Edit{{Note: partwriting.NoteRef{Voice: v, Note: k}, To: wrong}}})
		analysis := s.Harmony(texture, Layout{})
		if len(faultsOf(texture, analysis)) == 0 {
			continue
		}
		spoiled++
		m := mended(texture, analysis, MendOptions{})
		if m.Untouched == BlockChords {
			spoiled-- // which are left as they are, a wrong note among them
			continue
		}
		if len(m.Left) > 0 || len(m.Edits) != 1 {
			t.Errorf("%s: %v for %v in voice %d, chord %d: %d faults left, edits %v", describe(p), wrong, was, v, k+1, len(m.Left), m.Edits)
		} else if m.Distance > abs(wrong.Semitones()-was.Semitones()) {
			farther++
		}
		if spoiled%30 > 0 {
			continue
		}
		kept := mended(texture, analysis, MendOptions{Keep: []int{v}})
		for _, e := range kept.Edits {
			if e.Note.Voice == v {
				t.Errorf("%s: voice %d is given and was changed", describe(p), v)
			}
		}
	}
	if farther*20 > spoiled {
		t.Errorf("%d of %d mendings move farther than putting the note back", farther, spoiled)
	}
}

func faultsOf(t *theory.Texture, a *harmony.Analysis) []partwriting.Finding {
	var out []partwriting.Finding
	for _, f := range partwriting.Check(t, a, nil) {
		if f.Severity == partwriting.Fault {
			out = append(out, f)
		}
	}
	return out
}

// What turned out not to be needed is taken back: here an alto note that was
// moved besides the tenor's, which alone mends the fifths.
func TestNeedlessChangesAreTakenBack(t *testing.T) {
	texture := theorytest.Chords("C: V G3 D4 G4 B4 | vi A3 E4 E4 C5")
	analysis := harmony.Assume(texture, []harmony.Label{{Reading: reading(five)}, {Onset: theory.Whole(1), Reading: reading(six)}})
	m := newMender(texture, analysis, MendOptions{Severity: partwriting.Fault, MaxNotes: 3})
	needed := partwriting.Edit{Note: partwriting.NoteRef{Voice: 2, Note: 1}, To: theory.MustPitch("C4")}
	needless := partwriting.Edit{Note: partwriting.NoteRef{Voice: 1, Note: 1}, To: theory.MustPitch("C4")}
	d := &draft{given: map[faultKey]bool{}}
	d.texture = partwriting.Apply(texture, partwriting.Fix{Edits: []partwriting.Edit{needed, needless}})
	d.reading = m.read(d.texture, analysis.Again(d.texture))
	if len(m.left(d)) > 0 {
		t.Fatalf("the two changes leave %v", m.left(d))
	}
	m.takeBack(d)
	if edits := m.edits(d); len(edits) != 1 || edits[0] != needed {
		t.Errorf("%v stay, want the tenor's alone", edits)
	}
}
