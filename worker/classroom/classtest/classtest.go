// Package classtest writes what a class might hand in for one exercise, with faults that
// are known: made by hand from the definitions in textbooks, not by the checker.
package classtest

import (
	"fmt"
	"strings"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/separation"
	"partwright/worker/classroom"
)

// Row is the exercise: four measures in C major over a bass that is given.
const Row = "C: I V6 I IV I6 ii6 V7*2 I vi ii6 V7 I*4"

// Solution is an answer to the exercise, from the soprano down, that the tests write their
// faults into: a chord a column, as the row has them.
var Solution = [3][]string{
	{"G4", "G4", "G4", "A4", "C5", "A4", "G4", "G4", "A4", "A4", "B4", "C5"},
	{"E4", "D4", "E4", "F4", "G4", "F4", "F4", "E4", "E4", "F4", "F4", "E4"},
	{"C4", "D4", "C4", "C4", "C4", "D4", "B3", "C4", "C4", "D4", "D4", "C4"},
}

// own is another answer, in open position, that one pupil has found alone.
var own = [3][]string{
	{"C5", "D5", "C5", "C5", "C5", "D5", "D5", "C5", "C5", "D5", "D5", "C5"},
	{"E4", "D4", "E4", "F4", "G4", "F4", "F4", "E4", "E4", "F4", "F4", "E4"},
	{"G3", "G3", "G3", "A3", "G3", "A3", "B3", "C4", "C4", "A3", "B3", "C4"},
}

// Edit gives one voice (0 the soprano, 2 the tenor, 3 the given bass) another note at a
// chord, counted from 1.
type Edit struct {
	Voice, Chord int
	To           string
}

// Edits that bring in one fault each. Definitions of parallels, crossing, spacing and
// tendency tones: Butterfield, Integrated Music Theory, units 10a and 10b.
var (
	// Tenor and bass go from C3–G3 to F3–C4, both up a fourth.
	fifths = []Edit{{2, 3, "G3"}}
	// Soprano and bass go from C3–C5 to A2–A4, both down a third. They come to C3–C5 from
	// G3–G4, which makes octaves by contrary motion too.
	octaves = []Edit{{0, 8, "C5"}}
	// F A C stands in the place of D F A, and of A C E.
	fourthDegree = []Edit{{2, 6, "C4"}}
	sixthChord   = []Edit{{1, 9, "F4"}}
	// The seventh F4 of the last dominant rises to G4.
	seventhRises = []Edit{{1, 12, "G4"}, {2, 12, "E4"}}
	// Two voices have the leading tone, and go on to the tonic together.
	twoLeadingTones = []Edit{{2, 11, "B3"}}
	// The tenor stands above the alto.
	crossing = []Edit{{2, 10, "F4"}, {1, 10, "D4"}}
	// A tenth lies between soprano and alto.
	spacing = []Edit{{0, 1, "G5"}}
)

// HandIns are thirty-one hand-ins of thirty references, p01 to p30, as scores by the name
// of their file without extension:
//
//   - p01 to p03 have no fault;
//   - p04 to p08 have parallel fifths in measure 1, beat 4; p09 to p11 parallel octaves in
//     measure 3, beat 2, and octaves by contrary motion before; p20 both;
//   - p12 to p14 write IV for ii6 in measure 2, p15 IV6 for vi in measure 3;
//   - p16 lets a seventh rise, p17 doubles the leading tone and has parallel octaves into
//     the last chord, p18 crosses voices, p19 has a gap between soprano and alto;
//   - p21 has a solution of its own with parallel fifths and octaves, p22 is a copy of it,
//     p23 one that is transposed by a whole tone;
//   - p24 is empty, p25 the exercise itself, p26 another piece, p27 lacks the last
//     measure, p28 has changed the bass;
//   - p29 has no fault (and comes late);
//   - p30 has parallel fifths and octaves, p30@2 only the octaves.
func HandIns(a *classroom.Assignment) (map[string][]byte, error) {
	document, err := musicxml.Read("model", []byte(a.Models[0].Text), musicxml.Limits{})
	if err != nil {
		return nil, err
	}
	w := &writer{model: separation.FindVoices(document.Score), title: a.Title, out: map[string][]byte{}}
	for _, name := range []string{"p01", "p02", "p03", "p29"} {
		w.write(name, Solution)
	}
	for names, edits := range map[string][]Edit{
		"p04 p05 p06 p07 p08": fifths, "p09 p10 p11 p30@2": octaves, "p12 p13 p14": fourthDegree, "p15": sixthChord,
		"p16": seventhRises, "p17": twoLeadingTones, "p18": crossing, "p19": spacing, "p20 p30": {fifths[0], octaves[0]},
		"p28": {{3, 9, "C3"}},
	} {
		for _, name := range strings.Fields(names) {
			w.write(name, Solution, edits...)
		}
	}
	for _, name := range []string{"p21", "p22"} {
		w.write(name, own, Edit{2, 4, "C4"}, Edit{0, 4, "A4"}, Edit{0, 9, "A4"})
	}
	w.transposed("p23", own, Edit{2, 4, "C4"}, Edit{0, 4, "A4"}, Edit{0, 9, "A4"})
	w.empty("p24")
	w.out["p25"] = []byte(a.Exercise.Text)
	w.another("p26")
	w.unfinished("p27")
	return w.out, w.err
}

// writer writes hand-ins over the measures and the bass of a model answer. The first error
// stays.
type writer struct {
	model *theory.Texture
	title string
	out   map[string][]byte
	err   error
}

// voices are an answer over the given bass, with edits.
func (w *writer) voices(answer [3][]string, edits []Edit) []theory.Voice {
	bass := w.model.Voices[len(w.model.Voices)-1].Notes
	all := make([]theory.Voice, len(answer)+1)
	for v := range all {
		all[v].Name = []string{"S", "A", "T", "B"}[v]
		for n := range bass {
			note := bass[n]
			if v < len(answer) {
				note.Pitch = theory.MustPitch(answer[v][n])
			}
			all[v].Notes = append(all[v].Notes, note)
		}
	}
	for _, e := range edits {
		all[e.Voice].Notes[e.Chord-1].Pitch = theory.MustPitch(e.To)
	}
	return all
}

func (w *writer) write(name string, answer [3][]string, edits ...Edit) {
	w.sheet(name, w.model.Score, w.voices(answer, edits))
}

func (w *writer) sheet(name string, score *theory.Score, voices []theory.Voice) {
	texture := theory.NewTexture(score, theory.OpenScore, "", voices)
	w.page(name, texture, sheet.Open(texture))
}

func (w *writer) page(name string, texture *theory.Texture, staves []sheet.Staff) {
	text, err := sheet.Write(&sheet.Sheet{Title: w.title, Texture: texture, Staves: staves})
	if err != nil && w.err == nil {
		w.err = fmt.Errorf("%s: %w", name, err)
	}
	w.out[name] = text
}

// transposed stands a whole tone higher, with its signature.
func (w *writer) transposed(name string, answer [3][]string, edits ...Edit) {
	const wholeTone = 2 // fifths, and semitones
	voices := w.voices(answer, edits)
	for v := range voices {
		for n := range voices[v].Notes {
			voices[v].Notes[n].Pitch = voices[v].Notes[n].Pitch.Transpose(theory.Interval{Steps: 1, Semitones: wholeTone})
		}
	}
	score := *w.model.Score
	score.Measures = append([]theory.Measure(nil), score.Measures...)
	for i := range score.Measures {
		score.Measures[i].Key.Fifths += wholeTone
	}
	score.Keys = append([]theory.KeyChange(nil), score.Keys...)
	for i := range score.Keys {
		score.Keys[i].Signature.Fifths += wholeTone
	}
	w.sheet(name, &score, voices)
}

func (w *writer) empty(name string) {
	texture := theory.NewTexture(w.model.Score, theory.OpenScore, "", w.voices(Solution, nil))
	w.page(name, texture, sheet.Exercise(sheet.Open(texture), nil))
}

// another is other music in the same measures.
func (w *writer) another(name string) {
	voices := w.voices(Solution, nil)
	for v := range voices {
		for n := range voices[v].Notes {
			// Down the scale in parallel, which keeps to nothing that was given.
			p := voices[v].Notes[n].Pitch
			p.Step = theory.Step((int(p.Step) + n*n) % 7)
			voices[v].Notes[n].Pitch = p
		}
	}
	w.sheet(name, w.model.Score, voices)
}

func (w *writer) unfinished(name string) {
	voices := w.voices(Solution, nil)
	for v := range voices[:3] {
		voices[v].Notes = voices[v].Notes[:len(voices[v].Notes)-1]
	}
	w.sheet(name, w.model.Score, voices)
}
