package worker

import (
	"context"
	"fmt"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
	"partwright/worker/report"
)

// ContinueRequest asks how a sonority can go on to the next chord.
type ContinueRequest struct {
	// Chords are a key with two chords, the one that sounds and the next, such
	// as "C: I V"; of one chord alone, the next, the first is named by its notes.
	Chords string
	// From are the notes that sound, from the top voice down: "E5 G4 C4 C3".
	From string
	// Then are chords that might come after the next one, in its key or with a
	// key of their own; "" asks about those that usually do.
	Then string
	// Style is the name of a texture, see [VoicingStyles]; "" is chorale.
	Style string
	// Best is how many of each group are wanted, 1 to [MaxContinuations]; 0 is 3.
	Best int
}

// MaxContinuations bounds how many continuations of each group can be asked for.
const MaxContinuations = 50

// maxThen bounds the chords asked about in ContinueRequest.Then.
const maxThen = 24

// Continue lists what can follow one sonority, in the groups that a teacher
// weighs. Errors are as for [Engine.Voice].
func (e *Engine) Continue(ctx context.Context, r ContinueRequest) (*report.Continuation, error) {
	style, err := styleNamed(r.Style)
	if err != nil {
		return nil, err
	}
	if r.Best < 0 || r.Best > MaxContinuations {
		return nil, &RequestError{fmt.Sprintf("the best %d of each group were asked for; 1 to %d can be had", r.Best, MaxContinuations)}
	}
	from, to, err := r.chords(&style)
	if err != nil {
		return nil, err
	}
	then, err := r.then(to)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	best := r.Best
	if best == 0 {
		best = 3
	}
	return report.NewContinuation(e.Version, &style, from, to, then, voicing.Options(from, to, style, best, then...)), nil
}

// chords reads the sonority and the chord that follows it.
func (r *ContinueRequest) chords(style *voicing.Style) (from voicing.Chord, to harmony.Reading, err error) {
	if from.Pitches, err = pitchesIn(r.From); err != nil {
		return from, to, err
	}
	if n := len(style.Voices); len(from.Pitches) != n {
		return from, to, &RequestError{fmt.Sprintf("the sonority has %d notes, the style %s has %d voices; give a note for each, from the top", len(from.Pitches), style.Name, n)}
	}
	p, err := voicing.ReadProgression(r.Chords)
	if err != nil {
		return from, to, err
	}
	switch len(p.Chords) {
	case 1:
		to = p.Chords[0].Reading
		if from.Reading, err = readingOf(from.Pitches, to.Key); err != nil {
			return from, to, err
		}
	case 2:
		from.Reading, to = p.Chords[0].Reading, p.Chords[1].Reading
	default:
		return from, to, &RequestError{fmt.Sprintf("there are %d chords; give the one that sounds and the next, such as \"C: I V\"", len(p.Chords))}
	}
	return from, to, stands(&from, style)
}

// stands reports an error for notes that are no arrangement of their chord.
func stands(c *voicing.Chord, style *voicing.Style) error {
	slot := voicing.Given(c.Reading)
	for i := range c.Pitches {
		slot.Fixed = append(slot.Fixed, &c.Pitches[i])
	}
	if _, err := voicing.Solve(&voicing.Problem{Style: *style, Slots: []voicing.Slot{slot}}); err != nil {
		return &RequestError{fmt.Sprintf("%s, from the top down, is no arrangement of %v that the style %s allows: look at its bass note, its doublings, the spacing and crossed voices",
			strings.Join(report.PitchNames(c.Pitches), " "), c.Reading, style.Name)}
	}
	return nil
}

// readingOf names the chord that notes form, the lowest last.
func readingOf(pitches []theory.Pitch, key theory.Key) (harmony.Reading, error) {
	var classes []theory.PitchClass
	for _, p := range pitches {
		classes = append(classes, p.Class())
	}
	chord, ok := harmony.Identify(classes, classes[len(classes)-1])
	if !ok {
		return harmony.Reading{}, &RequestError{fmt.Sprintf("%s form no chord stacked in thirds; say which chord they are, as in \"C: I V\"", strings.Join(report.PitchNames(pitches), " "))}
	}
	return harmony.ReadIn(key, chord), nil
}

func pitchesIn(text string) ([]theory.Pitch, error) {
	var out []theory.Pitch
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == '\t' || r == '\n' }) {
		p, err := theory.ParsePitch(word)
		if err != nil {
			return nil, &RequestError{fmt.Sprintf("%v; write the notes from the top down, such as \"E5 G4 C4 C3\"", err)}
		}
		out = append(out, p)
	}
	return out, nil
}

// usual are the chords of each mode that are asked about where nobody says
// which: the triads of the scale, in minor with the raised leading tone, the
// diminished ones in first inversion (common practice, no source).
var usual = [2]string{
	theory.MajorMode: "I ii iii IV V V7 vi viio6",
	theory.MinorMode: "i iio6 III iv V V7 VI viio6",
}

// then lists the readings that the next chord might lead to.
func (r *ContinueRequest) then(to harmony.Reading) ([]harmony.Reading, error) {
	text, own := r.Then, true
	if strings.TrimSpace(text) == "" {
		text, own = usual[to.Key.Mode], false
	}
	p, err := voicing.ReadProgression(to.Key.Abbreviation() + ": " + text)
	if err != nil {
		return nil, err
	}
	if len(p.Chords) > maxThen {
		return nil, &RequestError{fmt.Sprintf("%d chords were asked about; at most %d can be", len(p.Chords), maxThen)}
	}
	var out []harmony.Reading
	for _, c := range p.Chords {
		if own || c.Reading != to && voicing.FunctionalSyntax(to, c.Reading) >= 0 {
			out = append(out, c.Reading)
		}
	}
	return out, nil
}
