package worker

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
	"partwright/worker/report"
	"partwright/worker/request"
)

// chord reads what is to stand from an onset up to the next chord.
func (t *task) chord(c *voicing.ProgressionChord, onset, next theory.Fraction, first bool) error {
	label := t.labelAt(onset)
	if label != nil && label.Problem != "" {
		return t.unsuitable(onset, fmt.Sprintf("On beat %g: %s.", t.beat(onset), label.Problem), "Write it otherwise there, or take it out.")
	}
	if label != nil && label.More {
		return t.unsuitable(onset, fmt.Sprintf("%s on beat %g asks for notes that no triad or seventh has, as a ninth or an added note.", label.Text, t.beat(onset)),
			fmt.Sprintf("Name the chord %s there, or another triad or seventh.", label.Chord.Symbol()))
	}
	if t.named {
		return t.labeled(c, label, onset)
	}
	if t.gives == request.GivesChords {
		return t.block(c, onset)
	}
	label = t.withGivenFifth(label, onset)
	top, bass := t.givenNotes(c, label, onset, next)
	if label != nil && !label.Silent {
		c.Late = label.Late
		if t.top != nil {
			t.setAgainst(c, label, onset, next)
		}
		return t.labeled(c, label, onset)
	}
	if t.gives == request.GivesBass && bass != nil {
		return t.overBass(c, bass)
	}
	if top != nil {
		t.tune().Under(c, onset, next)
	}
	return t.chosen(c, top, onset, first)
}

// withGivenFifth is a chord symbol whose chord holds the note of the given line where that
// is the fifth, which ninths and the like leave out.
func (t *task) withGivenFifth(label *harmony.Annotation, onset theory.Fraction) *harmony.Annotation {
	if label == nil || label.Source != harmony.FromSymbol {
		return label
	}
	for _, line := range []*theory.Voice{t.top, t.bass} {
		if line == nil || noteAt(line, onset) == nil {
			continue
		}
		if plain, ok := label.Chord.WithFifth(noteAt(line, onset).Pitch.Class()); ok {
			changed := *label
			changed.Chord = plain
			t.plainer = append(t.plainer, plainer{label.Chord.Symbol(), plain.Symbol(), onset})
			return &changed
		}
	}
	return label
}

// givenNotes sets the notes of the given lines into a chord and returns them, nil where a
// line is not given or rests.
func (t *task) givenNotes(c *voicing.ProgressionChord, label *harmony.Annotation, onset, next theory.Fraction) (top, bass *theory.VoiceNote) {
	if t.top != nil {
		if top = noteAt(t.top, onset); top != nil {
			c.Fixed = []*theory.Pitch{&top.Pitch}
		}
	}
	if t.bass != nil {
		if bass = noteAt(t.bass, onset); bass != nil {
			c.Bass = &bass.Pitch
		}
	}
	if label != nil && label.Below.Sign() > 0 { // the bass is suspended
		if bass = noteAt(t.bass, onset.Add(label.Below)); bass != nil {
			c.Bass = &bass.Pitch
		}
	}
	if t.bass != nil && c.Bass != nil {
		if under := notesFrom(t.bass, onset, next); len(under) > 0 && under[len(under)-1].Pitch != *c.Bass {
			c.Moving.BassOut = &under[len(under)-1].Pitch
		}
	}
	return top, bass
}

// block names the chord that sounds at an onset.
func (t *task) block(c *voicing.ProgressionChord, onset theory.Fraction) error {
	if label := t.labelAt(onset); label != nil && !label.Silent {
		c.Reading = t.reading(label, onset)
		c.Text = label.Text
		return nil
	}
	var pitches []theory.Pitch
	for v := range t.texture.Voices {
		if n := noteAt(&t.texture.Voices[v], onset); n != nil {
			pitches = append(pitches, n.Pitch)
		}
	}
	lowest := slices.MinFunc(pitches, func(a, b theory.Pitch) int { return a.Semitones() - b.Semitones() })
	var classes []theory.PitchClass
	for _, p := range pitches {
		classes = append(classes, p.Class())
	}
	chord, ok := harmony.Identify(classes, lowest.Class())
	if !ok {
		if advice := t.respelling(classes, lowest.Class(), onset); advice != "" {
			return t.unsuitable(onset, fmt.Sprintf("The notes %s on beat %g form no chord stacked in thirds as they are spelled.", strings.Join(report.PitchNames(pitches), " "), t.beat(onset)), advice)
		}
		return t.unsuitable(onset, fmt.Sprintf("The notes %s on beat %g form no chord stacked in thirds.", strings.Join(report.PitchNames(pitches), " "), t.beat(onset)),
			"Write the chord out, without notes foreign to it, or name it with a chord symbol.")
	}
	c.Reading = harmony.ReadIn(t.keyAt(onset), chord)
	c.Text = c.Reading.Symbol()
	return nil
}

// respelling offers the chord that the notes are with the fewest of them spelled otherwise,
// "" for none.
func (t *task) respelling(classes []theory.PitchClass, bass theory.PitchClass, onset theory.Fraction) string {
	to, chord, ok := harmony.Respelled(classes, bass)
	if !ok {
		return ""
	}
	var changes []string
	for i, c := range classes {
		if change := fmt.Sprintf("%v as %v", c, to[i]); c != to[i] && !slices.Contains(changes, change) {
			changes = append(changes, change)
		}
	}
	return fmt.Sprintf("Spell %s: then they are %s (%v).", strings.Join(changes, " and "), chord.Symbol(), harmony.ReadIn(t.keyAt(onset), chord))
}

// beat is the beat of an onset, to thousandths.
func (t *task) beat(onset theory.Fraction) float64 {
	_, beat := placeOf(t.doc.Score, onset)
	return math.Round(beat.Float()*1000) / 1000
}

// reading is what a label says, in the key that it names or that holds there.
func (t *task) reading(l *harmony.Annotation, onset theory.Fraction) harmony.Reading {
	if l.Key != nil && l.Numeral != nil {
		return harmony.Reading{Key: *l.Key, Numeral: *l.Numeral}
	}
	return harmony.ReadIn(t.keyAt(onset), l.Chord)
}

// setAgainst sets a chord against all that the top line does while it lasts: the note that
// it stands with is the first member, the others are foreign or pass by. A line that is
// foreign for less than a beat leaves the note open.
func (t *task) setAgainst(c *voicing.ProgressionChord, l *harmony.Annotation, onset, next theory.Fraction) {
	line := notesFrom(t.top, onset, next)
	c.Moving.TopRests = len(line) == 0
	if c.AgainstLine(line, t.reading(l, onset), t.onBeat) {
		return
	}
	if next.Sub(onset).Less(t.doc.Score.MeasureAt(onset).Time.Beat()) {
		c.Fixed = nil
	}
}

// onBeat reports whether an onset is a beat of its measure.
func (t *task) onBeat(onset theory.Fraction) bool {
	return voicing.OnBeat(onset, t.doc.Score.MeasureAt(onset))
}

// labeled takes the chord that is named. Where the label leaves the inversion
// open, a given bass note decides it.
func (t *task) labeled(c *voicing.ProgressionChord, l *harmony.Annotation, onset theory.Fraction) error {
	c.Reading, c.Text = t.reading(l, onset), l.Text
	if c.Bass != nil {
		if member := c.Reading.MemberOf(c.Bass.Class()); member >= 0 && !c.Reading.Quality().IsAugmentedSixth() {
			c.Reading.Numeral.Inversion = int8(member)
		}
	}
	for _, given := range []*theory.Pitch{c.Bass, topOf(c)} {
		if given != nil && c.Reading.MemberOf(given.Class()) < 0 {
			for m := range c.Reading.Size() {
				if as := c.Reading.Member(m); as.Chroma() == given.Class().Chroma() {
					return t.unsuitable(onset, fmt.Sprintf("The note %v on beat %g is not in the chord %s that is named there as it is spelled.", given, t.beat(onset), l),
						fmt.Sprintf("Spell it %v.", as))
				}
			}
			if with, ok := l.Chord.With(given.Class()); ok {
				return t.unsuitable(onset, fmt.Sprintf("The note %v on beat %g is not in the chord %s that is named there.", given, t.beat(onset), l),
					fmt.Sprintf("Name the chord %s there, which holds it, or another.", with.Symbol()))
			}
			return t.unsuitable(onset, fmt.Sprintf("The note %v on beat %g is not in the chord %s that is named there.", given, t.beat(onset), l),
				"Name another chord, or place the name where the note belongs to it.")
		}
	}
	return nil
}

func topOf(c *voicing.ProgressionChord) *theory.Pitch {
	if len(c.Fixed) == 0 {
		return nil
	}
	return c.Fixed[0]
}

// overBass is the chord of a bass note without figures: its triad.
func (t *task) overBass(c *voicing.ProgressionChord, bass *theory.VoiceNote) error {
	reading, ok, err := harmony.ReadFigures(bass.Pitch.Class(), nil, t.keyAt(bass.Onset))
	if err != nil || !ok {
		return t.unsuitable(bass.Onset, fmt.Sprintf("The bass note %v on beat %g carries no triad.", bass.Pitch, t.beat(bass.Onset)), "Give it figures.")
	}
	c.Reading, c.Text = reading, bass.Pitch.String()
	return nil
}

// overUnfigured leaves the chord open over a bass note: any of the key's that stands on it.
func (t *task) overUnfigured(c *voicing.ProgressionChord, onset theory.Fraction, first bool) error {
	c.Text = c.Bass.String()
	if c.Choices = voicing.OverBass(*c.Bass, c.Reading.Key).Choices; len(c.Choices) == 0 {
		return t.unsuitable(onset, fmt.Sprintf("The bass note %v on beat %g carries no chord in %v.", c.Bass, t.beat(onset), c.Reading.Key), "Give it figures.")
	}
	if c.Open = !first; first {
		c.Choices = voicing.Opening(c.Choices)
	}
	return nil
}

// chosen leaves the chord open: any of the key's that hold the given notes.
func (t *task) chosen(c *voicing.ProgressionChord, top *theory.VoiceNote, onset theory.Fraction, first bool) error {
	key := t.keyAt(onset)
	c.Reading = harmony.Reading{Key: key}
	if t.gives == request.GivesUnfigured && c.Bass != nil {
		return t.overUnfigured(c, onset, first)
	}
	if top == nil {
		return t.unsuitable(onset, fmt.Sprintf("The upper line rests on beat %g, and no chord is named there.", t.beat(onset)), "Name the chord, or let the line sound.")
	}
	c.Text = c.Fixed[0].String()
	c.ChooseUnder(key)
	if c.Bass != nil {
		c.Choices = slices.DeleteFunc(c.Choices, func(choice voicing.Choice) bool { return choice.Reading.Bass() != c.Bass.Class() })
	} else if first {
		c.Choices = voicing.Opening(c.Choices)
	}
	c.Open = !first
	if len(c.Choices) == 0 {
		return t.unsuitable(onset, fmt.Sprintf("No chord that harmonizes a melody in %v holds the given notes on beat %g.", key, t.beat(onset)),
			"Name the chord there with a chord symbol, a numeral or figures.")
	}
	return nil
}
