package separation_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

// written renders a voice as "C5*2 B4 r A4": what theorytest.Score reads, with
// silence as r.
func written(v *theory.Voice, end theory.Fraction) string {
	var words []string
	at := theory.Whole(0)
	add := func(name string, length theory.Fraction) {
		if length != theory.Whole(1) {
			name += "*" + length.String()
		}
		words = append(words, name)
	}
	for i := range v.Notes {
		n := &v.Notes[i]
		if at.Less(n.Onset) {
			add("r", n.Onset.Sub(at))
		}
		add(n.Pitch.String(), n.Duration)
		at = n.End()
	}
	if at.Less(end) {
		add("r", end.Sub(at))
	}
	return strings.Join(words, " ")
}

// voicesOf renders a texture as lines "S: C5 B4".
func voicesOf(t *theory.Texture) []string {
	lines := make([]string, 0, len(t.Voices))
	for i := range t.Voices {
		v := &t.Voices[i]
		mark := ""
		if v.Extra {
			mark = "+"
		}
		lines = append(lines, fmt.Sprintf("%s%s: %s", v.Name, mark, written(v, t.Score.End())))
	}
	return lines
}

func TestFindVoices(t *testing.T) {
	tests := []struct {
		name, why string
		score     []string
		layout    theory.Layout
		want      []string
	}{
		{
			name: "open score", why: "one part is one voice",
			score:  []string{"I: C5 B4 C5", "II: G4 G4 G4", "III: E4 D4 E4", "IV: C3 G3 C3"},
			layout: theory.OpenScore,
			want:   []string{"S: C5 B4 C5", "A: G4 G4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "open score upside down", why: "the order of parts in a file is no register",
			score:  []string{"IV: C3 G3 C3", "III: E4 D4 E4", "II: G4 G4 G4", "I: C5 B4 C5"},
			layout: theory.OpenScore,
			want:   []string{"S: C5 B4 C5", "A: G4 G4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "closed score in two parts", why: "layers 1 and 2 of a staff are the upper and the lower voice",
			score:  []string{"W/1/1: C5 B4 C5", "W/1/2: G4 G4 G4", "M/1/1: E4 D4 E4", "M/1/2: C3 G3 C3"},
			layout: theory.ClosedScore,
			want:   []string{"S: C5 B4 C5", "A: G4 G4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "closed score in one part", why: "layers 5 and 6 of the lower staff are tenor and bass",
			score:  []string{"P/1/1: C5 B4 C5", "P/1/2: G4 G4 G4", "P/2/5: E4 D4 E4", "P/2/6: C3 G3 C3"},
			layout: theory.ClosedScore,
			want:   []string{"S: C5 B4 C5", "A: G4 G4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "crossing in layers", why: "the document's layers tell which voice crosses",
			score:  []string{"W/1/1: C5 F4 C5 C5", "W/1/2: G4 A4 G4 G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 F4 C5 C5", "V2: G4 A4 G4 G4"},
		},
		{
			name: "a lesson in crossing", why: "two chords with crossed voices keep the order of the page",
			score:  []string{"I: G4 A4", "II: B4 C5", "III: D4 C4", "IV: G3 F3"},
			layout: theory.OpenScore,
			want:   []string{"S: G4 A4", "A: B4 C5", "T: D4 C4", "B: G3 F3"},
		},
		{
			name: "keyboard score", why: "chords of the right hand split by rank, the bass alone",
			score:  []string{"K/1/1: E4+G4+C5 D4+G4+B4 E4+G4+C5", "K/2/5: C3 G3 C3"},
			layout: theory.KeyboardScore,
			want:   []string{"S: C5 B4 C5", "A: G4 G4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "block chords", why: "one staff of four-note chords is four voices",
			score:  []string{"K: C3+E4+G4+C5 G3+D4+G4+B4 C3+E4+G4+C5*2"},
			layout: theory.BlockChords,
			want:   []string{"S: C5 B4 C5*2", "A: G4 G4 G4*2", "T: E4 D4 E4*2", "B: C3 G3 C3*2"},
		},
		{
			name: "three voices", why: "fewer or more than four are numbered from the top",
			score:  []string{"I: C5 B4", "II: G4 G4", "III: E4 D4"},
			layout: theory.OpenScore,
			want:   []string{"V1: C5 B4", "V2: G4 G4", "V3: E4 D4"},
		},
		{
			name: "five voices", why: "fewer or more than four are numbered from the top",
			score:  []string{"W/1/1: E5 D5", "W/1/2: C5 B4", "A: G4 G4", "M/1/1: E4 D4", "M/1/2: C3 G3"},
			layout: theory.ClosedScore,
			want:   []string{"V1: E5 D5", "V2: C5 B4", "V3: G4 G4", "V4: E4 D4", "V5: C3 G3"},
		},
		{
			name: "divisi", why: "the stable line stays the bass; the octave is an extra voice for that chord",
			score:  []string{"S: C5 B4 C5 C5", "A: G4 G4 G4 A4", "T: E4 D4 E4 F4", "B: C3 G2 C3+C2 F2"},
			layout: theory.OpenScore,
			want:   []string{"S: C5 B4 C5 C5", "A: G4 G4 G4 A4", "T: E4 D4 E4 F4", "B: C3 G2 C3 F2", "V5+: r*2 C2 r"},
		},
		{
			name: "unison with two heads", why: "each layer writes its own note",
			score:  []string{"W/1/1: C5 A4 B4", "W/1/2: G4 A4 G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 A4 B4", "V2: G4 A4 G4"},
		},
		{
			name: "unison with one head", why: "a layer that is silent for one note, without a rest, shares its neighbor's",
			score:  []string{"W/1/1: C5 A4 B4", "W/1/2: G4 - G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 A4 B4", "V2: G4 A4 G4"},
		},
		{
			name: "last unison with one head", why: "tenor and bass often end on one note",
			score:  []string{"M/1/1: E3 D3 C3*2", "M/1/2: C3 G2 -*2"},
			layout: theory.ClosedScore,
			want:   []string{"V1: E3 D3 C3*2", "V2: C3 G2 C3*2"},
		},
		{
			name: "rest", why: "a written rest is silence, whatever the neighbor does",
			score:  []string{"W/1/1: C5 A4 B4", "W/1/2: G4 r G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 A4 B4", "V2: G4 r G4"},
		},
		{
			name: "long silence", why: "a solo is not a unison",
			score:  []string{"W/1/1: C5 A4 B4 C5 C5 C5", "W/1/2: G4 - - G4 G4 G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 A4 B4 C5 C5 C5", "V2: G4 r*2 G4 G4 G4"},
		},
		{
			name: "chord that lacks a note", why: "the two voices that meet share the head",
			score:  []string{"K/1/1: E4+G4+C5 F4+A4 E4+G4+C5", "K/2/5: C3 F3 C3"},
			layout: theory.KeyboardScore,
			want:   []string{"S: C5 A4 C5", "A: G4 A4 G4", "T: E4 F4 E4", "B: C3 F3 C3"},
		},
		{
			name: "from hand to hand", why: "the left hand takes the tenor where it is near; both hands together have four voices",
			score: []string{
				"K/1/1: E4+G4+C5 G4+B4 G4+C5 F4+A4+C5 E4+G4+C5*2", "K/2/5: C3 G3+D4 C3+E4 F3 C3*2"},
			layout: theory.KeyboardScore,
			want:   []string{"S: C5 B4 C5 C5 C5*2", "A: G4 G4 G4 A4 G4*2", "T: E4 D4 E4 F4 E4*2", "B: C3 G3 C3 F3 C3*2"},
		},
		{
			name: "a top note is the top voice", why: "the top of a chord is heard as the melody, whatever moves less",
			score:  []string{"K/1/1: E4+G4+C5 E4+G4 F4+A4 E4+G4+C5", "K/2/5: C3 C3 C3 C3"},
			layout: theory.KeyboardScore,
			want:   []string{"S: C5 G4 A4 C5", "A: G4 r*2 G4", "T: E4 E4 F4 E4", "B: C3 C3 C3 C3"},
		},
		{
			name: "hymnal", why: "chords where two voices move together, layers where they do not",
			score: []string{
				"W/1/1: G4+C5 G4+B4 C5*2 | A4+C5 A4+C5 G4+B4 E4+C5", "W/1/2: -*2 A4 G4 | -*4",
				"M/1/1: C3+E4 G3+D4 F3+C4 C3+E4 | F3+F4 F3+F4 G3+D4 C3+C4"},
			layout: theory.KeyboardScore,
			want: []string{
				"S: C5 B4 C5*2 C5 C5 B4 C5", "A: G4 G4 A4 G4 A4 A4 G4 E4",
				"T: E4 D4 C4 E4 F4 F4 D4 C4", "B: C3 G3 F3 C3 F3 F3 G3 C3"},
		},
		{
			name: "melody over chords", why: "a layer of one note and a layer of two are three voices",
			score: []string{
				"K/1/1: C5*1/2 D5*1/2 C5 B4*2", "K/1/2: E4+G4 E4+A4 D4+G4*2", "K/2/5: C3 A2 G2*2"},
			layout: theory.KeyboardScore,
			want:   []string{"S: C5*1/2 D5*1/2 C5 B4*2", "A: G4 A4 G4*2", "T: E4 E4 D4*2", "B: C3 A2 G2*2"},
		},
		{
			name: "cross-staff notes", why: "a layer keeps its voice on the other staff",
			score:  []string{"K/1/1: C5 B4 C5", "K/1/2: G4 D4v G4", "K/2/5: E4 D4^ E4", "K/2/6: C3 G3 C3"},
			layout: theory.ClosedScore,
			want:   []string{"S: C5 B4 C5", "A: G4 D4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "layers numbered by staff", why: "some programs number the layers of each staff from 1",
			score:  []string{"K/1/1: C5 B4 C5", "K/1/2: G4 G4 G4", "K/2/1: E4 D4 E4", "K/2/2: C3 G3 C3"},
			layout: theory.ClosedScore,
			want:   []string{"S: C5 B4 C5", "A: G4 G4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "layers numbered anew in each measure", why: "order and nearness tell what the labels do not",
			score: []string{
				"W/1/1: C5 B4 | -*2 | -*2 | E5 D5", "W/1/2: G4 G4 | C5 C5 | -*2 | -*2",
				"W/1/3: -*2 | A4 A4 | B4 C5 | -*2", "W/1/4: -*2 | -*2 | G4 G4 | -*2"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 B4 C5 C5 B4 C5 E5 D5", "V2: G4 G4 A4 A4 G4 G4 r*2"},
		},
		{
			name: "ties", why: "a tie joins across measures and layers",
			score:  []string{"W/1/1: C5 C5*2~ | C5 B4", "W/1/2: G4~ G4~ G4 | F4 G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 C5*3 B4", "V2: G4*3 F4 G4"},
		},
		{
			name: "tie drawn in the wrong layer", why: "two voices in unison, and the one whose own layer goes on is not the tied one",
			score:  []string{"W/1/1: F4*2 F4~ | G4*2", "W/1/2: A3*2 F4 | F4 E4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: F4*2 F4 G4*2", "V2: A3*2 F4*2 E4"},
		},
		{
			name: "a solo note", why: "a note out of the lower voice's reach is no unison",
			score:  []string{"W/1/1: C5 A5 B4", "W/1/2: G4 - G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 A5 B4", "V2: G4 r G4"},
		},
		{
			name: "one head for three", why: "two voices share a head, a third one is silent",
			score:  []string{"K: E4+G4+C5 G4 E4+G4+C5"},
			layout: theory.BlockChords,
			want:   []string{"V1: C5 G4 C5", "V2: G4 G4 G4", "V3: E4 r E4"},
		},
		{
			name: "begins with less than a full chord", why: "what comes next tells which voices begin",
			score:  []string{"K/1/1: D4+B4 E4+G4+C5 F4+A4+C5", "K/2/5: G3 C3 F3"},
			layout: theory.KeyboardScore,
			want:   []string{"S: B4 C5 C5", "A: B4 G4 A4", "T: D4 E4 F4", "B: G3 C3 F3"},
		},
		{
			name: "under a held note", why: "a note below a held one is a lower voice's, though the upper one is nearer",
			score:  []string{"K/1/1: C4+G4~+A4 F4+G4 E4+G4+C5", "K/2/5: C3 C3 C3"},
			layout: theory.KeyboardScore,
			want:   []string{"S: A4 r C5", "A: G4*2 G4", "T: C4 F4 E4", "B: C3 C3 C3"},
		},
		{
			name: "chords while the melody is silent", why: "the accompanying layer keeps its two voices",
			score:  []string{"K/1/1: C5 B4 r C5", "K/1/2: E4+G4 D4+G4 F4+A4 E4+G4", "K/2/5: C3 G3 F3 C3"},
			layout: theory.KeyboardScore,
			want:   []string{"S: C5 B4 r C5", "A: G4 G4 A4 G4", "T: E4 D4 F4 E4", "B: C3 G3 F3 C3"},
		},
		{
			name: "chords while the melody's layer is empty", why: "they keep their voices, and the melody shares the upper one",
			score:  []string{"K/1/1: C5 B4 - C5", "K/1/2: E4+G4 D4+G4 F4+A4 E4+G4", "K/2/5: C3 G3 F3 C3"},
			layout: theory.KeyboardScore,
			want:   []string{"S: C5 B4 A4 C5", "A: G4 G4 A4 G4", "T: E4 D4 F4 E4", "B: C3 G3 F3 C3"},
		},
		{
			name: "a lowest note is the bass", why: "the lowest note of a chord is heard as the bass, whatever moves less",
			score:  []string{"K: C3+E4+G4 A3+G4 C3+C4+G4"},
			layout: theory.BlockChords,
			want:   []string{"V1: G4 G4 G4", "V2: E4 G4 C4", "V3: C3 A3 C3"},
		},
		{
			name: "a note under the melody", why: "the top of the right hand stays the melody though the other note is nearer",
			score:  []string{"K/1/1: C5 A4+E5 C5", "K/2/5: C3 C3 C3"},
			layout: theory.OpenScore,
			want:   []string{"V1: C5 E5 C5", "V2: C3 C3 C3", "V3+: r A4 r"},
		},
		{
			name: "a voice that mostly rests", why: "a layer of its own, there for a third of the time, is a voice",
			score:  []string{"W/1/1: C5 B4 C5 D5 C5 B4", "W/1/2: r*2 r*2 E4 D4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 B4 C5 D5 C5 B4", "V2: r*4 E4 D4"},
		},
		{
			name: "layers that cross all along", why: "the labels say which is the upper one if the pitches are close",
			score:  []string{"W/1/1: E4 G4", "W/1/2: F4 A4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: E4 G4", "V2: F4 A4"},
		},
		{
			name: "layers numbered from below", why: "the pitches say which is the upper one if they are far apart",
			score:  []string{"W/1/1: C4 D4", "W/1/2: C5 B4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 B4", "V2: C4 D4"},
		},
		{
			name: "a new label alone", why: "it goes on where the last pitch is nearest",
			score:  []string{"W/1/1: C5 B4 | r*2 | C5 C5", "W/1/2: G4 G4 | -*2 | G4 G4", "W/1/3: -*2 | F4 E4 | -*2"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 B4 r*2 C5 C5", "V2: G4 G4 F4 E4 G4 G4"},
		},
		{
			name: "an old label alone", why: "it goes on in its own lane whatever its pitch",
			score:  []string{"W/1/1: C5 B4 | -*2 | -*2", "W/1/2: G4 G4 | C5 B4 | G4 G4", "W/1/3: -*2 | -*2 | D4 D4", "W/1/0: -*2 | -*2 | -*2"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 B4 r*2 G4 G4", "V2: G4 G4 C5 B4 D4 D4"},
		},
		{
			name: "tie into a unison", why: "a tie stays in its layer",
			score:  []string{"W/1/1: D5 C5 D5", "W/1/2: C5~ C5 B4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: D5 C5 D5", "V2: C5*2 B4"},
		},
		{
			name: "parts with the wrong names", why: "nobody believes a soprano two octaves under the bass",
			score:  []string{"Soprano: C3 D3", "Alto: E4 F4", "Tenor: G4 A4", "Bass: C5 D5"},
			layout: theory.OpenScore,
			want:   []string{"S: C5 D5", "A: G4 A4", "T: E4 F4", "B: C3 D3"},
		},
		{
			name: "song with a thin accompaniment", why: "one line beside a keyboard is no open score",
			score:  []string{"Voice: C5 B4 C5", "Piano/1/1: E4 D4 E4", "Piano/2/5: C3 G3 C3"},
			layout: theory.MixedLayout,
			want:   []string{"V1: C5 B4 C5", "V2: E4 D4 E4", "V3: C3 G3 C3"},
		},
		{
			name: "song with accompaniment", why: "a singer beside a keyboard",
			score:  []string{"Voice: C5 B4 C5", "Piano/1/1: E4+G4 D4+G4 E4+G4", "Piano/2/5: C3 G3 C3"},
			layout: theory.MixedLayout,
			want:   []string{"S: C5 B4 C5", "A: G4 G4 G4", "T: E4 D4 E4", "B: C3 G3 C3"},
		},
		{
			name: "parts named as voices", why: "a tenor above the alto is still the tenor",
			score:  []string{"Tenor: A4 B4 C5", "Soprano: C5 D5 E5", "Bass: C3 D3 E3", "Alto: E4 F4 G4"},
			layout: theory.OpenScore,
			want:   []string{"S: C5 D5 E5", "A: E4 F4 G4", "T: A4 B4 C5", "B: C3 D3 E3"},
		},
		{
			name: "a note in a choir part that divides while the other rests", why: "the lower voice shows a rest, so both notes are the upper part's",
			score:  []string{"W/1/1: C5 A4+C5 B4 C5", "W/1/2: G4 r G4 G4"},
			layout: theory.ClosedScore,
			want:   []string{"V1: C5 C5 B4 C5", "V2: G4 r G4 G4", "V3+: r A4 r*2"},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			texture := separation.FindVoices(theorytest.Score(tt.score...))
			got, want := strings.Join(voicesOf(texture), "\n"), strings.Join(tt.want, "\n")
			if got != want {
				t.Errorf("%s\ngot\n%s\nwant\n%s", tt.why, got, want)
			}
			if texture.Layout != tt.layout {
				t.Errorf("layout %v, want %v", texture.Layout, tt.layout)
			}
			checkLaws(t, texture)
		})
	}
}
