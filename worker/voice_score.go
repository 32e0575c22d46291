package worker

import (
	"context"
	"fmt"
	"slices"
	"sort"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
	"partwright/worker/request"
)

// task is a score on its way to a progression.
type task struct {
	name    string
	doc     *musicxml.Document
	texture *theory.Texture
	labels  []harmony.Annotation
	gives   string
	// top and bass are the given outer lines, nil where there is none.
	top, bass *theory.Voice
	// fermatas are where notes have one, in order.
	fermatas []theory.Fraction
	// key is what the caller says, nil for the keys of the score.
	key *theory.Key
	// heard are the keys that the harmonic reader hears in block chords, empty where the
	// caller names the key.
	heard []keyStretch
	// named is set where chords are named and no note is given.
	named bool
	// minor is set where the score closes on the tonic of the relative minor.
	minor bool
	// plainer are the chords that are voiced with fewer notes than their symbols say.
	plainer     []plainer
	progression *voicing.Progression
}

// plainer is a chord symbol and what stands for it at an onset.
type plainer struct {
	symbol, plain string
	onset         theory.Fraction
}

// readTask makes a progression of a score: of block chords, a bass line with
// figures, or a melody with or without chords named beside it. A score that holds
// none of these is a [*musicxml.InputError]. A title that is not asked for is the
// score's.
func (e *Engine) readTask(ctx context.Context, j *voicingJob, in *Input) (*voicing.Progression, error) {
	var r Reading
	if err := e.stages(ctx, e.voices(in, &r)); err != nil {
		return nil, err
	}
	j.odd = r.document.Notices
	t := &task{name: in.Name, key: j.Key, doc: r.document, texture: r.texture, fermatas: fermatasIn(r.texture)}
	if j.title == "" {
		j.title = t.doc.Score.Title
	}
	figures := readSungFigures(t.doc, t.texture)
	j.notices = append(j.notices, figures.say(t.doc.Score, j.Catalog)...)
	j.notices = append(j.notices, leftOut(t.doc.Score, j.Catalog)...)
	t.labels = harmony.TaskAnnotations(t.texture)
	j.symbols = slices.ContainsFunc(t.labels, func(l harmony.Annotation) bool { return l.Source == harmony.FromSymbol })
	err := t.settle(j.Gives)
	j.gives = t.gives
	if err != nil {
		return nil, err
	}
	if t.gives == request.GivesBass && j.Gives == request.Auto && len(t.labels) == 0 {
		j.notices = append(j.notices, j.Catalog.Phrase(partwriting.UnfiguredBass))
	}
	if t.gives == request.GivesChords && t.key == nil && !t.named {
		t.heard = heedSignatures(keysOfChords(harmony.Analyze(t.texture)), t.doc.Score.Measures)
	}
	points := t.points()
	if len(points) == 0 {
		return nil, t.unsuitable(theory.Fraction{}, "There is no chord to voice.", "Write chords, a bass line or a melody.")
	}
	if err := tooMany(len(points)); err != nil {
		return nil, err
	}
	if t.hearable() {
		t.begin(points[0])
		if err := t.fill(points); err != nil {
			return nil, err
		}
		t.hear()
	}
	j.sung = t.words(figures.all(), len(j.Style.Voices))
	t.begin(points[0])
	j.notices = append(j.notices, t.sayKeys(j.Catalog)...)
	err = t.fill(points)
	for _, p := range t.plainer {
		j.notices = append(j.notices, j.Catalog.Phrase(partwriting.FifthGiven, "chord", p.symbol, "plain", p.plain, "measure", t.doc.Score.MeasureAt(p.onset).Label))
	}
	return t.progression, err
}

// begin makes a progression without chords, from an onset on.
func (t *task) begin(onset theory.Fraction) {
	t.plainer = nil
	t.progression = &voicing.Progression{Layout: voicing.Layout{Frame: t.doc.Score.Measures, Start: onset, Tempos: t.doc.Score.Tempos}}
	if t.top != nil {
		t.progression.Layout.Top = t.top.Notes
	}
	if t.bass != nil {
		t.progression.Layout.Bass = t.bass.Notes
	}
}

// nothingToVoice is the code of a score that can be read and not be voiced.
const nothingToVoice = "nothing-to-voice"

// unsuitable is the error of a score that can be read and not be voiced.
func (t *task) unsuitable(onset theory.Fraction, problem, advice string) error {
	e := &musicxml.InputError{Code: nothingToVoice, File: t.name, Problem: problem, Advice: advice}
	if len(t.doc.Score.Measures) > 0 {
		m := t.doc.Score.MeasureAt(onset)
		e.Measure = m.Label
	}
	return e
}

// settle decides what the score gives and which lines that are.
func (t *task) settle(gives string) error {
	// Where a chord has more notes than the others, its extra voice is no line.
	voices := withoutSlashes(t.texture.WithoutExtra().Voices)
	if len(voices) == 0 && len(t.labels) > 0 && (gives == request.Auto || gives == request.GivesChords) {
		t.gives, t.named = request.GivesChords, true
		return nil
	}
	if len(voices) == 0 {
		return t.unsuitable(theory.Fraction{}, "The score has no voice.", "Write chords, a bass line or a melody.")
	}
	if gives == request.Auto {
		gives = t.guess(voices)
	}
	t.gives = gives
	first, last := &voices[0], &voices[len(voices)-1]
	switch gives {
	case request.GivesSoprano:
		t.top = first
	case request.GivesBass, request.GivesUnfigured:
		t.bass = last
	case request.GivesOuter:
		t.top, t.bass = first, last
	}
	if t.gives == request.GivesOuter && len(voices) < 2 {
		return t.unsuitable(theory.Fraction{}, "Two outer voices were asked for, and the score has one.", "Say what the one voice is: a bass or a soprano.")
	}
	lowest := last.Notes[len(last.Notes)-1].Pitch.Class()
	m := t.doc.Score.MeasureAt(last.Notes[len(last.Notes)-1].Onset)
	t.minor = lowest == theory.MajorKey(theory.PitchClassAtFifths(int(m.Key.Fifths))).Relative().Tonic
	return nil
}

// withoutSlashes are the voices without the heads that show rhythm and no pitch, where
// chords are named over them.
func withoutSlashes(voices []theory.Voice) []theory.Voice {
	var out []theory.Voice
	for _, v := range voices {
		v.Notes = slices.DeleteFunc(slices.Clone(v.Notes), func(n theory.VoiceNote) bool { return n.Flags.Has(theory.Slash) })
		if len(v.Notes) > 0 {
			out = append(out, v)
		}
	}
	return out
}

// guess looks at how many voices there are and, of one, how high it lies.
func (t *task) guess(voices []theory.Voice) string {
	switch {
	case len(voices) > 2:
		return request.GivesChords
	case len(voices) == 2:
		return request.GivesOuter
	case len(t.doc.Score.Figures) > 0 || meanHeight(&voices[0]) < theory.MustPitch("C4").Diatonic():
		return request.GivesBass
	}
	return request.GivesSoprano
}

func meanHeight(v *theory.Voice) int {
	sum := 0
	for i := range v.Notes {
		sum += v.Notes[i].Pitch.Diatonic()
	}
	return sum / max(len(v.Notes), 1)
}

// keyAt is the key in which the chords of a place are counted: what the caller says,
// what block chords tell, or what the signature says, the minor key where the score says so or closes in it.
func (t *task) keyAt(onset theory.Fraction) theory.Key {
	for i := len(t.heard) - 1; i >= 0 && t.key == nil; i-- {
		if !onset.Less(t.heard[i].onset) || i == 0 {
			return t.heard[i].key
		}
	}
	signature := t.doc.Score.MeasureAt(onset).Key
	key := theory.MajorKey(theory.PitchClassAtFifths(int(signature.Fifths)))
	if t.key != nil {
		return *t.key
	}
	if signature.Mode == theory.StatedMinor || signature.Mode != theory.StatedMinor && t.minor {
		return key.Relative()
	}
	return key
}

// labelAt returns the chord that is named for an onset, nil for none.
func (t *task) labelAt(onset theory.Fraction) *harmony.Annotation {
	i := sort.Search(len(t.labels), func(i int) bool { return onset.Less(t.labels[i].Onset) })
	if i == 0 || !onset.Less(t.labels[i-1].End) {
		return nil
	}
	return &t.labels[i-1]
}

// points are the onsets at which a chord is to stand, in order: at every block
// chord, every label, and every note of a given line that is no passing note by
// its length and place.
func (t *task) points() []theory.Fraction {
	var out []theory.Fraction
	if t.gives == request.GivesChords && !t.named {
		for i := range t.texture.Moments {
			out = append(out, t.texture.Moments[i].Onset)
		}
		return out
	}
	for i := range t.labels {
		out = append(out, t.labels[i].Onset)
	}
	for _, line := range []*theory.Voice{t.bass, t.top} {
		if line == nil || line == t.top && (t.bass != nil || len(t.labels) > 0) {
			continue
		}
		if line == t.top {
			out = append(out, t.tune().Points()...)
			continue
		}
		for i := range line.Notes {
			if t.carries(&line.Notes[i]) {
				out = append(out, line.Notes[i].Onset)
			}
		}
	}
	slices.SortFunc(out, theory.Fraction.Cmp)
	out = slices.Compact(out)
	return slices.DeleteFunc(out, t.passed)
}

// passed reports whether no chord is to stand at an onset of a line or label: within the
// time of a figured chord, which goes on over the notes of the bass that it holds, or where
// a line rests and no chord is named; a chord that is named sounds without the line.
func (t *task) passed(onset theory.Fraction) bool {
	label := t.labelAt(onset)
	if label != nil && (label.Source == harmony.FromFigures || label.Onset == onset) {
		return label.Onset != onset
	}
	line := t.top
	if line == nil {
		line = t.bass
	}
	return line == nil || noteAt(line, onset) == nil
}

// carries reports whether a note of a line takes a chord of its own.
func (t *task) carries(n *theory.VoiceNote) bool {
	return voicing.Carries(n, t.doc.Score.MeasureAt(n.Onset))
}

// tune is the upper line.
func (t *task) tune() *voicing.Tune {
	last := &t.top.Notes[len(t.top.Notes)-1]
	return &voicing.Tune{Notes: t.top.Notes, Score: t.doc.Score, Key: t.keyAt,
		Closes: func(n *theory.VoiceNote) bool { return n.Onset == last.Onset || t.phraseEnds(n.Onset, n.End()) }}
}

// notesFrom are the notes of a line that sound from an onset up to another.
func notesFrom(line *theory.Voice, onset, until theory.Fraction) []theory.VoiceNote {
	first, end := voicing.SoundingBetween(line.Notes, onset, until)
	return line.Notes[first:end]
}

// noteAt returns the note of a line that sounds at an onset, nil for a rest.
func noteAt(line *theory.Voice, onset theory.Fraction) *theory.VoiceNote {
	i := sort.Search(len(line.Notes), func(i int) bool { return onset.Less(line.Notes[i].Onset) })
	if i == 0 || !onset.Less(line.Notes[i-1].End()) {
		return nil
	}
	return &line.Notes[i-1]
}

// fill reads the chord at each point.
func (t *task) fill(points []theory.Fraction) error {
	end := t.doc.Score.End()
	for i, onset := range points {
		next := end
		if i+1 < len(points) {
			next = points[i+1]
		}
		if label := t.labelAt(onset); label != nil && label.Silent && t.gives != request.GivesBass && (t.named || t.gives != request.GivesChords) {
			t.progression.Rest(next.Sub(onset))
			continue
		}
		c := voicing.ProgressionChord{Duration: next.Sub(onset), Line: 1, PhraseEnd: t.phraseEnds(onset, next)}
		if err := t.chord(&c, onset, next, i == 0); err != nil {
			return err
		}
		silent := theory.Fraction{}
		if t.gives == request.GivesChords && !t.named {
			silent = next.Sub(t.soundsUntil(onset, next))
		}
		c.Duration = c.Duration.Sub(silent)
		t.progression.Add(c)
		if silent.Sign() > 0 {
			t.progression.Rest(silent)
		}
	}
	if len(t.progression.Chords) == 0 {
		return t.unsuitable(points[0], "No chord is named: all symbols say that none sounds.", "Name a chord, or write one.")
	}
	t.progression.NameSixFours()
	if t.bass != nil {
		t.progression.Figures = harmony.GivenFigures(t.doc.Score, t.bass)
	}
	return t.prepared(points)
}

// soundsUntil is where the block chord at an onset ends that another follows: a rest between
// chords stays one.
func (t *task) soundsUntil(onset, next theory.Fraction) theory.Fraction {
	end := onset
	for v := range t.texture.Voices {
		if n := noteAt(&t.texture.Voices[v], onset); n != nil && end.Less(n.End()) {
			end = n.End()
		}
	}
	if !onset.Less(end) || next.Less(end) {
		return next
	}
	return end
}

// prepared is an error where a suspension of the figures has nothing to hold over.
func (t *task) prepared(points []theory.Fraction) error {
	late, k, found := t.progression.Unprepared()
	if !found {
		return nil
	}
	onset := points[0]
	for i := range k {
		onset = onset.Add(t.progression.Chords[i].Duration)
	}
	return t.unsuitable(onset, fmt.Sprintf("The figures %s on beat %g suspend %v, which no voice of the chord before can hold over.", t.progression.Chords[k].Text, t.beat(onset), late.From),
		fmt.Sprintf("Put a chord with %v before them, or leave the suspension out.", late.From))
}

// fermatasIn are the onsets of the notes that have a fermata, in order.
func fermatasIn(t *theory.Texture) (out []theory.Fraction) {
	for v := range t.Voices {
		for i := range t.Voices[v].Notes {
			if n := &t.Voices[v].Notes[i]; n.Flags.Has(theory.Fermata) {
				out = append(out, n.Onset)
			}
		}
	}
	slices.SortFunc(out, theory.Fraction.Cmp)
	return out
}

// phraseEnds reports whether a fermata stands between two onsets, or a bar line
// that closes a phrase behind them.
func (t *task) phraseEnds(onset, next theory.Fraction) bool {
	if i, _ := slices.BinarySearchFunc(t.fermatas, onset, theory.Fraction.Cmp); i < len(t.fermatas) && t.fermatas[i].Less(next) {
		return true
	}
	m := t.doc.Score.MeasureAt(onset)
	return m.PhraseBar && !next.Less(m.Onset.Add(m.Length))
}
