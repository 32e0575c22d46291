package musicxml

import (
	"testing"

	"partwright/theory"
)

// The transpositions of common instruments: written C5 sounds as given in
// W3C MusicXML 4.0, transpose, and in any table of transposing instruments
// (common practice). The spelled interval matters: a written F# on a clarinet
// in B flat is an E, not an F flat.
func TestTransposingParts(t *testing.T) {
	cases := []struct {
		name, transpose, written, want, interval string
	}{
		{"clarinet in B flat", "<diatonic>-1</diatonic><chromatic>-2</chromatic>", "F#5", "E5", "-M2"},
		{"clarinet in A", "<diatonic>-2</diatonic><chromatic>-3</chromatic>", "C5", "A4", "-m3"},
		{"horn in F", "<diatonic>-4</diatonic><chromatic>-7</chromatic>", "C5", "F4", "-P5"},
		{"alto saxophone", "<diatonic>-5</diatonic><chromatic>-9</chromatic>", "C5", "Eb4", "-M6"},
		{"tenor saxophone", "<diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change>", "C5", "Bb3", "-M9"},
		{"double bass", "<diatonic>0</diatonic><chromatic>0</chromatic><octave-change>-1</octave-change>", "C5", "C4", "-P8"},
		{"piccolo", "<chromatic>0</chromatic><octave-change>1</octave-change>", "C5", "C6", "P8"},
		{"without diatonic", "<chromatic>-2</chromatic>", "C5", "Bb4", "-M2"},
		{"a minor third up without diatonic", "<chromatic>3</chromatic>", "C5", "Eb5", "m3"},
		{"cello and bass doubled", "<diatonic>0</diatonic><chromatic>0</chromatic><double/>", "C3", "C3", "P1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, alone(attributes(divisions(1), "<transpose>"+c.transpose+"</transpose>")+music(c.written+"/4")).partwise())
			n := d.Score.Notes[0]
			if n.Pitch != theory.MustPitch(c.want) || n.Written != theory.MustPitch(c.written) {
				t.Errorf("written %s sounds %s, want %s", n.Written, n.Pitch, c.want)
			}
			if got := d.Score.Parts[0].Transposition.String(); got != c.interval {
				t.Errorf("transposition %s, want %s", got, c.interval)
			}
			if got := int(d.Counts.High); got != n.Pitch.MIDI() {
				t.Errorf("counted as %d, sounds as %d", got, n.Pitch.MIDI())
			}
		})
	}
}

// A transposition may change, and may hold for one staff only.
func TestTranspositionChanges(t *testing.T) {
	d := readText(t, alone(
		attributes(divisions(1), "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>")+music("C5/4"),
		attributes("<transpose><diatonic>-2</diatonic><chromatic>-3</chromatic></transpose>")+music("C5/4"),
		attributes(`<transpose number="2"><diatonic>0</diatonic><chromatic>0</chromatic></transpose>`)+music("s1 C5/4 s2 back/4 C4/4"),
		attributes("<transpose><diatonic>-4</diatonic><chromatic>-7</chromatic></transpose>")+music("s1 C5/4 s2 back/4 C4/4"),
	).partwise())
	if got, want := sketch(d.Score), "0+4 Bb4, 4+4 A4, 8+4 A4, 8+4 C4, 12+4 F4, 12+4 F3"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A key signature belongs to the written notes; the score holds the sounding one,
// so that it agrees with the pitches: a clarinet in B flat with two sharps plays
// in C (common practice).
func TestKeyOfTransposingPart(t *testing.T) {
	const bFlat, eFlat = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>",
		"<transpose><diatonic>-5</diatonic><chromatic>-9</chromatic></transpose>"
	const a = "<transpose><diatonic>-2</diatonic><chromatic>-3</chromatic></transpose>"
	for _, c := range []struct {
		transpose       string
		written, sounds int
	}{{bFlat, 2, 0}, {bFlat, 1, -1}, {eFlat, 3, 0}, {eFlat, -5, 4}, {a, -3, 0}, {a, 5, -4}} {
		d := readText(t, alone(attributes(divisions(1), key(c.written), c.transpose)+music("C5/4")).partwise())
		if got := int(d.Score.Measures[0].Key.Fifths); got != c.sounds {
			t.Errorf("%d fifths written sound as %d, want %d", c.written, got, c.sounds)
		}
	}
}

func TestPartKinds(t *testing.T) {
	clef := func(sign string) string { return "<clef><sign>" + sign + "</sign></clef>" }
	drum := "<note><unpitched/><duration>4</duration></note>"
	cases := []struct {
		name, why, body string
		want            theory.PartKind
	}{
		{"voice", "a G clef and pitches", attributes(divisions(1), clef("G")) + music("G4/4"), theory.PitchedPart},
		{"no clef", "a clef may be missing", common(1) + music("G4/4"), theory.PitchedPart},
		{"drums", "unpitched notes only", attributes(divisions(1)) + drum, theory.PercussionPart},
		{"drums written as pitches", "a percussion clef and no other", attributes(divisions(1), clef("percussion")) + music("G4/4"), theory.PercussionPart},
		{"timpani after drums", "a clef for pitches came too", attributes(divisions(1), clef("percussion")) + drum + attributes(clef("F")) + music("G3/4"), theory.PitchedPart},
		{"tablature", "a TAB clef and no other", attributes(divisions(1), clef("TAB")) + music("G4/4"), theory.TablaturePart},
		{"rests", "nothing but rests", common(1) + music("r/4"), theory.EmptyPart},
		{"chord symbols", "no notes at all", common(1) + "<harmony><root><root-step>G</root-step></root><kind>major</kind></harmony>" + music("fwd/4"), theory.EmptyPart},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := readText(t, alone(c.body).partwise()).Score.Parts[0].Kind; got != c.want {
				t.Errorf("%s, want %s: %s", got, c.want, c.why)
			}
		})
	}
}

// A guitar part shows its notes twice, on a staff and in tablature: only the
// staff holds voices.
func TestTablatureBesideStaff(t *testing.T) {
	d := readText(t, alone(attributes(divisions(1), "<staves>2</staves>",
		`<clef number="1"><sign>G</sign></clef><clef number="2"><sign>TAB</sign></clef>`)+
		music("v1 s1 E4/4 back/4 v2 s2 E4/4")).partwise())
	if got, want := sketch(d.Score), "0+4 E4, 0+4 E4 tablature"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if !d.Score.Notes[0].Sounds() || d.Score.Notes[1].Sounds() {
		t.Error("only the note on the staff is a voice's")
	}
	if d.Counts.Notes != 2 || d.Score.Parts[0].Kind != theory.PitchedPart {
		t.Errorf("counts %+v, kind %s", d.Counts, d.Score.Parts[0].Kind)
	}
}
