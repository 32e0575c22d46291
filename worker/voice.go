package worker

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony/tune"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// MaxProgression bounds the chords of one progression.
const MaxProgression = 500

// voicingJob is the work on one plan.
type voicingJob struct {
	*request.VoicePlan
	// title stands at the head of the sheets.
	title string
	// gives is what a score gives, "" without one.
	gives string
	// work is the budget of the whole job.
	work *theory.Work
	// symbols is set where a score names its chords with symbols.
	symbols bool
	// odd is what was odd in a score.
	odd []musicxml.Notice
	// What is voiced.
	progression *voicing.Progression
	problem     *voicing.Problem
	// ways are other harmonizations than that of problem; a solution with the number i has
	// the first of them from i = 1 on.
	ways []voicing.Harmonization
	// What came of it: the solutions with their explanations.
	solutions    []*voicing.Solution
	explanations []*voicing.Explanation
	// sung are the words of the lines that a score gives.
	sung []sheet.Sung
	// notices say how a score was understood.
	notices []string
	// fewer says why there are fewer than were asked for.
	fewer  string
	answer *answer.Answer
	report *report.Voicing
}

// voice voices a progression: the text of the plan, or the score that came in.
func (e *Engine) voice(ctx context.Context, in Input, plan *request.VoicePlan) (*answer.Answer, error) {
	j := &voicingJob{VoicePlan: plan, title: plan.Title, work: theory.WorkIn(ctx)}
	if err := e.setProblem(ctx, j, &in); err != nil {
		return nil, err
	}
	if err := j.solve(ctx, e.Version); err != nil {
		return nil, err
	}
	j.report.File, j.report.Gives = in.Name, j.gives
	for i := range j.solutions {
		if err := j.add(ctx, i); err != nil {
			return nil, err
		}
	}
	if err := j.addSheets(ctx); err != nil {
		return nil, err
	}
	return j.answer, nil
}

// solve finds the voicings, and why they are so.
func (j *voicingJob) solve(ctx context.Context, version string) error {
	search, err := voicing.NewSearch(ctx, j.problem)
	if err != nil {
		return j.beyondRange(err)
	}
	j.solutions, err = j.alternatives(ctx, search)
	broken := 0
	var impossible *voicing.ImpossibleError
	if errors.As(err, &impossible) {
		var least *voicing.Solution
		least, broken = search.LeastBad()
		j.solutions, err = []*voicing.Solution{least}, nil
	}
	if err != nil {
		return err
	}
	for i, s := range j.solutions {
		of := search
		if i > 0 && len(j.ways) > 0 {
			of = j.ways[i-1].Search
		}
		explanation, err := of.Explain(ctx, s)
		if err != nil {
			return err
		}
		j.explanations = append(j.explanations, explanation)
	}
	for _, s := range j.solutions {
		j.progression.NameChosen(s)
	}
	j.report = report.NewVoicing(version, j.progression, j.problem, impossible, broken, j.Catalog)
	j.report.Fewer, j.report.Notices = j.fewer, j.notices
	for i := range j.odd {
		j.report.Notices = append(j.report.Notices, sentenceOf(&j.odd[i]))
	}
	if impossible != nil {
		breaks, opens := search.Obstacle(ctx, j.RuleSet)
		j.report.Hinder(impossible, breaks, opens, j.Catalog)
	}
	j.answer = &answer.Answer{Report: j.report}
	return nil
}

// beyondRange says which given note lies outside its voice's range where that is why a
// chord has no arrangement at all: most often a line stands in another octave than was meant.
func (j *voicingJob) beyondRange(err error) error {
	var impossible *voicing.ImpossibleError
	if !errors.As(err, &impossible) || !impossible.Alone {
		return err
	}
	for v, p := range j.problem.Slots[impossible.Slot].Fixed {
		if p == nil {
			continue
		}
		voice, where, octave := &j.problem.Style.Voices[v], "above", "lower"
		switch at := p.Semitones(); {
		case at < voice.Low.Semitones():
			where, octave = "below", "higher"
		case at <= voice.High.Semitones():
			continue
		}
		problem := fmt.Sprintf("chord %d gives %s %v, which lies %s its range of %v to %v, and no arrangement holds it", impossible.Slot+1, voice.Name, p, where, voice.Low, voice.High)
		advice := fmt.Sprintf("write it an octave %s, or name another style", octave)
		if j.gives == "" {
			return &RequestError{Problem: problem + "; " + advice}
		}
		return &musicxml.InputError{Code: nothingToVoice, Measure: j.measureOf(impossible.Slot), Problem: asSentence(problem), Advice: asSentence(advice)}
	}
	return err
}

// measureOf is the printed label of the measure in which a chord of a score begins.
func (j *voicingJob) measureOf(chord int) string {
	l := &j.progression.Layout
	at := l.Start
	for k := range chord {
		at = at.Add(l.Durations[k])
	}
	label := ""
	for i := range l.Frame {
		if !at.Less(l.Frame[i].Onset) {
			label = l.Frame[i].Label
		}
	}
	return label
}

// asSentence makes a sentence of a clause.
func asSentence(clause string) string { return strings.ToUpper(clause[:1]) + clause[1:] + "." }

// alternatives are as many voicings as were asked for, or the best one alone where the
// others would take more time or memory than there is.
func (j *voicingJob) alternatives(ctx context.Context, search *voicing.Search) (found []*voicing.Solution, err error) {
	soon, cancel := early(ctx)
	defer cancel()
	err = theory.WorkIn(soon).Run(func() error {
		if j.progression.Harmonized() && j.Alternatives > 1 {
			found, err = j.harmonizations(soon, search)
		} else {
			found, err = search.Alternatives(soon, j.Alternatives)
		}
		return err
	})
	var memory *theory.MemoryError
	if j.Alternatives > 1 && ctx.Err() == nil && (soon.Err() != nil && errors.Is(err, soon.Err()) || errors.As(err, &memory)) {
		j.fewer = fmt.Sprintf("one of the %d voicings that were asked for: the others would take more time or memory than there is; ask for fewer, or voice fewer chords at once", j.Alternatives)
		return search.Alternatives(ctx, 1)
	}
	return found, err
}

// harmonizations are as many different choices of chords for a line as were asked for, or
// as there are.
func (j *voicingJob) harmonizations(ctx context.Context, search *voicing.Search) ([]*voicing.Solution, error) {
	found, err := search.Alternatives(ctx, 1)
	if err != nil {
		return nil, err
	}
	j.ways, err = j.progression.Contrasting(ctx, tune.Default, j.Harmony, found[0], j.pose, j.Alternatives-1)
	if err != nil {
		j.ways = nil
		return nil, err
	}
	for _, way := range j.ways {
		found = append(found, way.Solution)
	}
	if len(found) < j.Alternatives {
		j.fewer = fmt.Sprintf("%d of the %d harmonizations that were asked for: no other that differs from these in a quarter of its chords is as good as what people write, without a fault", len(found), j.Alternatives)
	}
	return found, nil
}

// setProblem reads what is to be voiced.
func (e *Engine) setProblem(ctx context.Context, j *voicingJob, in *Input) (err error) {
	if j.progression, err = e.readProgression(ctx, j, in); err != nil {
		return err
	}
	if err := tooMany(len(j.progression.Chords)); err != nil {
		return err
	}
	if err := j.close(); err != nil {
		return err
	}
	err = j.progression.Harmonize(ctx, tune.Default, j.Harmony, j.pose)
	j.problem = j.pose()
	if said, ok := j.progression.Modal(); ok {
		j.notices = append(j.notices, j.Catalog.Phrase(said.Phrase, said.Pairs...))
	}
	return err
}

// pose makes the problem of the progression as it is.
func (j *voicingJob) pose() *voicing.Problem {
	style := j.Style // the plan's, which other scores voiced at the same time share
	if j.RuleSet != nil {
		style.Rules = j.RuleSet // what is marked with it is composed by it
	}
	problem := j.progression.Problem(style)
	problem.Contour, problem.Position = j.Contour, j.Position
	chooseBass(problem, j.Bass)
	return problem
}

// tooMany is the error of a progression that is too long.
func tooMany(chords int) error {
	if chords <= MaxProgression {
		return nil
	}
	return &RequestError{Problem: fmt.Sprintf("the progression has %d chords; at most %d are voiced at once", chords, MaxProgression)}
}

// readProgression reads the text, or the score in its place.
func (e *Engine) readProgression(ctx context.Context, j *voicingJob, in *Input) (*voicing.Progression, error) {
	switch {
	case j.Progression == "" && in.Data != nil:
		return e.readTask(ctx, j, in)
	case j.Gives != request.Auto || j.Key != nil:
		return nil, &RequestError{Problem: "a text says itself what it gives and in which key; leave these options to scores"}
	case len(j.Progression) > request.MaxProgressionText:
		return nil, &RequestError{Problem: fmt.Sprintf("the progression has %d bytes; at most %d are read", len(j.Progression), request.MaxProgressionText)}
	}
	return voicing.ReadProgression(j.Progression)
}

// close gives the progression its ending.
func (j *voicingJob) close() error {
	err := j.progression.End(j.Ending)
	if err == nil && j.SixFour {
		err = j.progression.SixFour()
	}
	if err == nil {
		err = j.progression.StartOn(j.Start)
	}
	if err == nil {
		err = j.progression.EndOn(j.End)
	}
	var cannot *voicing.EndingError
	if errors.As(err, &cannot) {
		return &RequestError{Problem: cannot.Problem}
	}
	return err
}

// freeBassWeighs is how many times as much a semitone of the bass costs where its line is
// free: it is then the point of the inversions. In 25 progressions of nine diatonic chords
// it makes 81 steps and 100 leaps, with the weight of a given bass 57 and 131.
const freeBassWeighs = 4

// chooseBass settles the inversions: as they are given, all roots, or free. What
// its bass note makes it (a cadential six-four, an augmented sixth) stays so, a free
// line still begins and ends its phrases as they are given, cadences too, and given
// notes stay.
func chooseBass(p *voicing.Problem, way string) {
	switch way {
	case "given":
		return
	case "free":
		p.Style.Weights.BassSemitone *= freeBassWeighs
	}
	for k := range p.Slots {
		slot := &p.Slots[k]
		reading := slot.Choices[0].Reading
		switch {
		case bassGiven(slot, p), len(slot.Choices) > 1:
		case reading.Numeral.Cadential, reading.Quality().IsAugmentedSixth():
		case way == "roots":
			slot.Choices[0].Reading.Numeral.Inversion = 0
		case k > 0 && !p.Slots[k-1].PhraseEnd && k < len(p.Slots)-1 && !slot.PhraseEnd && !closes(p, k):
			slot.Choices = voicing.Inversions(reading).Choices
		}
	}
}

// closes reports whether a chord is the dominant of an authentic cadence at the end of a
// phrase, both chords written in root position.
func closes(p *voicing.Problem, k int) bool {
	next := &p.Slots[k+1]
	dominant, tonic := p.Slots[k].Choices[0].Reading.Numeral, next.Choices[0].Reading.Numeral
	return (next.PhraseEnd || k+2 == len(p.Slots)) && dominant.Degree == 5 && dominant.IsDominant() && !dominant.IsApplied() &&
		dominant.Inversion == 0 && tonic.IsTonic() && tonic.Inversion == 0
}

// bassGiven reports whether the note of the lowest voice is given.
func bassGiven(slot *voicing.Slot, p *voicing.Problem) bool {
	n := len(p.Style.Voices)
	return len(slot.Fixed) >= n && slot.Fixed[n-1] != nil
}

// plain is the music of the voicing with the number i; florid adds notes to it.
func (j *voicingJob) plain(i int) *theory.Texture {
	return j.solutions[i].Texture(&j.problem.Style, j.progression.Layout)
}

func (j *voicingJob) florid(ctx context.Context, i int, density float64) (*theory.Texture, []voicing.Decoration, error) {
	if density == 0 {
		return j.plain(i), nil, nil
	}
	florid, err := j.decorate(ctx, i, density)
	if err != nil {
		return nil, nil, err
	}
	texture, added := florid.At(density)
	return texture, added, nil
}

// decorate finds what can be added to the voicing with the number i.
func (j *voicingJob) decorate(ctx context.Context, i int, density float64) (*voicing.Florid, error) {
	soon, cancel := early(ctx)
	defer cancel()
	florid := voicing.Decorate(j.problem, j.solutions[i], j.progression.Layout, voicing.Elaboration{
		Voices: led(j.plain(i), &j.progression.Layout), Density: density, Seed: j.Seed, RuleSet: j.RuleSet,
		Kinds: j.Decorations,
		Stop:  stopWith(soon),
	})
	return florid, ctx.Err()
}

// add writes the voicing with the number i into the answer.
func (j *voicingJob) add(ctx context.Context, i int) error {
	texture, added, err := j.florid(ctx, i, j.Density)
	if err != nil {
		return err
	}
	s, explanation := j.solutions[i], j.explanations[i]
	analysis := s.Harmony(texture, j.progression.Layout)
	page := sheet.Sheet{Work: j.work, Title: j.title, Texture: texture, Staves: j.staves(texture), Sung: j.sung}
	j.annotate(&page, j.figured(musicxml.Numerals), analysis)
	if j.Reasons {
		page.Above = j.reasons(explanation, analysis)
		page.Below = append(page.Below, j.reasonsKey(texture.Score))
	}
	page.IDs = j.ids()
	score, err := writeSheet(&page)
	if err != nil {
		return err
	}
	music, err := report.MIDI(texture, j.phraseEnds())
	if err != nil {
		return err
	}
	alternative := report.NewAlternative(j.problem, s, explanation, texture, analysis, added, j.RuleSet, j.Catalog)
	if j.Notes {
		alternative.VoiceNotes = report.NewSheetNotes(texture, page.IDs)
	}
	alternative.Character = j.character(s)
	j.report.Alternatives = append(j.report.Alternatives, alternative)
	j.answer.AddScore(answer.Voiced, i, score)
	j.answer.AddMIDI(i, music)
	return nil
}

// character says what a voicing is like, beside the first; of another harmonization what
// its chords are like.
func (j *voicingJob) character(s *voicing.Solution) []string {
	first := j.solutions[0]
	if len(j.ways) > 0 && s != first {
		return report.Harmonizes(j.progression.Coloring(s, first), j.progression.Coloring(first, first), j.Catalog)
	}
	return report.Character(s, first, j.Catalog)
}

// ids are for the notes of a sheet, nil where they were not asked for.
func (j *voicingJob) ids() *sheet.IDs {
	if !j.IDs {
		return nil
	}
	return &sheet.IDs{}
}

// phraseEnds are where phrases end, in quarters.
func (j *voicingJob) phraseEnds() []theory.Fraction {
	var out []theory.Fraction
	at := j.progression.Layout.Start
	for i := range j.progression.Chords {
		at = at.Add(j.progression.Chords[i].Duration)
		if j.progression.Chords[i].PhraseEnd {
			out = append(out, at)
		}
	}
	return out
}

// led are the voices that the chords lead: all but lines that are given.
func led(t *theory.Texture, l *voicing.Layout) []int {
	out := []int{}
	for v := range t.Voices {
		if !(v == 0 && l.Top != nil || v == len(t.Voices)-1 && l.Bass != nil) {
			out = append(out, v)
		}
	}
	return out
}
