package voicing

import (
	"errors"
	"flag"
	"math/rand/v2"
	"reflect"
	"sort"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

var manyProgressions = flag.Int("progressions", 500, "how many random progressions are compared with exhaustive enumeration")

// Numerals that random progressions are made of.
var (
	majorWords = strings.Fields("I I6 I64 Imaj7 ii ii6 ii7 ii65 ii42 iii iii6 iii7 IV IV6 IV64 IVmaj7 IVmaj65 V V6 V64 V7 V65 V43 V42 vi vi6 vi7 vi65" +
		" viio6 viio7 viio65 viio43 viiø65 Cad64 V7/V V65/ii V65/IV V42/IV V42/V V43/V viio7/V viio7/vi viio6/ii iio6 iiø65 iv bIII bVI bVII N N6 It6 Fr43 Ger65")
	minorWords = strings.Fields("i i6 i64 i7 iio6 iiø65 iiø43 III III6 IIImaj7 iv iv6 iv65 iv7 IV ii V V6 V64 V7 V65 V43 V42 v v6 VI VI6 VImaj7 VII VII6 VII7" +
		" viio6 viio7 viio65 viio43 Cad64 V7/iv V65/iv V42/iv V65/III V7/VI V43/VII viio7/V viio65/V viio6/iv N N6 It6 Fr43 Ger65 I")
)

// randomProblem draws a progression of two to five chords in a random key within
// a narrow compass, so that every voicing can be tried. Some chords have a free
// bass, some a given soprano note, some end a phrase.
func randomProblem(t testing.TB, random *rand.Rand) *Problem {
	tonic := theory.PitchClassAtFifths(random.IntN(9) - 4)
	key, words := theory.MajorKey(tonic), majorWords
	if random.IntN(2) == 0 {
		key, words = theory.MinorKey(tonic), minorWords
	}
	style := []Style{Chorale(), Chorale(), Keyboard(), ThreeVoices()}[random.IntN(4)]
	p := &Problem{Style: style}
	for v := range p.Style.Voices {
		r := &p.Style.Voices[v]
		r.Low, r.High = r.EasyLow, r.EasyHigh
	}
	for range 2 + random.IntN(4) {
		n, err := harmony.ParseNumeral(words[random.IntN(len(words))], key.Mode)
		if err != nil {
			t.Fatal(err)
		}
		r := harmony.Reading{Key: key, Numeral: n}
		slot := Given(r)
		switch random.IntN(8) {
		case 0:
			if !n.Cadential {
				slot = Inversions(r)
			}
		case 1:
			top := topNote(r, &p.Style.Voices[0], random)
			slot.Fixed = []*theory.Pitch{&top}
		case 2:
			slot.PhraseEnd = true
		}
		p.Slots = append(p.Slots, slot)
	}
	return p
}

func topNote(r harmony.Reading, v *VoiceRange, random *rand.Rand) theory.Pitch {
	style := Chorale()
	chord := &set{reading: r, chord: partwriting.NewChord(r)}
	tones := chord.tonesOf(v, &style, nil, -1, anyhow)
	return tones[random.IntN(len(tones))].pitch
}

// wholeVoicing is one voicing that enumeration has found.
type wholeVoicing struct {
	cost Cost
	at   [5]struct {
		set   *set
		index int
	}
}

// enumeration tries every voicing of a problem one by one. It shares the costs of
// a chord and of a change with the solver, not the search.
type enumeration struct {
	problem *Problem
	layers  [][]*set
	changes map[[2]*set]*motions
	now     wholeVoicing
	all     []wholeVoicing
}

// mostVoicings is how many voicings an enumeration tries at most.
const mostVoicings = 50_000

// enumerate returns every admissible voicing, cheapest first, nil where there would be
// too many to try.
func enumerate(p *Problem) *enumeration {
	e := &enumeration{problem: p, layers: make([][]*set, len(p.Slots)), changes: map[[2]*set]*motions{}}
	for k := range p.Slots {
		slot := p.Slots[k]
		slot.beside = p.beside(k)
		for _, c := range slot.Choices {
			s := arrange(c, &slot, &p.Style)
			p.Position.charge(s, &p.Style.Weights)
			s.shape(p.archAt(k), &p.Style.Weights)
			if k > 0 {
				s.follow(&p.Slots[k-1])
				for _, before := range e.layers[k-1] {
					e.changes[[2]*set{before, s}] = newMotions(before, s, &p.Style, forbidden)
				}
			}
			e.layers[k] = append(e.layers[k], s)
		}
	}
	if e.count() > mostVoicings {
		return nil
	}
	e.walk(0, 0, sopranoFree)
	sort.SliceStable(e.all, func(i, j int) bool { return e.all[i].cost < e.all[j].cost })
	return e
}

// count is how many voicings there are.
func (e *enumeration) count() int {
	var before [][]int // ways to each arrangement of each set
	for k, layer := range e.layers {
		now := make([][]int, len(layer))
		for i, b := range layer {
			now[i] = make([]int, len(b.arrangements))
			for j := range b.arrangements {
				now[i][j] = e.waysTo(k, before, b, &b.arrangements[j])
			}
		}
		before = now
	}
	sum := 0
	for _, ways := range before {
		for _, n := range ways {
			sum += n
		}
	}
	return sum
}

// waysTo is how many voicings lead to an arrangement.
func (e *enumeration) waysTo(k int, before [][]int, b *set, to *arrangement) int {
	if k == 0 {
		return 1
	}
	sum := 0
	for i, a := range e.layers[k-1] {
		m := e.changes[[2]*set{a, b}]
		for j := range a.arrangements {
			if before[i][j] > 0 && m.between(&a.arrangements[j], to) < forbidden {
				sum += before[i][j]
			}
		}
	}
	return sum
}

func (e *enumeration) walk(k int, cost Cost, move sopranoMove) {
	if k == len(e.layers) {
		e.now.cost = cost
		e.all = append(e.all, e.now)
		return
	}
	for _, b := range e.layers[k] {
		var m *motions
		if k > 0 {
			m = e.changes[[2]*set{e.now.at[k-1].set, b}]
		}
		for j := range b.arrangements {
			own := cost + b.arrangements[j].cost + b.choiceCost
			e.now.at[k].set, e.now.at[k].index = b, j
			if k == 0 {
				e.walk(1, own, sopranoFree)
				continue
			}
			before := &e.now.at[k-1].set.arrangements[e.now.at[k-1].index]
			step := m.between(before, &b.arrangements[j])
			if step >= forbidden {
				continue
			}
			now := m.top(&b.arrangements[j])
			e.walk(k+1, own+step+e.problem.Style.Weights.after(move, now), now)
		}
	}
}

// solution writes the i-th voicing out.
func (e *enumeration) solution(i int) *Solution {
	s := &Solution{Cost: e.all[i].cost}
	for k := range e.layers {
		at := e.all[i].at[k]
		c := Chord{Reading: at.set.reading, PhraseEnd: at.set.phraseEnd}
		for v := range e.problem.Style.Voices {
			c.Pitches = append(c.Pitches, at.set.tones[v][at.set.arrangements[at.index].tone[v]].pitch)
		}
		s.Chords = append(s.Chords, c)
	}
	return s
}

// has reports whether a solution is one of those enumerated, at its cost.
func (e *enumeration) has(s *Solution) bool {
	from := sort.Search(len(e.all), func(i int) bool { return e.all[i].cost >= s.Cost })
	for i := from; i < len(e.all) && e.all[i].cost == s.Cost; i++ {
		if reflect.DeepEqual(e.solution(i).Chords, s.Chords) {
			return true
		}
	}
	return false
}

// bestThatDiffer takes the cheapest voicing, then again and again the cheapest
// that sounds different from all before it.
func (e *enumeration) bestThatDiffer(k int) []*Solution {
	var out []*Solution
	for i := 0; i < len(e.all) && len(out) < k; i++ {
		if s := e.solution(i); differsFromAll(s, out) {
			out = append(out, s)
		}
	}
	return out
}

// TestSolveEqualsEnumeration holds the solver to what trying every voicing gives:
// the same least cost, alternatives that are among all voicings at the cost they
// claim, in order and distinct, and impossible exactly where there is nothing.
func TestSolveEqualsEnumeration(t *testing.T) {
	if testing.Short() {
		t.Skip("tries every voicing of random progressions")
	}
	random := rand.New(rand.NewPCG(7, 11))
	tried, compared, solved, second, same := 0, 0, 0, 0, 0
	for range *manyProgressions {
		p := randomProblem(t, random)
		every := enumerate(p)
		if every == nil {
			continue
		}
		compared++
		tried += len(every.all)
		got, err := Alternatives(p, 4)
		var impossible *ImpossibleError
		if errors.As(err, &impossible) && len(every.all) == 0 {
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v, enumeration found %d voicings", describe(p), err, len(every.all))
		}
		solved++
		if got[0].Cost != every.all[0].cost {
			t.Errorf("%s: cost %d, enumeration found %d", describe(p), got[0].Cost, every.all[0].cost)
		}
		for i, s := range got {
			if !every.has(s) {
				t.Errorf("%s: alternative %d is not among all voicings at its cost of %d", describe(p), i+1, s.Cost)
			}
			if i > 0 && (s.Cost < got[i-1].Cost || !differsFromAll(s, got[:i])) {
				t.Errorf("%s: alternative %d costs %d after %d, or sounds like one before it", describe(p), i+1, s.Cost, got[i-1].Cost)
			}
		}
		want := every.bestThatDiffer(4)
		for i := 1; i < len(want); i++ {
			second++
			if i < len(got) && got[i].Cost == want[i].Cost {
				same++
			}
		}
	}
	if compared < *manyProgressions/2 || solved < compared/2 {
		t.Errorf("of %d progressions only %d have few enough voicings, and %d can be voiced", *manyProgressions, compared, solved)
	}
	t.Logf("%d progressions, %d compared, %d can be voiced, %d voicings tried; %d of %d further alternatives cost what enumeration gives", *manyProgressions, compared, solved, tried, same, second)
}

func describe(p *Problem) string {
	var words []string
	for k := range p.Slots {
		words = append(words, p.Slots[k].Choices[0].Reading.String())
	}
	return p.Style.Name + " " + strings.Join(words, " ")
}

// TestTransposedProgressionTransposesTheVoicing moves key, compass and given
// notes together: every alternative moves with them, at the same cost.
func TestTransposedProgressionTransposesTheVoicing(t *testing.T) {
	random := rand.New(rand.NewPCG(13, 17))
	by := []theory.Interval{theory.MajorSecond, theory.MinorSecond.Invert(), theory.PerfectFifth, theory.PerfectFourth.Invert(), theory.PerfectOctave}
	solved := 0
	for range 200 {
		p := randomProblem(t, random)
		up := by[random.IntN(len(by))]
		a, errA := Alternatives(p, 3)
		b, errB := Alternatives(transposed(p, up), 3)
		if (errA == nil) != (errB == nil) || len(a) != len(b) {
			t.Fatalf("%s: %v, up %v: %v", describe(p), errA, up, errB)
		}
		for i := range a {
			solved++
			if a[i].Cost != b[i].Cost {
				t.Errorf("%s: alternative %d costs %d, up %v %d", describe(p), i+1, a[i].Cost, up, b[i].Cost)
			}
			for k := range a[i].Chords {
				for v, pitch := range a[i].Chords[k].Pitches {
					if got := b[i].Chords[k].Pitches[v]; got != pitch.Transpose(up) {
						t.Errorf("%s: chord %d voice %d: %v up %v is %v", describe(p), k, v, pitch, up, got)
					}
				}
			}
		}
	}
	if solved < 200 {
		t.Errorf("only %d voicings compared", solved)
	}
}

func transposed(p *Problem, by theory.Interval) *Problem {
	q := &Problem{Style: p.Style}
	q.Style.Voices, q.Style.LowBelow = nil, p.Style.LowBelow.Transpose(by)
	for _, r := range p.Style.Voices {
		q.Style.Voices = append(q.Style.Voices, VoiceRange{r.Name, r.Low.Transpose(by), r.High.Transpose(by), r.EasyLow.Transpose(by), r.EasyHigh.Transpose(by)})
	}
	for _, s := range p.Slots {
		slot := Slot{PhraseEnd: s.PhraseEnd}
		for _, c := range s.Choices {
			c.Reading.Key.Tonic = c.Reading.Key.Tonic.Transpose(by)
			slot.Choices = append(slot.Choices, c)
		}
		for _, f := range s.Fixed {
			moved := f.Transpose(by)
			slot.Fixed = append(slot.Fixed, &moved)
		}
		q.Slots = append(q.Slots, slot)
	}
	return q
}
