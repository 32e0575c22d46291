package musicxml

import (
	"cmp"
	"partwright/musicxml/markup"
	"partwright/theory"
)

// partReader reads one part, measure after measure.
type partReader struct {
	*reader
	index  int32
	part   *theory.Part
	layers layerIndex
	// unit is the length of a division in ticks.
	unit   int64
	shifts staffShifts
	clefs  clefs
	// time and signature are in force, on the first staff where they differ.
	time      theory.TimeSignature
	signature theory.KeySignature

	// Of the measure being read: its place in the frame, where its notes begin,
	// the onset of what comes next and the furthest it has been, and the onset
	// that a chord note shares with a note, or with a rest.
	measure          int32
	firstNote        int
	cursor, furthest int64
	chordOnset       int64
	chordOpen        bool
	chordRest        bool
	// figuresAt is how far the figures before the next note have come.
	figuresAt int64
	// before is the measure read last and beforeThat the one before it, for bar
	// lines that close them.
	before, beforeThat readMeasure

	pitched, unpitched int
	highestStaff       int64
}

// readMeasure is a measure of this part that has been read.
type readMeasure struct {
	firstNote, endNote int
	length             int64
}

func (r *reader) readPart(index int) error {
	source := &r.sources[index]
	p := &partReader{reader: r, index: int32(index), part: &r.doc.Score.Parts[index], highestStaff: 1}
	p.setDivisions(source.divisions)
	for i := range source.bars {
		if err := p.readMeasure(source.bars[i]); err != nil {
			return err
		}
	}
	p.finish()
	return nil
}

// finish says what kind of part it was.
func (p *partReader) finish() {
	p.part.Staves = int(p.highestStaff)
	p.part.Kind = p.clefs.kind()
	switch {
	case p.pitched+p.unpitched == 0:
		p.part.Kind = theory.EmptyPart
	case p.pitched == 0:
		p.part.Kind = theory.PercussionPart
	}
	p.part.Layers = p.layers.names
	p.checkLayers()
	source := &p.sources[p.index]
	if p.unpitched > 0 {
		p.notices.add(source.at, noticePlace{part: p.part.ID, measure: -1}, "unpitched",
			"Part %s has %s without pitch, which are not analyzed.", p.part.ID, counted(p.unpitched, "note"))
	}
	if p.part.Kind == theory.TablaturePart {
		p.notices.add(source.at, noticePlace{part: p.part.ID, measure: -1}, "tablature",
			"Part %s is in tablature and is set aside.", p.part.ID)
	}
}

// checkLayers says which voices of the document vanish: written in every measure
// from the start, then not even as rests, while others go on.
func (p *partReader) checkLayers() {
	bars := p.sources[p.index].bars
	for i, s := range p.layers.spans {
		next := int(s.last-bars[0].index) + 1
		unbroken := s.first <= bars[0].index+1 && s.measures == s.last-s.first+1
		if !unbroken || s.measures < 2 || next >= len(bars) || bars[next].index != s.last+1 {
			continue
		}
		p.notices.add(bars[next].measure, noticePlace{p.part.ID, int(s.last) + 1}, "voice-vanishes",
			"Voice %s is written in every measure before this one and in none from here on, not even with rests.", excerpt([]byte(p.layers.names[i])))
	}
}

func (p *partReader) readMeasure(b bar) error {
	p.measure, p.firstNote = b.index, len(p.doc.Score.Notes)
	p.cursor, p.furthest, p.chordOpen, p.figuresAt = 0, 0, false, 0
	frame := &p.frame[b.index]
	if p.attributeIs(b.measure, markup.NameImplicit, "yes") {
		frame.implicit = true
	}
	if p.index == 0 {
		// What the measure's own attributes say replaces this.
		frame.time, frame.key, frame.inFirst = p.time, p.signature, true
	}
	fermatas := barFermatas(0)
	for c := p.elements[b.holder].First; c != markup.None; c = p.elements[c].Next {
		p.tree.Work.Step(2)
		var err error
		switch p.elements[c].Name {
		case markup.NameNote:
			err = p.note(c)
		case markup.NameBackup:
			err = p.backup(c)
		case markup.NameForward:
			err = p.forward(c)
		case markup.NameAttributes:
			err = p.attributes(c)
		case markup.NameBarline:
			fermatas |= p.barline(c)
			err = p.barlineLeaps(c)
		case markup.NameDirection:
			err = p.leapsOf(c)
			if err == nil {
				err = cmp.Or(p.acceptedText(c), p.tempo(c))
			}
		case markup.NameSound:
			err = cmp.Or(p.sound(c), p.soundTempo(c))
		case markup.NameHarmony:
			err = p.harmony(c)
		case markup.NameFiguredBass:
			err = p.figures(c)
		}
		if err != nil {
			return err
		}
	}
	if err := p.closeMeasure(b); err != nil {
		return err
	}
	if fermatas&leftFermata != 0 {
		p.holdEnd(p.beforeThat)
	}
	if fermatas&rightFermata != 0 {
		p.holdEnd(p.before)
	}
	return nil
}

// closeMeasure tells the frame how far this part came.
func (p *partReader) closeMeasure(b bar) error {
	notes := p.doc.Score.Notes[p.firstNote:]
	restsOnly := true
	for i := range notes {
		if !notes[i].Flags.Has(theory.Rest) {
			restsOnly = false
			break
		}
	}
	p.frame[b.index].reached(reach{
		part: p.index, at: b.measure, length: p.furthest, restsOnly: restsOnly, time: p.time, key: p.signature,
	})
	p.beforeThat, p.before = p.before, readMeasure{p.firstNote, len(p.doc.Score.Notes), p.furthest}
	if p.index == 0 {
		return p.firstPartTicks(b.measure, p.furthest)
	}
	return nil
}

// advance moves the cursor on by a duration.
func (p *partReader) advance(id markup.ID, ticks int64) error {
	p.cursor += ticks
	if p.cursor > p.furthest {
		p.furthest = p.cursor
	}
	if p.cursor > p.longest {
		return p.tooLong(id)
	}
	return nil
}

func (p *partReader) backup(id markup.ID) error {
	p.chordOpen, p.figuresAt = false, 0
	ticks, err := p.childTicks(id)
	if err != nil {
		return err
	}
	if ticks > p.cursor {
		p.notice(id, "backup-before-measure", "A backup leads to before the start of the measure; the start is taken.")
		ticks = p.cursor
	}
	p.cursor -= ticks
	return nil
}

func (p *partReader) forward(id markup.ID) error {
	p.chordOpen, p.figuresAt = false, 0
	ticks, err := p.childTicks(id)
	if err != nil {
		return err
	}
	return p.advance(id, ticks)
}

// childTicks is the duration that backup and forward must have.
func (p *partReader) childTicks(id markup.ID) (int64, error) {
	d := p.tree.Child(id, markup.NameDuration)
	if d == markup.None {
		p.notice(id, "duration-missing", "<%s> has no duration; it is skipped.", p.tree.NameOf(id))
		return 0, nil
	}
	return p.ticks(d)
}

// notice adds a notice about an element of the measure being read.
func (p *partReader) notice(id markup.ID, code, format string, args ...any) {
	p.notices.add(id, noticePlace{p.part.ID, int(p.measure)}, code, format, args...)
}
