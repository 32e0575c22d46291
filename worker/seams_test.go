package worker

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony/tune"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

var seamTasks = flag.Int("seam-tasks", 10, "how many tasks of several phrases are voiced in each texture")

// TestSeamsHoldNoFault voices tasks of two or three random phrases in every texture and
// under a teacher's own law: chords, melodies and basses by turns. Each is written as
// MusicXML, read again and judged. Nothing grave is found from one phrase to the next; what
// is remarked on there is what was charged for, and stands only where all that would do
// without costs more.
func TestSeamsHoldNoFault(t *testing.T) {
	for _, texture := range phraseTextures(t) {
		t.Run(texture.name, func(t *testing.T) {
			texture.style.Rules = texture.set
			random := rand.New(rand.NewPCG(317, 331))
			tally := &seamTally{}
			for i := range *seamTasks {
				kind := seamKinds[i%len(seamKinds)]
				tally.add(t, kind, randomPhrases(random), texture.style)
			}
			t.Log(tally)
			if tally.voiced*10 < tally.tasks*7 || tally.seams < tally.tasks {
				t.Errorf("only %d of %d tasks are voiced, with %d seams", tally.voiced, tally.tasks, tally.seams)
			}
		})
	}
}

// seamKinds are the kinds of tasks: chords; a melody or a bass whose chords are chosen; chords
// with their bass, or with both outer lines, which nobody has led over the seams.
var seamKinds = []string{"chords", "soprano", "unfigured", "bass", "outer"}

// randomPhrases are two or three phrases in one key, the last chord of each long or short,
// so that some end within a measure.
func randomPhrases(random *rand.Rand) string {
	first := randomPhrase(random)
	key, _, _ := strings.Cut(first, ": ")
	phrases := []string{lengthened(first, random)}
	for n := 2 + random.IntN(2); len(phrases) < n; {
		next := randomPhrase(random)
		if other, chords, _ := strings.Cut(next, ": "); (other[0] >= 'a') == (key[0] >= 'a') {
			if words := strings.Fields(chords); random.IntN(2) == 0 && len(words) > 4 {
				chords = strings.Join(words[1:], " ") // not every phrase begins with the tonic
			}
			phrases = append(phrases, lengthened(chords, random))
		}
	}
	return strings.Join(phrases, " || ")
}

func lengthened(phrase string, random *rand.Rand) string {
	return phrase + []string{"", "*2", "*3", "*2"}[random.IntN(4)]
}

// seamTally is what the seams of many tasks came to.
type seamTally struct {
	tasks, voiced, seams, remarks, dear int
	cost                                voicing.Cost
}

func (s *seamTally) String() string {
	return fmt.Sprintf("%d tasks, %d voiced without a fault, %d seams, at %d a consecutive is remarked on (%d times of them there is no way without); mean cost %.1f",
		s.tasks, s.voiced, s.seams, s.remarks, s.dear, float64(s.cost)/100/float64(max(s.voiced, 1)))
}

func (s *seamTally) add(t *testing.T, kind, text string, style voicing.Style) {
	t.Helper()
	progression, problem := seamProblem(t, kind, text, style)
	if problem == nil {
		return
	}
	s.tasks++
	search, err := voicing.NewSearch(t.Context(), problem)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	best, broken := search.LeastBad()
	for k := range len(best.Chords) - 1 {
		if best.Chords[k].PhraseEnd {
			s.seams++
		}
	}
	if broken == 0 {
		s.voiced++
		s.cost += best.Cost
	}
	remarked := 0
	read, found := findingsAsWritten(t, "seam", text, problem, progression, best)
	if faults := faultsOfLeading(found); broken == 0 && len(faults) > 0 {
		t.Errorf("%s, %s: %s at %v: %v", kind, text, faults[0].Rule, faults[0].Onset, best.Chords)
	}
	for i := range found {
		f := &found[i]
		isSeam := overSeam(read, best, progression, f)
		switch {
		case f.Severity >= partwriting.Caution && isSeam:
			t.Errorf("%s, %s: %s at %v: %v", kind, text, f.Rule, f.Onset, best.Chords)
		case isSeam && f.Licence == partwriting.BetweenPhrases:
			remarked++
		}
	}
	if charged := chargedForSeams(t, search, best, style); charged != remarked {
		t.Errorf("%s, %s: %d consecutives between phrases are remarked on, %d charged for: %v", kind, text, remarked, charged, best.Chords)
	}
	if remarked > 0 && broken == 0 {
		s.remarks++
		s.proveDear(t, text, problem, best, remarked)
	}
}

// proveDear looks for the cheapest voicing with fewer consecutives at the seams, at a price
// that nothing else outweighs. If there is one, it costs more than they do.
func (s *seamTally) proveDear(t *testing.T, text string, problem *voicing.Problem, best *voicing.Solution, remarked int) {
	t.Helper()
	const dear = 100_000
	usual := problem.Style.Weights.SeamConsecutive
	without := *problem
	without.Style.Weights.SeamConsecutive = dear
	all, err := voicing.Alternatives(&without, 1)
	if err != nil {
		t.Fatal(err)
	}
	fewer := all[0]
	left := fewer.Cost / dear
	if left >= voicing.Cost(remarked) {
		s.dear++
		return
	}
	if cost := fewer.Cost - left*(dear-usual); cost < best.Cost {
		t.Errorf("%s: %d consecutives for %d, %d of them would cost %d", text, remarked, best.Cost, left, cost)
	}
}

// chargedForSeams counts the consecutives between phrases that a voicing is charged for.
func chargedForSeams(t *testing.T, search *voicing.Search, s *voicing.Solution, style voicing.Style) int {
	t.Helper()
	explanation, err := search.Explain(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	sum := voicing.Cost(0)
	for _, change := range explanation.Changes {
		for _, c := range change.Charges {
			if c.Term == "seam-consecutive" {
				sum += c.Cost
			}
		}
	}
	return int(sum / style.Weights.SeamConsecutive)
}

// overSeam reports whether a finding is about how one phrase goes on to the next: it has
// notes of both, or says at the start of the second that all voices go one way.
func overSeam(read *theory.Texture, s *voicing.Solution, p *voicing.Progression, f *partwriting.Finding) bool {
	at := p.Layout.Start
	for k := range s.Chords {
		if at = at.Add(p.Chords[k].Duration); !s.Chords[k].PhraseEnd {
			continue
		}
		before, after := 0, 0
		for _, n := range f.Notes {
			if read.Voices[n.Voice].Notes[n.Note].Onset.Less(at) {
				before++
			} else {
				after++
			}
		}
		if before > 0 && after > 0 || f.Rule == "all-one-direction" && f.Onset == at {
			return true
		}
	}
	return false
}

// seamProblem makes a problem of a kind of phrases; given lines are those of a voicing. It is
// nil where the phrases have none.
func seamProblem(t *testing.T, kind, text string, style voicing.Style) (*voicing.Progression, *voicing.Problem) {
	t.Helper()
	chords, err := voicing.ReadProgression(text)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	if kind == "chords" {
		return chords, chords.Problem(style)
	}
	led := style
	led.Weights.SeamConsecutive = 0
	first, err := voicing.Solve(chords.Problem(led))
	if errors.As(err, new(*voicing.ImpossibleError)) {
		return nil, nil
	} else if err != nil {
		t.Fatal(err)
	}
	last := len(style.Voices) - 1
	if kind == "bass" || kind == "outer" {
		for k := range chords.Chords {
			chords.Chords[k].Bass = &first.Chords[k].Pitches[last]
			if kind == "outer" {
				chords.Chords[k].Fixed = []*theory.Pitch{&first.Chords[k].Pitches[0]}
			}
		}
		return chords, chords.Problem(style)
	}
	voice := 0
	if kind == "unfigured" {
		voice = last
	}
	key, _, _ := strings.Cut(text, ": ")
	words := []string{key + ":", kind}
	for k := range first.Chords {
		words = append(words, fmt.Sprintf("%v*%v", first.Chords[k].Pitches[voice], chords.Chords[k].Duration))
		if first.Chords[k].PhraseEnd {
			words = append(words, "||")
		}
	}
	line, err := voicing.ReadProgression(strings.Join(words, " "))
	if err != nil {
		t.Fatalf("%v: %v", words, err)
	}
	pose := func() *voicing.Problem { return line.Problem(style) }
	if err := line.Harmonize(context.Background(), tune.Default, voicing.Applied, pose); err != nil {
		t.Fatalf("%v: %v", words, err)
	}
	return line, pose()
}
