package musicxml

import (
	"partwright/musicxml/markup"
	"partwright/theory"
)

// frameMeasure is one measure of the frame while parts are being read.
type frameMeasure struct {
	at       markup.ID
	implicit bool
	// time and key are in force at the start in the first part, if that has the
	// measure; metreMoves is set where the metre changes inside the measure.
	time    theory.TimeSignature
	key     theory.KeySignature
	inFirst bool
	// otherTime is the metre of the first part that has one here.
	otherTime  theory.TimeSignature
	metreMoves bool
	// longest and shortest are of all parts, sounding the longest of those that
	// have more than rests.
	longest, shortest, sounding reach
	signs                       barSigns
	// times is how often a repeat that closes here is played, 0 if it does not say;
	// endings are the numbers of an ending that starts here.
	times   int
	endings []int
	// start and length in ticks, into in quarter notes.
	start, length int64
	into          theory.Fraction
}

// reach is how far one part comes in one measure.
type reach struct {
	part      int32
	known     bool
	restsOnly bool
	at        markup.ID
	length    int64
	time      theory.TimeSignature
	key       theory.KeySignature
}

func (m *frameMeasure) reached(r reach) {
	r.known = true
	if m.otherTime.IsSenzaMisura() {
		m.otherTime = r.time
	}
	if !m.longest.known || r.length > m.longest.length {
		m.longest = r
	}
	if !m.shortest.known || r.length < m.shortest.length {
		m.shortest = r
	}
	if !r.restsOnly && (!m.sounding.known || r.length > m.sounding.length) {
		m.sounding = r
	}
}

// settle decides how long the measure is: as long as the longest part. In a
// pickup a part may write a whole-measure rest, which does not count.
func (m *frameMeasure) settle() {
	if m.implicit && m.longest.restsOnly && m.sounding.length > 0 {
		m.longest = m.sounding
	}
	m.length = m.longest.length
}

// buildFrame settles the length and the onset of every measure, in ticks.
func (r *reader) buildFrame() error {
	start := int64(0)
	for i := range r.frame {
		m := &r.frame[i]
		m.settle()
		if !m.inFirst || !r.firstTimed {
			m.time = m.otherTime
		}
		if !m.inFirst {
			m.key = m.longest.key
		}
		m.start = start
		if start += m.length; start > r.longest {
			return r.tooLong(m.at)
		}
	}
	r.findPickups()
	score := r.doc.Score
	score.Measures = make([]theory.Measure, len(r.frame))
	for i := range r.frame {
		m := &r.frame[i]
		score.Measures[i] = theory.Measure{
			Index: i, Label: r.label(m.at), Time: m.time, Key: m.key, Implicit: m.implicit, Into: m.into,
			PhraseBar: m.signs.has(phraseBar),
		}
	}
	r.checkMeasures()
	return nil
}

// fraction turns ticks into quarter notes.
func (r *reader) fraction(ticks int64) theory.Fraction {
	if ticks%r.resolution == 0 {
		return theory.Whole(ticks / r.resolution)
	}
	f, _ := theory.NewFraction(ticks, r.resolution) // fails for no resolution
	return f
}

// findPickups says how far into the full measure each one begins. A measure
// that goes on where a bar line has split the one before it begins where that
// ended; a short one that opens the piece or a section ends where a full one
// would.
func (r *reader) findPickups() {
	filled := theory.Fraction{} // of the full measure, 0 where the last one is complete
	for i := range r.frame {
		m := &r.frame[i]
		full, length := m.time.Measure(), r.fraction(m.length)
		if full.Sign() == 0 || m.metreMoves || !length.Less(full) {
			filled = theory.Fraction{}
			continue
		}
		rest := full.Sub(length)
		switch {
		case filled.Sign() > 0 && r.continues(i, filled):
			m.into = filled
		case r.opens(i) && !(i+1 < len(r.frame) && r.continues(i+1, length)):
			m.into = rest
		}
		filled = m.into.Add(length)
		if !filled.Less(full) {
			filled = theory.Fraction{}
		}
	}
}

// opens reports whether a short measure may be a pickup: an implicit one, the
// first one, or one that opens a section; not the last one of all.
func (r *reader) opens(i int) bool {
	return r.frame[i].implicit || (i+1 < len(r.frame) && (i == 0 || r.frame[i-1].signs.has(phraseBar)))
}

// continues reports whether a measure completes one of which some has been
// filled: an implicit one that fits, or one that makes it exactly full behind a
// double bar line or a repeat.
func (r *reader) continues(i int, filled theory.Fraction) bool {
	m := &r.frame[i]
	sum := filled.Add(r.fraction(m.length))
	switch full := m.time.Measure(); sum.Cmp(full) {
	case -1:
		return m.implicit
	case 0:
		return m.implicit || (i > 0 && r.frame[i-1].signs.has(phraseBar))
	}
	return false
}

// checkMeasures says which measures are not as long as their metre, and where
// parts differ.
func (r *reader) checkMeasures() {
	for i := range r.frame {
		m := &r.frame[i]
		full := m.longest.time.Measure()
		length := r.fraction(m.length)
		part := noticePlace{r.sources[m.longest.part].id, i}
		over := full.Sign() > 0 && full.Less(length)
		switch {
		case !m.longest.known || m.metreMoves:
		case over:
			r.notices.add(m.longest.at, part, "measure-overfull",
				"The measure holds %s where %s has %s; all of it is read.", r.quarters(m.length), m.longest.time, quartersOf(full))
		case full.Sign() > 0 && length.Less(full) && !r.mayBeShort(i):
			r.notices.add(m.longest.at, part, "measure-underfull",
				"The measure holds %s where %s has %s; the next one follows at once.", r.quarters(m.length), m.longest.time, quartersOf(full))
		}
		if m.shortest.length < m.length && !(over && r.fraction(m.shortest.length) == full) {
			r.notices.add(m.shortest.at, noticePlace{r.sources[m.shortest.part].id, i}, "parts-differ",
				"The measure holds %s in this part and %s in others; the longest counts.", r.quarters(m.shortest.length), r.quarters(m.length))
		}
	}
}

// mayBeShort reports whether a short measure is as it should be: a pickup, a
// piece of a split measure, or the last before a final or repeat bar line, which
// makes up for a pickup.
func (r *reader) mayBeShort(i int) bool {
	m := &r.frame[i]
	if m.implicit || i == 0 || i == len(r.frame)-1 || m.into.Sign() > 0 || m.signs.has(phraseBar|endingEnd) {
		return true
	}
	return r.frame[i+1].into.Sign() > 0
}

func quartersOf(f theory.Fraction) string {
	if f == theory.Whole(1) {
		return "1 quarter"
	}
	return f.String() + " quarters"
}
