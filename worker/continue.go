package worker

import (
	"context"
	"fmt"
	"slices"
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
// weighs, and how a phrase goes on from each.
func (e *Engine) continueFrom(ctx context.Context, plan *request.ContinuePlan) (*answer.Answer, error) {
	style := plan.Style
	if plan.RuleSet != nil {
		style.Rules = plan.RuleSet
	}
	phrase, next, err := e.phraseAndNext(ctx, plan, style)
	if err != nil {
		return nil, err
	}
	from, to := soundingChord(phrase, next-1), phrase.Chords[next].Reading
	if err := stands(&from); err != nil {
		return nil, err
	}
	then, err := thenOf(plan, phrase, next)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	question := &voicing.Question{
		Work: theory.WorkIn(ctx), From: from, To: to, Ends: phrase.Chords[next].PhraseEnd, Style: style, RuleSet: style.RuleSet(), Best: plan.Best, Onward: then,
		Given: phrase.Problem(style).Slots[next].Fixed,
	}
	var before *theory.Pitch
	if next > 1 && !phrase.Chords[next-2].PhraseEnd {
		before = phrase.Chords[next-2].Fixed[0]
	}
	options := voicing.Options(*question)
	said := report.NewContinuation(e.Version, question, options, before, plan.Catalog)
	said.Chord, said.Chords = next+1, len(phrase.Chords)
	if err := finishOptions(ctx, said, phrase, next, style, options); err != nil {
		return nil, err
	}
	a := &answer.Answer{Report: said}
	return a, addWays(a, question, options, plan.IDs)
}

// finishOptions says of each option how the phrase goes on after it.
func finishOptions(ctx context.Context, said *report.Continuation, phrase *voicing.Progression, next int, style voicing.Style, options []voicing.Option) error {
	ways := make([][]theory.Pitch, len(options))
	for i := range options {
		ways[i] = options[i].Pitches
	}
	all, err := phrase.FinishEach(ctx, style, next, ways)
	if err != nil {
		return err
	}
	held := phrase.Copy()
	for g := range said.Groups {
		for i := range said.Groups[g].Options {
			o := &said.Groups[g].Options[i]
			held.Hold(next, ways[o.Number-1])
			o.Finish(&all[o.Number-1], held.Row())
		}
	}
	return nil
}

// phraseAndNext reads the phrase and which of its chords is to be chosen: the first one
// whose notes are not all given. Where none are, the first chord stands as in the best
// voicing of the phrase.
func (e *Engine) phraseAndNext(ctx context.Context, plan *request.ContinuePlan, style voicing.Style) (*voicing.Progression, int, error) {
	voices := len(style.Voices)
	if n := len(plan.From); n > 0 && n != voices {
		notes := "notes"
		if n == 1 {
			notes = "note"
		}
		return nil, 0, &RequestError{Problem: fmt.Sprintf("the sonority has %d %s, the style %s has %d voices; give a note for each, from the top", n, notes, style.Name, voices)}
	}
	p, err := voicing.ReadProgression(plan.Chords)
	if err != nil {
		return nil, 0, err
	}
	if err := tooMany(len(p.Chords)); err != nil {
		return nil, 0, err
	}
	if slices.ContainsFunc(p.Chords, func(c voicing.ProgressionChord) bool { return c.Choices != nil }) {
		return nil, 0, &RequestError{Problem: "a melody leaves its chords open; name the chords, and hold the melody's notes in braces, such as V{D5,-,-,-}"}
	}
	next := p.Held(voices)
	switch {
	case next > 0 && len(plan.From) > 0:
		return nil, 0, &RequestError{Problem: "the notes of the first chord are given twice, in braces and as those that sound; leave out one of the two"}
	case len(plan.From) > 0:
		if len(p.Chords) == 1 {
			reading, err := readingOf(plan.From, p.Chords[0].Reading.Key)
			if err != nil {
				return nil, 0, err
			}
			first := p.Chords[0]
			first.Reading, first.Fixed, first.Bass = reading, nil, nil
			p.Chords = append([]voicing.ProgressionChord{first}, p.Chords...)
			p.Layout.Durations = append([]theory.Fraction{first.Duration}, p.Layout.Durations...)
		}
		p.Hold(0, plan.From)
		next = p.Held(voices)
	case next == 0:
		s, _, err := p.Finish(ctx, style)
		if err != nil {
			return nil, 0, err
		}
		p.Hold(0, s.Chords[0].Pitches)
		next = p.Held(voices)
	}
	if next == len(p.Chords) {
		return nil, 0, &RequestError{Problem: "the notes of every chord are given; leave those of the chord to be chosen free, and name at least two chords, such as \"C: I{E5,G4,C4,C3} V I\""}
	}
	return p, next, nil
}

// soundingChord is a chord whose notes are all given.
func soundingChord(p *voicing.Progression, k int) voicing.Chord {
	c := voicing.Chord{Reading: p.Chords[k].Reading, PhraseEnd: p.Chords[k].PhraseEnd}
	for _, pitch := range p.Chords[k].Fixed {
		c.Pitches = append(c.Pitches, *pitch)
	}
	return c
}

// stands reports an error for notes that are not those of their chord, from the top
// down: what a rule says against their arrangement is no reason not to go on.
func stands(c *voicing.Chord) error {
	wrong := c.Pitches[len(c.Pitches)-1].Class() != c.Reading.Bass()
	for v, p := range c.Pitches {
		wrong = wrong || c.Reading.MemberOf(p.Class()) < 0 || v > 0 && p.Above(c.Pitches[v-1])
	}
	if wrong {
		return &RequestError{Problem: fmt.Sprintf("%s, from the top down, are not the notes of %v: look at its bass note, its accidentals and crossed voices",
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
		return harmony.Reading{}, &RequestError{Problem: fmt.Sprintf("%s form no chord stacked in thirds; say which chord they are, as in \"C: I V\"", strings.Join(report.PitchNames(pitches), " "))}
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

// thenOf lists the readings that the next chord might lead to: those that were asked for,
// or else the chord that follows in the phrase and those that usually do.
func thenOf(plan *request.ContinuePlan, phrase *voicing.Progression, next int) ([]harmony.Reading, error) {
	to := phrase.Chords[next].Reading
	text, own := plan.Then, true
	if strings.TrimSpace(text) == "" {
		text, own = usual[to.Key.Mode], false
	}
	p, err := voicing.ReadProgression(to.Key.Abbreviation() + ": " + text)
	if err != nil {
		return nil, err
	}
	if len(p.Chords) > maxThen {
		return nil, &RequestError{Problem: fmt.Sprintf("%d chords were asked about; at most %d can be", len(p.Chords), maxThen)}
	}
	var out []harmony.Reading
	if !own && next+1 < len(phrase.Chords) {
		out = append(out, phrase.Chords[next+1].Reading)
	}
	for _, c := range p.Chords {
		if own || c.Reading != to && voicing.FunctionalSyntax(to, c.Reading) >= 0 && !slices.Contains(out, c.Reading) {
			out = append(out, c.Reading)
		}
	}
	return out, nil
}
