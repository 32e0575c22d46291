package main

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
	"partwright/theory/voicing"
)

// melodiesEach is how many melodies are voiced over each phrase of labels.
const melodiesEach = 6

// realPhraseWeighs is how often a phrase with its own melody counts.
const realPhraseWeighs = 2

// melodyFolds is the number of parts of a cross-validation.
const melodyFolds = 3

// shortestPhrase has a beginning, a middle and an end.
const shortestPhrase = 3

// melodies fits the model of chords under a melody and writes it. With held set it says
// first how often it agrees with the analyses of chorales it has not seen.
func melodies(w io.Writer, data, out string, held bool) error {
	chorales, err := readSet(data, "chorales")
	if err != nil {
		return err
	}
	textbooks, err := readSet(data, "textbooks")
	if err != nil {
		return err
	}
	var own []tune.Example
	for _, e := range textbooks.examples {
		own = append(own, sung(e)...)
	}
	for i := range own {
		own[i].Weight = realPhraseWeighs
	}
	voiced := make([][]tune.Example, len(chorales.examples))
	each(len(voiced), func(i int) { voiced[i] = voicedOver(chorales.examples[i].labels, uint64(i)) }) //nolint:gosec // an index
	learn := func(fold int) *tune.Model {
		all := append([]tune.Example(nil), own...)
		for i := range voiced {
			if i%melodyFolds != fold {
				all = append(all, voiced[i]...)
			}
		}
		return tune.Fit(all)
	}
	if held {
		var total agreement
		var whole harmonized
		for fold := range melodyFolds {
			m := learn(fold)
			for i, e := range chorales.examples {
				if i%melodyFolds == fold {
					total.count(m, sung(e))
					whole.count(m, sung(e))
				}
			}
		}
		fmt.Fprintf(w, "voiced: %v\n", &whole)
		fmt.Fprintf(w, "root under a chorale melody: %v; I, IV and V alone %.1f %%\n", &total, 100*float64(total.plain)/float64(max(total.beats, 1)))
	}
	file, err := os.Create(filepath.Join(out, "tune", "weights.tsv")) // #nosec G304 -- the folder that was named
	if err != nil {
		return err
	}
	err = learn(-1).Write(file)
	if closing := file.Close(); err == nil {
		err = closing
	}
	return err
}

// agreement counts at how many beats the root is that of an analysis: the model's, and
// that of I, IV or V as the note has it.
type agreement struct{ beats, right, plain int }

func (a *agreement) String() string {
	return fmt.Sprintf("%.1f %% of %d beats", 100*float64(a.right)/float64(max(a.beats, 1)), a.beats)
}

func (a *agreement) count(m *tune.Model, phrases []tune.Example) {
	for _, p := range phrases {
		options := m.Options(p.Notes, p.Key, func(int, harmony.Reading) bool { return true })
		for i := range p.Notes {
			a.beats++
			root := p.Chords[i].Root()
			for _, o := range options[i] {
				if o.Behind == 0 {
					if o.Root() == root {
						a.right++
					}
					break
				}
			}
			if plainRoot(p.Key, p.Notes[i].Pitch) == root {
				a.plain++
			}
		}
	}
}

// harmonized counts the same where the program voices the phrase, for the first answer and
// for the best of several.
type harmonized struct{ beats, right, best, unvoiced, phrases int }

// answersCompared is of how many answers the best is taken.
const answersCompared = 5

func (h *harmonized) String() string {
	all := float64(max(h.beats, 1))
	return fmt.Sprintf("first %.1f %%, best of %d %.1f %% of %d beats; %d of %d phrases not voiced",
		100*float64(h.right)/all, answersCompared, 100*float64(h.best)/all, h.beats, h.unvoiced, h.phrases)
}

func (h *harmonized) count(m *tune.Model, phrases []tune.Example) {
	for i := range phrases {
		p := &phrases[i]
		h.beats, h.phrases = h.beats+len(p.Notes), h.phrases+1
		found := harmonize(m, p)
		if len(found) == 0 {
			h.unvoiced++
		}
		most := 0
		for k, s := range found {
			right := 0
			for i, c := range s.Chords {
				if c.Reading.Root() == p.Chords[i].Root() {
					right++
				}
			}
			if most = max(most, right); k == 0 {
				h.right += right
			}
		}
		h.best += most
	}
}

// harmonize voices a phrase as a user would have it voiced.
func harmonize(m *tune.Model, e *tune.Example) []*voicing.Solution {
	p := &voicing.Progression{}
	four := theory.TimeSignature{Beats: 4, BeatType: 4}
	for i, n := range e.Notes {
		c := voicing.ProgressionChord{
			Reading: harmony.Reading{Key: e.Key}, Choices: voicing.UnderMelody(n.Pitch, e.Key).Choices,
			Duration: theory.Whole(1), Fixed: []*theory.Pitch{&e.Notes[i].Pitch}, Open: i > 0, PhraseEnd: i == len(e.Notes)-1,
		}
		if len(c.Choices) == 0 {
			return nil
		}
		if i == 0 {
			c.Choices = voicing.Opening(c.Choices)
		}
		p.Chords, p.Layout.Durations = append(p.Chords, c), append(p.Layout.Durations, c.Duration)
		// A measure for each beat, which begins where the beat is as strong as in the score.
		into := map[int]int64{3: 0, 2: 2}[n.Strength]
		if n.Strength < 2 {
			into = 1
		}
		at := theory.Whole(int64(i))
		p.Layout.Frame = append(p.Layout.Frame, theory.Measure{Index: i, Onset: at, Length: theory.Whole(1), Into: theory.Whole(into), Time: four})
	}
	if p.End(voicing.AsGiven) != nil {
		return nil
	}
	p.Harmonize(m, voicing.Applied)
	search, err := voicing.NewSearch(context.Background(), p.Problem(voicing.Chorale()))
	if err != nil {
		return nil
	}
	found, err := search.Alternatives(context.Background(), answersCompared)
	if err != nil {
		least, _ := search.LeastBad()
		found = []*voicing.Solution{least}
	}
	if len(found[0].Chords) != len(e.Notes) {
		return nil
	}
	return found
}

// plainRoot is the root of I, IV or V under a note: the fourth and sixth degrees are in IV,
// the second and seventh in V, all else is taken for I.
func plainRoot(key theory.Key, p theory.Pitch) theory.PitchClass {
	scale := key.Scale()
	switch degree, _ := key.Degree(p.Class()); degree {
	case 2, 7:
		return scale[4]
	case 4, 6:
		return scale[3]
	}
	return scale[0]
}

// beatLabel is a beat with the chord that an analysis has there.
type beatLabel struct {
	harmony.Reading
	strength int
}

// cut takes phrases of beats and gives each the key that most of its beats have.
func cut(beats []beatLabel, pitches []theory.Pitch) []tune.Example {
	if len(beats) < shortestPhrase {
		return nil
	}
	e := tune.Example{Weight: 1}
	counts, most := map[theory.Key]int{}, 0
	for i, b := range beats {
		e.Chords = append(e.Chords, b.Reading)
		e.Notes = append(e.Notes, tune.Note{Pitch: pitches[i], Strength: b.strength})
		if counts[b.Key]++; counts[b.Key] > most {
			most, e.Key = counts[b.Key], b.Key
		}
	}
	return []tune.Example{e}
}

// sung are the phrases of a score: the note of its top voice on each beat, cut at
// fermatas, with the chords of its analysis.
func sung(e *example) []tune.Example {
	placed := e.labels.Place(e.texture)
	if len(placed) == 0 || len(e.texture.Voices) == 0 {
		return nil
	}
	var out []tune.Example
	var beats []beatLabel
	var pitches []theory.Pitch
	top, label, note := e.texture.Voices[0].Notes, 0, 0
	for onset := (theory.Fraction{}); onset.Less(e.texture.Score.End()); {
		m := e.texture.Score.MeasureAt(onset)
		next := onset.Add(m.Time.Beat())
		if end := m.Onset.Add(m.Length); end.Less(next) {
			next = end
		}
		for label+1 < len(placed) && !onset.Less(placed[label+1].Onset) {
			label++
		}
		for note < len(top) && !onset.Less(top[note].End()) {
			note++
		}
		if note < len(top) && !onset.Less(top[note].Onset) && !onset.Less(placed[label].Onset) {
			strength := m.Time.Strength(onset.Sub(m.Onset).Add(m.Into))
			beats, pitches = append(beats, beatLabel{placed[label].Reading, strength}), append(pitches, top[note].Pitch)
		}
		if fermataEnds(top[note:], next) {
			out = append(out, cut(beats, pitches)...)
			beats, pitches = nil, nil
		}
		onset = next
	}
	return append(out, cut(beats, pitches)...)
}

// fermataEnds reports whether a note with a fermata is over at a moment, of those that
// begin before it.
func fermataEnds(notes []theory.VoiceNote, moment theory.Fraction) bool {
	for i := range notes {
		if !notes[i].Onset.Less(moment) {
			break
		}
		if notes[i].Flags.Has(theory.Fermata) && !moment.Less(notes[i].End()) {
			return true
		}
	}
	return false
}

// voicedOver are the phrases of an analysis with melodies that the program finds for them.
func voicedOver(labels *harmony.RomanText, seed uint64) []tune.Example {
	random := rand.New(rand.NewPCG(seed, 7)) // #nosec G404 -- melodies to learn from
	var out []tune.Example
	for _, beats := range labeledBeats(labels) {
		if len(beats) < shortestPhrase {
			continue
		}
		for range melodiesEach {
			if pitches := topLine(beats, random); pitches != nil {
				out = append(out, cut(beats, pitches)...)
			}
		}
	}
	return out
}

// labeledBeats are the beats of an analysis by phrases, from its labels alone.
func labeledBeats(labels *harmony.RomanText) [][]beatLabel {
	var out [][]beatLabel
	var beats []beatLabel
	for i, e := range labels.Entries {
		if e.Suffix != "" {
			continue
		}
		beat, measure := e.Time.Beat(), e.Time.Measure()
		end := e.Offset.Add(beat)
		if i+1 < len(labels.Entries) && labels.Entries[i+1].Suffix == "" {
			next := labels.Entries[i+1]
			end = next.Offset.Add(measure.Mul(theory.Whole(int64(next.Measure - e.Measure))))
		}
		count := e.Offset.Div(beat)
		first := count.Num() / count.Den()
		if count.Den() != 1 {
			first++
		}
		for at := beat.Mul(theory.Whole(first)); at.Less(end); at = at.Add(beat) {
			into := at
			for !into.Less(measure) {
				into = into.Sub(measure)
			}
			beats = append(beats, beatLabel{e.Reading, e.Time.Strength(into)})
		}
		if e.PhraseEnd {
			out, beats = append(out, beats), nil
		}
	}
	return append(out, beats)
}

// topLine voices the chords of a phrase with a taste of its own, and returns the top
// voice, nil where they cannot be voiced.
func topLine(beats []beatLabel, random *rand.Rand) []theory.Pitch {
	p := &voicing.Problem{Style: voicing.Chorale()}
	w := &p.Style.Weights
	for _, cost := range []*voicing.Cost{&w.SopranoStays, &w.SopranoTurns, &w.Arch, &w.Leap, &w.SimilarToBass, &w.ImperfectClose, &w.Semitone} {
		*cost = voicing.Cost(float64(*cost) * (0.3 + 1.7*random.Float64()))
	}
	for i, b := range beats {
		slot := voicing.Given(b.Reading)
		slot.PhraseEnd = i == len(beats)-1
		p.Slots = append(p.Slots, slot)
	}
	for _, i := range []int{0, 1 + random.IntN(len(beats)-1)} {
		r := beats[i].Reading
		p.Slots[i].Top = []theory.PitchClass{r.Member(random.IntN(min(r.Size(), 3+i)))}
	}
	search, err := voicing.NewSearch(context.Background(), p)
	if err != nil {
		return nil
	}
	found, err := search.Alternatives(context.Background(), 1)
	if err != nil {
		return nil
	}
	var out []theory.Pitch
	for _, c := range found[0].Chords {
		out = append(out, c.Pitches[0])
	}
	return out
}
