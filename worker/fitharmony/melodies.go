package main

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
	"partwright/theory/voicing"
)

// melodiesEach is how many melodies are voiced over each phrase of labels.
const melodiesEach = 6

// realPhraseWeighs is how often a phrase with its own melody counts.
const realPhraseWeighs = 2

// songWeighs is how often a song's melody counts: it is one phrase, since songs have no fermatas.
const songWeighs = 1

// melodyFolds is the number of parts of a cross-validation.
const melodyFolds = 3

// shortestPhrase has a beginning, a middle and an end.
const shortestPhrase = 3

// given is what a model of chords for a given line learns from and is measured on.
type given struct {
	line tune.Line
	name string
	// file is that of the weights.
	file string
	// made are phrases with a line that the program finds for the labels of an analysis.
	made func(labels *harmony.RomanText, seed uint64) []tune.Example
	// allowed reports whether a chord may stand at a note.
	allowed func(n tune.Note, r harmony.Reading) bool
	// songs is set where songs teach too.
	songs bool
	// plain are simple ways to name the roots of the chords of a phrase.
	plain []plainWay
}

// plainWay is a simple way to name the roots of chords, to compare with.
type plainWay struct {
	name  string
	roots func(p *tune.Example) []theory.PitchClass
}

var melodyLines = &given{
	line: tune.Melody, name: "a chorale melody", file: "weights.tsv", made: voicedOver, songs: true,
	allowed: func(tune.Note, harmony.Reading) bool { return true },
	plain:   []plainWay{{"I, IV and V alone", underNotes}},
}

// phrases are those of a score over its line.
func (g *given) phrases(e *example) []tune.Example {
	if g.line == tune.Bass {
		return sung(e, len(e.texture.Voices)-1)
	}
	return sung(e, 0)
}

// fit fits the model of chords for a line and writes it. With held set it says
// first how often it agrees with the analyses of chorales it has not seen.
func (g *given) fit(w io.Writer, data, out string, held bool) error {
	chorales, err := readSet(data, "chorales")
	if err != nil {
		return err
	}
	own, err := g.own(data)
	if err != nil {
		return err
	}
	made := make([][]tune.Example, len(chorales.examples))
	each(len(made), func(i int) { made[i] = g.made(chorales.examples[i].labels, uint64(i)) }) //nolint:gosec // an index
	learn := func(fold int) *tune.Model {
		all := append([]tune.Example(nil), own...)
		for i := range made {
			if i%melodyFolds != fold {
				all = append(all, made[i]...)
			}
		}
		return tune.Fit(all)
	}
	if held {
		total := newAgreement(g)
		whole := newHarmonized(g)
		for fold := range melodyFolds {
			m := learn(fold)
			for i, e := range chorales.examples {
				if i%melodyFolds == fold {
					total.count(m, g.phrases(e))
					whole.count(m, g.phrases(e))
				}
			}
		}
		fmt.Fprintf(w, "voiced: %v\n", whole)
		fmt.Fprintf(w, "root at the notes of %s: %v\n", g.name, total)
		whole.compare(w)
	}
	model := learn(-1)                                         // before the table is emptied, which a build meanwhile would embed
	file, err := os.Create(filepath.Join(out, "tune", g.file)) // #nosec G304 -- the folder that was named
	if err != nil {
		return err
	}
	err = model.Write(file, g.line)
	if closing := file.Close(); err == nil {
		err = closing
	}
	return err
}

// own are the phrases whose line is their own.
func (g *given) own(data string) (out []tune.Example, err error) {
	weights := map[string]float64{"textbooks": realPhraseWeighs}
	if g.songs {
		weights["songs"] = songWeighs
	}
	for _, name := range []string{"textbooks", "songs"} {
		weight, teaches := weights[name]
		if !teaches {
			continue
		}
		set, err := readSet(data, name)
		if err != nil {
			return nil, err
		}
		for _, e := range set.examples {
			for _, p := range g.phrases(e) {
				p.Weight = weight
				out = append(out, p)
			}
		}
	}
	return out, nil
}

// agreement counts at how many beats the root is that of an analysis: the model's, and
// those of simple ways.
type agreement struct {
	given        *given
	beats, right int
	plain        []int
}

func newAgreement(g *given) *agreement { return &agreement{given: g, plain: make([]int, len(g.plain))} }

func (a *agreement) String() string {
	share := func(n int) float64 { return 100 * float64(n) / float64(max(a.beats, 1)) }
	text := fmt.Sprintf("%.1f %% of %d beats", share(a.right), a.beats)
	for i, way := range a.given.plain {
		text += fmt.Sprintf("; %s %.1f %%", way.name, share(a.plain[i]))
	}
	return text
}

func (a *agreement) count(m *tune.Model, phrases []tune.Example) {
	for i := range phrases {
		p := &phrases[i]
		options := m.Options(p.Notes, p.Key, func(note int, r harmony.Reading) bool { return a.given.allowed(p.Notes[note], r) }, nil)
		for i := range p.Notes {
			a.beats++
			for _, o := range options[i] {
				if o.Behind == 0 {
					if o.Root() == p.Chords[i].Root() {
						a.right++
					}
					break
				}
			}
		}
		for k, way := range a.given.plain {
			for i, root := range way.roots(p) {
				if root == p.Chords[i].Root() {
					a.plain[k]++
				}
			}
		}
	}
}

// underNotes are the roots of I, IV and V alone.
func underNotes(p *tune.Example) []theory.PitchClass {
	var out []theory.PitchClass
	for _, n := range p.Notes {
		out = append(out, plainRoot(p.Key, n.Pitch))
	}
	return out
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

// sung are the phrases of a score: the note of a voice on each beat, cut at
// fermatas of the top voice, with the chords of its analysis.
func sung(e *example, voice int) []tune.Example {
	placed := e.labels.Place(e.texture)
	if len(placed) == 0 || len(e.texture.Voices) == 0 {
		return nil
	}
	var out []tune.Example
	var beats []beatLabel
	var pitches []theory.Pitch
	line, label, note := e.texture.Voices[voice].Notes, 0, 0
	for onset := (theory.Fraction{}); onset.Less(e.texture.Score.End()); {
		m := e.texture.Score.MeasureAt(onset)
		next := onset.Add(m.Time.Beat())
		if end := m.Onset.Add(m.Length); end.Less(next) {
			next = end
		}
		for label+1 < len(placed) && !onset.Less(placed[label+1].Onset) {
			label++
		}
		for note < len(line) && !onset.Less(line[note].End()) {
			note++
		}
		if note < len(line) && !onset.Less(line[note].Onset) && !onset.Less(placed[label].Onset) {
			strength := m.Time.Strength(onset.Sub(m.Onset).Add(m.Into))
			beats, pitches = append(beats, beatLabel{placed[label].Reading, strength}), append(pitches, line[note].Pitch)
		}
		if fermataEnds(e.texture.Voices[0].Notes, onset, next) {
			out = append(out, cut(beats, pitches)...)
			beats, pitches = nil, nil
		}
		onset = next
	}
	return append(out, cut(beats, pitches)...)
}

// fermataEnds reports whether a note with a fermata that sounds from an onset on is over at
// a moment.
func fermataEnds(notes []theory.VoiceNote, onset, moment theory.Fraction) bool {
	first := sort.Search(len(notes), func(i int) bool { return onset.Less(notes[i].End()) })
	for i := first; i < len(notes) && notes[i].Onset.Less(moment); i++ {
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
