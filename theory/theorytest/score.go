package theorytest

import (
	"fmt"
	"slices"
	"strings"

	"partwright/theory"
)

// Score reads a score as a document would write it, one layer of one staff a
// line:
//
//	theorytest.Score(
//		"Choir/1/1: C5*2 B4 A4 | B4*4",
//		"Choir/1/2: G4 F4 G4 - | r*2 G4*2",
//		"Choir/2/5: C4+E4~ C4+E4 ...")
//
// In front stand the part's name, the staff and the layer's label, "/1/1" may be
// left out. A note lasts a quarter or as many quarters as * says (1/2, 3/2, 4);
// + joins the notes of a chord; ~ starts a tie; r is a rest, h a hidden rest and
// - leaves the time open. A note in [brackets] is a grace note, one with ' has a
// fermata, and ^ or v puts a note on the staff above or below; after the
// duration these signs go for the whole chord. Bar lines are |; measures are as
// long as what is in them. Parts are in order of appearance.
// Score panics on anything else: it is for tests.
func Score(lines ...string) *theory.Score {
	s := &theory.Score{}
	w := scoreWriter{score: s}
	for _, text := range lines {
		w.line(text)
	}
	w.frame()
	w.write()
	return s
}

type scoreWriter struct {
	score  *theory.Score
	layers []writtenLayer
}

type writtenLayer struct {
	part, layer, staff int
	measures           [][]theory.Note // onsets from the measure's start
	lengths            []theory.Fraction
}

func (w *scoreWriter) line(text string) {
	head, body, ok := strings.Cut(text, ":")
	if !ok {
		panic(fmt.Sprintf("theorytest.Score: no colon in %q", text))
	}
	where := strings.Split(strings.TrimSpace(head), "/")
	where = append(where, []string{"1", "1"}[len(where)-1:]...)
	l := writtenLayer{part: w.part(where[0])}
	if _, err := fmt.Sscan(where[1], &l.staff); err != nil {
		panic(fmt.Sprintf("theorytest.Score: staff in %q", text))
	}
	part := &w.score.Parts[l.part]
	part.Staves = max(part.Staves, l.staff)
	if l.layer = slices.Index(part.Layers, where[2]); l.layer < 0 {
		l.layer = len(part.Layers)
		part.Layers = append(part.Layers, where[2])
	}
	for _, measure := range strings.Split(body, "|") {
		l.measure(measure)
	}
	w.layers = append(w.layers, l)
}

func (w *scoreWriter) part(name string) int {
	for i := range w.score.Parts {
		if w.score.Parts[i].Name == name {
			return i
		}
	}
	w.score.Parts = append(w.score.Parts, theory.Part{ID: fmt.Sprintf("P%d", len(w.score.Parts)+1), Name: name})
	return len(w.score.Parts) - 1
}

func (l *writtenLayer) measure(text string) {
	var notes []theory.Note
	at := theory.Whole(0)
	for _, word := range strings.Fields(text) {
		duration := theory.Whole(1)
		heads, length, timed := strings.Cut(word, "*")
		if timed {
			plain := strings.TrimRight(length, "~'")
			d, err := theory.ParseFraction(plain)
			if err != nil {
				panic(fmt.Sprintf("theorytest.Score: duration in %q", word))
			}
			duration = d
			signs := length[len(plain):]
			heads = strings.ReplaceAll(heads, "+", signs+"+") + signs
		}
		if strings.HasPrefix(heads, "[") {
			heads, duration = strings.Trim(heads, "[]"), theory.Whole(0)
		}
		if heads != "-" {
			for i, head := range strings.Split(heads, "+") {
				n := l.note(head, word)
				n.Onset, n.Duration = at, duration
				if duration.Sign() == 0 {
					n.Flags |= theory.Grace
				}
				if i > 0 {
					n.Flags |= theory.InChord
				}
				notes = append(notes, n)
			}
		}
		at = at.Add(duration)
	}
	l.measures, l.lengths = append(l.measures, notes), append(l.lengths, at)
}

func (l *writtenLayer) note(head, word string) theory.Note {
	n := theory.Note{Part: int32(l.part), Layer: int16(l.layer), Staff: int16(l.staff)}
	for {
		switch {
		case strings.HasSuffix(head, "~"):
			n.Flags |= theory.TieStart
		case strings.HasSuffix(head, "'"):
			n.Flags |= theory.Fermata
		case strings.HasSuffix(head, "^"):
			n.Staff--
		case strings.HasSuffix(head, "v"):
			n.Staff++
		default:
			switch head {
			case "r":
				n.Flags |= theory.Rest
			case "h":
				n.Flags |= theory.Rest | theory.Hidden
			default:
				p, err := theory.ParsePitch(head)
				if err != nil {
					panic(fmt.Sprintf("theorytest.Score: %v in %q", err, word))
				}
				n.Pitch, n.Written = p, p
			}
			return n
		}
		head = head[:len(head)-1]
	}
}

// frame makes the measures, as long as the longest layer says.
func (w *scoreWriter) frame() {
	onset := theory.Whole(0)
	for m := 0; ; m++ {
		length, any := theory.Whole(0), false
		for i := range w.layers {
			if l := &w.layers[i]; m < len(l.lengths) {
				any = true
				if length.Less(l.lengths[m]) {
					length = l.lengths[m]
				}
			}
		}
		if !any {
			break
		}
		w.score.Measures = append(w.score.Measures, theory.Measure{
			Index: m, Label: fmt.Sprint(m + 1), Onset: onset, Length: length,
			Time: theory.TimeSignature{Beats: 4, BeatType: 4},
		})
		onset = onset.Add(length)
	}
}

// write puts the notes in the order of a document, part by part, and closes the
// ties.
func (w *scoreWriter) write() {
	s := w.score
	resolution := int64(1)
	for p := range s.Parts {
		for m := range s.Measures {
			for i := range w.layers {
				l := &w.layers[i]
				if l.part != p || m >= len(l.measures) {
					continue
				}
				for _, n := range l.measures[m] {
					n.Onset, n.Measure = n.Onset.Add(s.Measures[m].Onset), int32(m)
					for _, f := range []theory.Fraction{n.Onset, n.Duration} {
						resolution = leastCommonMultiple(resolution, f.Den())
					}
					s.Notes = append(s.Notes, n)
				}
			}
		}
	}
	s.Resolution = resolution
	for i := range s.Notes {
		if !s.Notes[i].Flags.Has(theory.TieStart) {
			continue
		}
		for j := range s.Notes {
			a, b := &s.Notes[i], &s.Notes[j]
			if b.Part == a.Part && b.Pitch == a.Pitch && b.Onset == a.End() && b.Sounds() {
				b.Flags |= theory.TieStop
			}
		}
	}
}

func leastCommonMultiple(a, b int64) int64 {
	x, y := a, b
	for y != 0 {
		x, y = y, x%y
	}
	return a / x * b
}
