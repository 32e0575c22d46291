package worker

import (
	"context"
	"fmt"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// maxThen bounds the chords asked about beyond the next one.
const maxThen = 24

// continueFrom lists what can follow one sonority, in the groups that a teacher
// weighs.
func (e *Engine) continueFrom(ctx context.Context, plan *request.ContinuePlan) (*answer.Answer, error) {
	from, to, err := sonorityAndNext(plan)
	if err != nil {
		return nil, err
	}
	then, err := thenOf(plan, to)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	question := &voicing.Question{Work: theory.WorkIn(ctx), From: from, To: to, Style: plan.Style, RuleSet: plan.RuleSet, Best: plan.Best, Onward: then}
	if question.RuleSet == nil {
		question.RuleSet = plan.Style.RuleSet()
	}
	options := voicing.Options(*question)
	a := &answer.Answer{Report: report.NewContinuation(e.Version, question, options, plan.Catalog)}
	return a, addWays(a, question, options, plan.IDs)
}

// sonorityAndNext reads the sonority and the chord that follows it.
func sonorityAndNext(plan *request.ContinuePlan) (from voicing.Chord, to harmony.Reading, err error) {
	style := &plan.Style
	from.Pitches = plan.From
	if n := len(style.Voices); len(from.Pitches) != n {
		notes := "notes"
		if len(from.Pitches) == 1 {
			notes = "note"
		}
		return from, to, &RequestError{fmt.Sprintf("the sonority has %d %s, the style %s has %d voices; give a note for each, from the top", len(from.Pitches), notes, style.Name, n)}
	}
	p, err := voicing.ReadProgression(plan.Chords)
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
	return from, to, stands(&from)
}

// stands reports an error for notes that are not those of their chord, from the top
// down: what a rule says against their arrangement is no reason not to go on.
func stands(c *voicing.Chord) error {
	wrong := c.Pitches[len(c.Pitches)-1].Class() != c.Reading.Bass()
	for v, p := range c.Pitches {
		wrong = wrong || c.Reading.MemberOf(p.Class()) < 0 || v > 0 && p.Above(c.Pitches[v-1])
	}
	if wrong {
		return &RequestError{fmt.Sprintf("%s, from the top down, are not the notes of %v: look at its bass note, its accidentals and crossed voices",
			strings.Join(report.PitchNames(c.Pitches), " "), c.Reading)}
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

// usual are the chords of each mode that are asked about where nobody says
// which: the triads of the scale, in minor with the raised leading tone, the
// diminished ones in first inversion (common practice, no source).
var usual = [2]string{
	theory.MajorMode: "I ii iii IV V V7 vi viio6",
	theory.MinorMode: "i iio6 III iv V V7 VI viio6",
}

// thenOf lists the readings that the next chord might lead to.
func thenOf(plan *request.ContinuePlan, to harmony.Reading) ([]harmony.Reading, error) {
	text, own := plan.Then, true
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
