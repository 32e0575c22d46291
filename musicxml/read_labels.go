package musicxml

import (
	"strings"

	"partwright/musicxml/chordlabel"
	"partwright/musicxml/markup"
	"partwright/theory"
)

// harmony reads a <harmony>, which may hold several chords of one place (W3C
// MusicXML 4.0, harmony): each begins with root, numeral or function.
func (p *partReader) harmony(id markup.ID) error {
	if p.attributeIs(id, markup.NameType, "alternate") || p.isAnnotation(id) {
		return nil // another reading of what the harmony beside it says, or ours
	}
	offset, err := p.offset(id)
	if err != nil {
		return err
	}
	// Chord symbols are written for the player of their staff.
	shift := p.shifts.on(int16(smallNumber([]byte(p.childText(id, markup.NameStaff)), 1))).interval
	first := len(p.doc.Score.Chords)
	var chord *theory.GivenChord
	open := func() *theory.GivenChord {
		if full := p.countLabel(id); full != nil {
			err = full
		}
		p.doc.Score.Chords = append(p.doc.Score.Chords, theory.GivenChord{
			Onset: theory.Whole(max(p.cursor+offset, 0)), Part: int(p.index), Measure: int(p.measure), ID: int32(id),
		})
		return &p.doc.Score.Chords[len(p.doc.Score.Chords)-1]
	}
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameRoot:
			chord = open()
			chord.Root, chord.HasRoot = p.pitchClass(c, markup.NameRootStep, markup.NameRootAlter, shift)
		case markup.NameNumeral:
			chord = open()
			p.numeral(c, chord, shift)
		case markup.NameFunction:
			chord = open()
			chord.Numeral = string(p.tree.Content(c))
		case markup.NameKind:
			if chord == nil {
				chord = open()
			}
			chord.Kind, chord.Text = string(p.tree.Content(c)), p.attribute(c, markup.NameText)
		case markup.NameInversion:
			if n, ok := wholeWithin(p.tree.Content(c), 0, 9); ok && chord != nil {
				chord.Inversion = int(n)
			}
		case markup.NameBass:
			if chord != nil {
				chord.Bass, chord.HasBass = p.pitchClass(c, markup.NameBassStep, markup.NameBassAlter, shift)
			}
		case markup.NameDegree:
			if chord != nil {
				err = p.degree(c, chord)
			}
		}
		if err != nil {
			return err
		}
	}
	p.sung(id, first)
	return nil
}

// sung gives a numeral that prints nothing, the first of its element, the text of the lyric that does, which stands under
// the note behind it: some of its name is in no other element.
func (p *partReader) sung(id markup.ID, first int) {
	if first == len(p.doc.Score.Chords) {
		return
	}
	chord := &p.doc.Score.Chords[first]
	if chord.Degree == 0 || chord.Text != "" || !p.attributeIs(id, markup.NamePrintObject, "no") {
		return
	}
	note := p.elements[id].Next
	if note == markup.None || p.elements[note].Name != markup.NameNote {
		return
	}
	for lyric := range named(p.tree, note, markup.NameLyric) {
		if p.isNumeral(lyric) {
			chord.Text = p.childText(lyric, markup.NameText)
			chord.Numeral = strings.TrimRight(chord.Text, "0123456789")
		}
	}
}

// isNumeral tells whether a lyric is a numeral.
func (p *partReader) isNumeral(lyric markup.ID) bool {
	return p.attributeIs(lyric, markup.NameName, chordlabel.SungName)
}

// pitchClass reads a step and an alteration and brings them to sounding pitch.
func (p *partReader) pitchClass(id markup.ID, step, alter markup.Name, shift theory.Interval) (theory.PitchClass, bool) {
	letter := p.childText(id, step)
	if len(letter) != 1 {
		return theory.PitchClass{}, false
	}
	s, ok := theory.ParseStep(letter[0])
	if !ok {
		return theory.PitchClass{}, false
	}
	c := theory.PitchClass{Step: s}
	if a := p.tree.Child(id, alter); a != markup.None {
		n, ok := wholeWithin(p.tree.Content(a), -mostAlter, mostAlter)
		if !ok {
			p.notice(a, "chord-not-analyzed", "A chord symbol is altered by %s and is not analyzed.", excerpt(p.tree.Content(a)))
			return theory.PitchClass{}, false
		}
		c.Alter = int8(n)
	}
	return c.Transpose(shift), true
}

// numeral reads a <numeral>: the degree as a Roman numeral with the accidental in
// front, or the text that the document prints, and the key it is counted in.
func (p *partReader) numeral(id markup.ID, chord *theory.GivenChord, shift theory.Interval) {
	if root := p.tree.Child(id, markup.NameNumeralRoot); root != markup.None {
		if n, ok := wholeWithin(p.tree.Content(root), 1, 7); ok {
			chord.Degree = int(n)
			chord.Numeral = [...]string{"I", "II", "III", "IV", "V", "VI", "VII"}[n-1]
		}
		if text := p.attribute(root, markup.NameText); text != "" {
			chord.Numeral = text
		}
	}
	if alter := p.tree.Child(id, markup.NameNumeralAlter); alter != markup.None && chord.Numeral != "" {
		n, ok := wholeWithin(p.tree.Content(alter), -mostAlter, mostAlter)
		if !ok {
			p.notice(alter, "chord-not-analyzed", "A numeral is altered by %s and is not analyzed.", excerpt(p.tree.Content(alter)))
			chord.Degree = 0
		}
		chord.DegreeAlter = int(n)
		switch n {
		case 1:
			chord.Numeral = "#" + chord.Numeral
		case -1:
			chord.Numeral = "b" + chord.Numeral
		}
	}
	key := p.tree.Child(id, markup.NameNumeralKey)
	if key == markup.None {
		return
	}
	fifths := p.tree.Child(key, markup.NameNumeralFifths)
	if fifths == markup.None {
		return
	}
	n, ok := wholeWithin(p.tree.Content(fifths), -mostFifths, mostFifths)
	if !ok {
		return
	}
	sounding := soundingFifths(int(n), shift)
	chord.NumeralKey, chord.HasKey = theory.MajorKey(theory.PitchClassAtFifths(sounding)), true
	mode := p.childText(key, markup.NameNumeralMode)
	switch mode {
	case "minor", "natural minor", "melodic minor", "harmonic minor":
		chord.NumeralKey = chord.NumeralKey.Relative()
	}
	// These scales have raised degrees of their own; ours is the natural one.
	if mode == "melodic minor" && (chord.Degree == 6 || chord.Degree == 7) || mode == "harmonic minor" && chord.Degree == 7 {
		chord.DegreeAlter++
	}
}

func (p *partReader) degree(id markup.ID, chord *theory.GivenChord) error {
	value, ok := wholeWithin([]byte(p.childText(id, markup.NameDegreeValue)), 1, 99)
	alter, sane := wholeWithin([]byte(p.childText(id, markup.NameDegreeAlter)), -mostAlter, mostAlter)
	if !ok || (!sane && p.tree.Child(id, markup.NameDegreeAlter) != markup.None) {
		p.notice(id, "chord-not-analyzed", "A degree of a chord symbol is not a usable number; it is skipped.")
		return nil
	}
	chord.Degrees = append(chord.Degrees, theory.GivenDegree{
		Value: int(value), Alter: int(alter), Type: p.childText(id, markup.NameDegreeType),
	})
	return p.countLabel(id)
}

// figures reads a <figured-bass>. It stands before its note; where several do,
// each begins when the duration of the last is over (W3C MusicXML 4.0,
// figured-bass).
func (p *partReader) figures(id markup.ID) error {
	if p.isAnnotation(id) {
		return nil
	}
	f := theory.GivenFigures{
		Onset: theory.Whole(p.cursor + p.figuresAt), Part: int(p.index), Measure: int(p.measure), ID: int32(id),
	}
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameFigure:
			f.Figures = append(f.Figures, p.figure(c))
			if err := p.countLabel(c); err != nil {
				return err
			}
		case markup.NameDuration:
			ticks, err := p.ticks(c)
			if err != nil {
				return err
			}
			f.Duration = theory.Whole(ticks)
			if p.figuresAt += ticks; p.cursor+p.figuresAt > p.longest {
				return p.tooLong(c)
			}
		}
	}
	if len(f.Figures) > 0 {
		p.doc.Score.Figures = append(p.doc.Score.Figures, f)
	}
	return nil
}

func (p *partReader) figure(id markup.ID) theory.Figure {
	f := theory.Figure{Prefix: p.childText(id, markup.NamePrefix), Suffix: p.childText(id, markup.NameSuffix)}
	if number := p.tree.Child(id, markup.NameFigureNumber); number != markup.None {
		if content := p.tree.Content(number); len(content) > 0 {
			n, ok := wholeWithin(content, 0, 99)
			if !ok || n == 0 {
				p.notice(number, "figure-not-analyzed", "The figure %q is no number of thoroughbass and is not analyzed.", excerpt(content))
			}
			f.Number = int(n)
		}
	}
	if extend := p.tree.Child(id, markup.NameExtend); extend != markup.None {
		kind := p.attribute(extend, markup.NameType)
		f.Extends = kind == "continue" || kind == "stop" || (kind == "" && f.Number == 0)
	}
	return f
}
