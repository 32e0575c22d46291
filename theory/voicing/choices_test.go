package voicing

import (
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// TestMelodyIsHarmonized gives the descending scale of C major, which every
// textbook harmonizes, and asks for a phrase that ends with an authentic cadence
// and obeys the syntax (Butterfield, unit 11).
func TestMelodyIsHarmonized(t *testing.T) {
	p := &Problem{Style: Chorale(), Syntax: FunctionalSyntax}
	for _, name := range []string{"C5", "B4", "A4", "G4", "F4", "E4", "D4", "C4"} {
		p.Slots = append(p.Slots, UnderMelody(theory.MustPitch(name), cMajor))
	}
	last := len(p.Slots) - 1
	p.Slots[0].Choices = Given(reading(one)).Choices
	p.Slots[last].Choices = Given(reading(one)).Choices
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	if penultimate := s.Chords[last-1].Reading; !penultimate.Numeral.IsDominant() {
		t.Errorf("%v goes to the last chord, want a dominant", penultimate)
	}
	for k := 1; k <= last; k++ {
		if c := FunctionalSyntax(s.Chords[k-1].Reading, s.Chords[k].Reading); c < 0 || c >= seventhLost {
			t.Errorf("%v to %v is no progression", s.Chords[k-1].Reading, s.Chords[k].Reading)
		}
	}
	for _, f := range partwriting.Check(s.Texture(&p.Style, Layout{}), nil, nil) {
		if f.Severity == partwriting.Fault {
			t.Errorf("%s at %v", f.Rule, f.Onset)
		}
	}
	e, err := explained(p, s)
	if err != nil {
		t.Fatal(err)
	}
	var sum Cost
	for _, c := range e.Opening {
		sum += c.Cost
	}
	for _, c := range e.Changes {
		sum += c.Cost
	}
	if sum != s.Cost {
		t.Errorf("charges sum to %d, the solution costs %d", sum, s.Cost)
	}
	for _, c := range s.Chords {
		t.Log(c.Reading, c.Pitches)
	}
}

// A free bass walks: with ii and V7 free before I, no leap of a seventh or an
// augmented interval appears, and the bass moves less than with roots only.
func TestFreeBassMovesLessThanRoots(t *testing.T) {
	numerals := []harmony.Numeral{one, four, two, fiveSev, one, six, four, fiveSev, one}
	roots := progression(Chorale(), numerals...)
	free := progression(Chorale(), numerals...)
	for k := 1; k < len(free.Slots)-1; k++ {
		free.Slots[k] = Inversions(reading(numerals[k]))
	}
	travel := func(p *Problem) int {
		s, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0
		for k := 1; k < len(s.Chords); k++ {
			sum += abs(theory.Between(s.Chords[k-1].Pitches[3], s.Chords[k].Pitches[3]).Semitones)
		}
		return sum
	}
	if a, b := travel(roots), travel(free); b >= a {
		t.Errorf("the free bass moves %d semitones, roots %d", b, a)
	}
}

// Open Music Theory v1, basso continuo in G minor: a bass with figures.
func TestFiguredBass(t *testing.T) {
	g := theory.MinorKey(theory.PitchClass{Step: theory.G})
	style := Keyboard()
	p := &Problem{Style: style}
	for _, b := range []struct {
		pitch   string
		figures []theory.Figure
		numeral string
	}{
		{"G2", nil, "g: i"},
		{"F#2", []theory.Figure{{Number: 6}}, "g: V6"},
		{"G2", nil, "g: i"},
		{"A2", []theory.Figure{{Number: 6, Prefix: "sharp"}}, "g: viio6"},
		{"Bb2", []theory.Figure{{Number: 6}}, "g: i6"},
		{"D3", []theory.Figure{{Prefix: "sharp"}}, "g: V"},
		{"G3", nil, "g: i"},
	} {
		slot, ok, err := overBass(theory.MustPitch(b.pitch), b.figures, g, &style)
		if err != nil || !ok {
			t.Fatalf("%s: %v %v", b.pitch, ok, err)
		}
		if got := slot.Choices[0].Reading.String(); got != b.numeral {
			t.Errorf("%s: %s, want %s", b.pitch, got, b.numeral)
		}
		p.Slots = append(p.Slots, slot)
	}
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range s.Chords {
		if span := theory.Between(c.Pitches[2], c.Pitches[0]); span.Semitones > 12 {
			t.Errorf("%v: the right hand spans %v", c.Pitches, span)
		}
	}
}

// Melodies whose notes would go with a dominant that falls back, or drops its
// seventh, have other chords as well: V does not go to ii or IV (Open Music Theory
// v1, the cycle of tonic, predominant, dominant), and a seventh resolves.
func TestMelodiesGoForward(t *testing.T) {
	for _, melody := range []string{
		"C: soprano E5 F5 D5 E5 D5 C5*2", "G: soprano B4 C5 A4 B4 A4 G4*2",
		"C: soprano C5 D5 F5 D5 B4 A4 B4 C5", "a: soprano C5 B4 D5 B4 A4 G#4 A4",
		"F: soprano A4 Bb4 G4 E4 G4 F4",
	} {
		p := read(t, melody)
		if err := p.End(AsGiven); err != nil {
			t.Fatal(err)
		}
		s := solved(t, p, Chorale())
		for k := 1; k < len(s.Chords); k++ {
			from, to := s.Chords[k-1].Reading, s.Chords[k].Reading
			same := from.Numeral.Degree == to.Numeral.Degree
			if same && from.Quality().IsSeventh() && !to.Quality().IsSeventh() {
				t.Errorf("%s: %v drops its seventh in %v", melody, from, to)
			}
			if from.Numeral.Degree == 5 && (to.Numeral.Degree == 2 || to.Numeral.Degree == 4) {
				t.Errorf("%s: %v falls back to %v", melody, from, to)
			}
		}
		t.Log(numeralsOf(s))
	}
}

// An ending keeps what is written on its degrees, and does not say a chord twice.
func TestEndingsKeepWhatIsWritten(t *testing.T) {
	for _, tt := range []struct {
		text, want string
		ending     Ending
		changed    int
	}{
		{"g: i iv V7 i", "i iv V7 i", Perfect, 0},
		{"g: i iv V7 I", "i iv V7 I", Perfect, 0},
		{"g: i iv V65 i", "i iv V7 i", Perfect, 1},
		{"C: I IV V I", "I IV V", Half, 2},
		{"a: i iv iv i", "i iv i", Plagal, 1},
		{"a: i VI V i", "i VI iv i", Plagal, 1},
		{"C: I ii V7 I", "I ii V7 vi", Deceptive, 1},
		{"C: I ii6 V V7", "I ii6 V", Half, 2},
		{"C: I IV V6 I", "I IV V", Half, 2},
		{"g: i iv i V7", "i iv i V", Half, 1},
		{"C: I V V7 I", "I V V7 I", Perfect, 0},
		{"C: I IV6 IV I", "I IV6 IV I", Plagal, 0},
		{"a: i iv6 V i", "i iv i", Plagal, 2},
	} {
		p, err := ReadProgression(tt.text)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.End(tt.ending); err != nil {
			t.Fatal(err)
		}
		var got []string
		total := theory.Fraction{}
		for _, c := range p.Chords {
			r := c.Reading
			if c.Choices != nil {
				r = c.Choices[0].Reading
			}
			got = append(got, r.Numeral.Text(r.Key.Mode))
			total = total.Add(c.Duration)
		}
		if strings.Join(got, " ") != tt.want || len(p.Changed) != tt.changed {
			t.Errorf("%s %v: %v (%q), want %s with %d changes", tt.text, tt.ending, got, p.Changed, tt.want, tt.changed)
		}
		if total != theory.Whole(4) {
			t.Errorf("%s %v lasts %v", tt.text, tt.ending, total)
		}
	}
}

// What an ending changes is said in the language of the reader.
func TestEndingsSayWhatTheyChange(t *testing.T) {
	p := read(t, "C: I ii6 V V7")
	if err := p.End(Half); err != nil {
		t.Fatal(err)
	}
	for language, want := range map[string][]string{
		"en": {"chord 4: C: V7 becomes C: V for a half cadence", "chord 3, C: V, is joined with the one after it"},
		"de": {"Akkord 4: aus C: V7 wird C: V für den verlangten Schluss: Halbschluss", "Akkord 3, C: V, ist mit dem nächsten zusammengefasst"},
	} {
		catalog, _ := partwriting.CatalogFor(language)
		var got []string
		for _, said := range p.Changed {
			got = append(got, catalog.Phrase(said.Phrase, said.Pairs...))
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", language, got, want)
		}
	}
}

// overBass returns a slot for a given bass note with its figures in a key. It
// reports false where the figures are no chord stacked in thirds.
func overBass(bass theory.Pitch, figures []theory.Figure, key theory.Key, style *Style) (Slot, bool, error) {
	r, ok, err := harmony.ReadFigures(bass.Class(), figures, key)
	if err != nil || !ok {
		return Slot{}, ok, err
	}
	s := Given(r)
	s.Fixed = make([]*theory.Pitch, len(style.Voices))
	s.Fixed[len(style.Voices)-1] = &bass
	return s, true, nil
}

// No note of a diatonic tune or of the melodic minor scale is without a chord, and a
// chromatic one takes an applied dominant that resolves (Hutchinson, ch. 16 and 20).
func TestMelodiesBeyondTheKey(t *testing.T) {
	for _, tt := range []struct {
		text string
		// chord is the number of a chord from 0 and to that of the one it goes to.
		chord int
		want  []string
	}{
		{"a: soprano A4 B4 C5 D5 E5 F#5 G#5 A5", 5, []string{"IV", "IV6", "ii", "ii6"}},
		{"a: soprano A5 G5 F5 E5 D5 C5 B4 A4", 0, []string{"i"}},
		{"C: soprano C5 D5 E5 F#5 G5 F5 E5 D5 C5", 3, []string{"V/V", "V6/V", "V7/V", "V65/V", "V43/V", "V42/V", "viio6/V"}},
		{"C: soprano E5 C5 C#5 D5 B4 C5", 2, []string{"V/ii", "V6/ii", "V7/ii", "V65/ii", "V43/ii", "V42/ii", "viio6/ii"}},
	} {
		p, err := ReadProgression(tt.text)
		if err != nil {
			t.Fatal(err)
		}
		s, err := Solve(p.Problem(Chorale()))
		if err != nil {
			t.Fatalf("%s: %v", tt.text, err)
		}
		n := s.Chords[tt.chord].Reading.Numeral
		if got := n.Text(s.Chords[tt.chord].Reading.Key.Mode); !slices.Contains(tt.want, got) {
			t.Errorf("%s: chord %d is %s, want one of %v", tt.text, tt.chord+1, got, tt.want)
		}
		if n.IsApplied() {
			if next := s.Chords[tt.chord+1].Reading.Numeral; next.Degree != n.Of.Degree && next.Of != n.Of {
				t.Errorf("%s: %v goes to %v", tt.text, n, next)
			}
		}
	}
}
