package voicing

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// bassNote is a note of a given bass with its figures, as a text writes it.
type bassNote struct {
	harmony.FiguredNote
	pitch    theory.Pitch
	duration theory.Fraction
	key      theory.Key
	chord    ProgressionChord
}

// bass reads a bass note with its figures after a stroke: "A2/#6", "D3/#", "G2/4-3*2".
// Figures one after the other over a note share its time alike.
func (r *rowReader) bass(word string, c ProgressionChord) error {
	name, text, _ := strings.Cut(word, "/")
	pitch, err := theory.ParsePitch(name)
	if err != nil {
		return fmt.Errorf("%w; a bass line is written as notes with figures, such as F#2/6 (the word chords goes back to chords)", err)
	}
	stacks, err := ParseStacks(text)
	if err != nil {
		return fmt.Errorf("the figures of %s: %w", name, err)
	}
	n := bassNote{pitch: pitch, duration: c.Duration, key: r.key, chord: c}
	n.Bass = pitch.Class()
	each := c.Duration.Mul(theory.Frac(1, int64(len(stacks))))
	for i := range stacks {
		stacks[i].Length = each
	}
	n.Stacks = stacks
	r.basses = append(r.basses, n)
	return nil
}

// finishBass makes chords of the bass notes that were read.
func (r *rowReader) finishBass() error {
	notes := r.basses
	r.basses = nil
	if len(notes) == 0 {
		return nil
	}
	figured := make([]harmony.FiguredNote, len(notes))
	for i := range notes {
		figured[i] = notes[i].FiguredNote
	}
	chords, err := harmony.RealizeFigures(figured, func(n int) theory.KeySignature {
		return theory.KeySignature{Fifths: int8(notes[n].key.Signature())}
	})
	var wrong *harmony.FiguresError
	if errors.As(err, &wrong) {
		return &ProgressionError{notes[wrong.Note].chord.Line, fmt.Sprintf("%q: %s", notes[wrong.Note].chord.Text, wrong.Problem)}
	}
	p := r.progression
	p.Figures = append(p.Figures, written(notes, p.sounded())...)
	r.bassLine = append(r.bassLine, bassNotes(notes, chords, p.sounded())...)
	r.figured += len(chords)
	p.Layout.Under = append(p.Layout.Under, under(notes, chords, p.sounded())...)
	for i := range chords {
		at := &chords[i]
		n, own := &notes[at.Note], at.Note
		c := ProgressionChord{Line: n.chord.Line, Text: n.chord.Text, Duration: at.Length, Late: at.Late}
		if at.Below.Sign() > 0 {
			own++
			n = &notes[own]
		}
		if at.Stack == 0 {
			c.Fixed = notes[at.Note].chord.Fixed
		}
		c.Reading, c.Bass = harmony.ReadIn(n.key, at.Chord), &n.pitch
		until := len(notes)
		if i+1 < len(chords) {
			until = chords[i+1].Note
		}
		for k := at.Note; k < until; k++ {
			c.PhraseEnd = c.PhraseEnd || notes[k].chord.PhraseEnd
		}
		if last := &notes[max(until-1, own)]; last.pitch != n.pitch { // the next chord may be over the same note
			c.Moving.BassOut = &last.pitch
		}
		p.Add(c)
	}
	return nil
}

// bassNotes are the notes of a bass, the first at an onset. One that is suspended over the
// next chord is held, since texts have no ties.
func bassNotes(notes []bassNote, chords []harmony.FiguredChord, onset theory.Fraction) []theory.VoiceNote {
	suspended := map[int]bool{}
	for i := range chords {
		suspended[chords[i].Note] = suspended[chords[i].Note] || chords[i].Below.Sign() > 0
	}
	var out []theory.VoiceNote
	for i := range notes {
		n := &notes[i]
		if suspended[i] && i > 0 && n.pitch == notes[i-1].pitch {
			last := &out[len(out)-1]
			last.Duration = last.Duration.Add(n.duration)
		} else {
			out = append(out, theory.VoiceNote{Pitch: n.pitch, Onset: onset, Duration: n.duration})
		}
		onset = onset.Add(n.duration)
	}
	return out
}

// keepBass leaves the bass as it is written where nothing else is: a note over which several
// chords stand is struck once.
func (r *rowReader) keepBass() {
	if p := r.progression; r.figured > 0 && r.figured == len(p.Chords) && len(p.Layout.Rests) == 0 {
		p.Layout.Bass = r.bassLine
	}
}

// written are the figures of the notes as they stand, the first note at an onset.
func written(notes []bassNote, onset theory.Fraction) []theory.GivenFigures {
	var out []theory.GivenFigures
	for i := range notes {
		for _, s := range notes[i].Stacks {
			g := theory.GivenFigures{Onset: onset, Duration: s.Length, Figures: s.Figures}
			if s.Holds {
				g.Figures = []theory.Figure{{Extends: true}}
			}
			out = append(out, g)
			onset = onset.Add(s.Length)
		}
	}
	return out
}

// under are the notes of the bass that stand under a chord that is not theirs: held chords,
// and a suspended bass. The first one begins at an onset.
func under(notes []bassNote, chords []harmony.FiguredChord, onset theory.Fraction) []theory.VoiceNote {
	begins := map[int]theory.Fraction{}
	for i := range chords {
		begins[chords[i].Note] = chords[i].Below
		if chords[i].Below.Sign() > 0 {
			begins[chords[i].Note+1] = theory.Fraction{}
		}
	}
	var out []theory.VoiceNote
	for i := range notes {
		n := &notes[i]
		below, own := begins[i]
		switch {
		case !own:
			out = append(out, theory.VoiceNote{Pitch: n.pitch, Onset: onset, Duration: n.duration})
		case below.Sign() > 0:
			out = append(out, theory.VoiceNote{Pitch: n.pitch, Onset: onset.Add(n.duration).Sub(below), Duration: below})
		}
		onset = onset.Add(n.duration)
	}
	return out
}

// Unprepared is the first late note that no voice of the chord before can hold over, with
// the index of its chord.
func (p *Progression) Unprepared() (late Late, k int, found bool) {
	for k := range p.Chords {
		for _, l := range p.Chords[k].Late {
			if k == 0 || p.Chords[k-1].Choices == nil && p.Chords[k-1].Reading.MemberOf(l.From) < 0 {
				return l, k, true
			}
		}
	}
	return Late{}, 0, false
}

// ParseStacks reads figures that follow one another over a note, each stack written out
// ("5/4-5/3", "94-83") or row by row ("6-5/4-3"); a dash alone holds the chord before.
func ParseStacks(text string) ([]harmony.FigureStack, error) {
	if text == "-" {
		return []harmony.FigureStack{{Holds: true}}, nil
	}
	stages := strings.Split(text, "-")
	rows := strings.Split(text, "/")
	dashes := strings.Count(rows[0], "-")
	if len(rows) > 1 && dashes > 0 && !slices.ContainsFunc(rows, func(row string) bool { return strings.Count(row, "-") != dashes }) {
		stages = make([]string, dashes+1)
		for _, row := range rows {
			for i, figure := range strings.Split(row, "-") {
				stages[i] += "/" + figure
			}
		}
	}
	var out []harmony.FigureStack
	for _, stage := range stages {
		figures, err := ParseFigures(stage)
		if err != nil {
			return nil, err
		}
		if stage == "" && len(stages) > 1 {
			return nil, fmt.Errorf("%q: a figure is missing beside a dash; write 4-3, or a dash alone to hold the chord before", text)
		}
		out = append(out, harmony.FigureStack{Figures: figures})
	}
	return out, nil
}

// figureSigns are the accidentals of figures, longer ones first.
var figureSigns = []struct{ sign, word string }{
	{"##", "double-sharp"}, {"bb", "flat-flat"}, {"\u266f", "sharp"}, {"\u266d", "flat"}, {"\u266e", "natural"},
	{"#", "sharp"}, {"b", "flat"}, {"n", "natural"}, {"x", "double-sharp"},
}

// figureStrokes stand behind a figure or, the cross, before it as well: each raises it by a
// semitone (Open Music Theory v1, "Thoroughbass figures").
var figureStrokes = []struct{ sign, word string }{{"+", "plus"}, {"\\", "back-slash"}, {"|", "vertical"}}

// plainDigits brings raised and lowered digits, as figures are typed in texts, to plain ones.
var plainDigits = strings.NewReplacer(
	"⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5", "⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9",
	"₀", "0", "₁", "1", "₂", "2", "₃", "3", "₄", "4", "₅", "5", "₆", "6", "₇", "7", "₈", "8", "₉", "9",
)

// ParseFigures reads thoroughbass figures from the top down: "", "6", "65",
// "6/5", "#6", "b7", "#" for an altered third, "4+", "+4" or "6\\" for a raised figure. An
// accidental stands before its figure, so that 7# is a seventh over a raised third (Open
// Music Theory v1, "Thoroughbass figures"). Behind any other figure at the end of a row it
// is an error, since as many write 5b for a lowered fifth.
func ParseFigures(text string) ([]theory.Figure, error) {
	var out []theory.Figure
	for rest := plainDigits.Replace(text); rest != ""; {
		if rest[0] == '/' || rest[0] == ',' {
			rest = rest[1:]
			continue
		}
		f, after, err := parseFigure(rest)
		if err != nil {
			return nil, err
		}
		if err := ambiguous(&f, rest, after); err != nil {
			return nil, err
		}
		out, rest = append(out, f), after
	}
	return out, nil
}

// parseFigure reads one figure.
func parseFigure(text string) (f theory.Figure, rest string, err error) {
	rest = text
	f.Prefix, rest = cutSign(rest, figureSigns)
	if f.Prefix == "" && strings.HasPrefix(rest, "+") {
		f.Prefix, rest = "plus", rest[1:]
	} else if second, _ := cutSign(rest, figureSigns); f.Prefix != "" && second != "" && rest[0] != 'n' {
		return f, "", fmt.Errorf("%q is no accidental of a figure; use #, b, n, ## or bb", text)
	}
	switch {
	case len(rest) > 1 && rest[0] == '1' && rest[1] >= '0' && rest[1] <= '3':
		f.Number, rest = 10+int(rest[1]-'0'), rest[2:]
	case rest != "" && rest[0] >= '2' && rest[0] <= '9':
		f.Number, rest = int(rest[0]-'0'), rest[1:]
	}
	if f.Number > 0 {
		f.Suffix, rest = cutSign(rest, figureStrokes)
	}
	if f.Number == 0 && (f.Prefix == "" || f.Prefix == "plus") {
		return f, "", fmt.Errorf("%q are no figures; write them from the top, such as 6, 65, #6 or # for an altered third", text)
	}
	return f, rest, nil
}

// ambiguous is the error of an accidental behind a figure that may be meant for it or for
// the third; after is the text behind the figure. A sign that raises the third under a seven
// is in every figured bass in minor.
func ambiguous(f *theory.Figure, text, after string) error {
	sign, rest := cutSign(after, figureSigns)
	switch {
	case sign == "" || f.Number == 0 || f.Prefix != "" || f.Suffix != "":
		return nil
	case rest != "" && rest[0] != '/' && rest[0] != ',':
		return nil // it stands before the next figure
	case f.Number == 7 && sign != "flat" && sign != "flat-flat":
		return nil
	}
	figure, mark := text[:len(text)-len(after)], after[:len(after)-len(rest)]
	return fmt.Errorf("%q may be a %d that the sign alters, or a %d over an altered third; write %s%s for the one, %s/%s for the other", figure+mark, f.Number, f.Number, mark, figure, figure, mark)
}

// cutSign takes one of some signs off a text.
func cutSign(text string, signs []struct{ sign, word string }) (word, rest string) {
	for _, s := range signs {
		if after, ok := strings.CutPrefix(text, s.sign); ok {
			return s.word, after
		}
	}
	return "", text
}
