package voicing_test

import (
	"context"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// document is what README.md says, read by itself: what each charge costs, in hundredths,
// and the comfortable middle of each voice, in semitones. choice is what each inversion of
// a free bass costs, and freeBass how many times the usual its semitones do.
type document struct {
	costs    map[string]int
	choice   []int
	freeBass int
	easy     map[string][2]int // by style and voice: "chorale S"
	keyboard map[string]int    // costs that keyboard style has of its own
}

func readDocument(t *testing.T) *document {
	t.Helper()
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	d := &document{costs: map[string]int{}, easy: map[string][2]int{}, keyboard: map[string]int{}}
	for _, m := range regexp.MustCompile("(?m)^\\| `([a-z-]+)` \\| ([0-9.]+) \\|").FindAllStringSubmatch(string(text), -1) {
		cost, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		d.costs[m[1]] = int(math.Round(cost * 100))
	}
	for _, m := range regexp.MustCompile(`(?m)^\| ([a-z ]+) \| (\w+) \| \S+ \| (\w[#b]?\d)-(\w[#b]?\d) \|`).FindAllStringSubmatch(string(text), -1) {
		d.easy[m[1]+" "+m[2]] = [2]int{theory.MustPitch(m[3]).Semitones(), theory.MustPitch(m[4]).Semitones()}
	}
	if m := regexp.MustCompile("`choice` is ([0-9., and]+) for root\\s+position and the three inversions of a free bass, whose `bass-semitone` costs (\\w+) times").FindStringSubmatch(string(text)); m != nil {
		for _, n := range regexp.MustCompile(`[0-9.]+`).FindAllString(strings.ReplaceAll(m[1], ",", ""), -1) {
			cost, _ := strconv.ParseFloat(n, 64)
			d.choice = append(d.choice, int(math.Round(cost*100)))
		}
		d.freeBass = map[string]int{"four": 4}[m[2]]
	}
	if m := regexp.MustCompile("Keyboard style charges ([^;]+);").FindStringSubmatch(string(text)); m != nil {
		for _, of := range regexp.MustCompile("([0-9.]+)\\s+for\\s+`([a-z-]+)`").FindAllStringSubmatch(m[1], -1) {
			cost, _ := strconv.ParseFloat(of[1], 64)
			d.keyboard[of[2]] = int(math.Round(cost * 100))
		}
	}
	if len(d.keyboard) != 3 {
		t.Fatalf("README.md has %v for the keyboard", d.keyboard)
	}
	if len(d.choice) != 4 || d.freeBass == 0 || len(d.costs) < 25 || len(d.easy) != 9 {
		t.Fatalf("README.md has %d charges and %d ranges; choices %v, a free bass %d times", len(d.costs), len(d.easy), d.choice, d.freeBass)
	}
	return d
}

// middles are the comfortable middles of a style's voices from the top.
func (d *document) middles(style string) [][2]int {
	voices := map[string][]string{
		"chorale":      {"chorale S", "chorale A", "chorale T", "chorale B"},
		"keyboard":     {"keyboard S", "keyboard A", "keyboard T", "keyboard B"},
		"three voices": {"chorale S", "chorale A", "chorale B"},
		"five voices":  {"chorale S", "five voices S2", "chorale A", "chorale T", "chorale B"},
	}[style]
	var out [][2]int
	for _, v := range voices {
		out = append(out, d.easy[v])
	}
	return out
}

// bill adds up what a voiced phrase costs by what the document says.
type bill struct {
	*document
	problem *voicing.Problem
	chords  []voicing.Chord
	easy    [][2]int
	n       int // voices
	counts  map[string]int
	free    bool // the bass
}

// add charges for something so many times, in units of a quarter.
func (b *bill) add(charge string, quarters int) { b.counts[charge] += quarters }

func (b *bill) once(charge string, is bool) {
	if is {
		b.add(charge, 4)
	}
}

func billOf(d *document, p *voicing.Problem, s *voicing.Solution, free bool) *bill {
	b := &bill{free: free, document: d, problem: p, chords: s.Chords, easy: d.middles(p.Style.Name), n: len(p.Style.Voices), counts: map[string]int{}}
	for k := range b.chords {
		b.standing(k)
		b.arch(k)
		switch {
		case k == 0:
		case p.Slots[k-1].PhraseEnd:
			for v := range b.n {
				b.add("semitone", abs(b.move(k, v).Semitones))
			}
			b.seam(k)
		default:
			b.lines(k)
			b.pairs(k)
			b.top(k)
		}
	}
	return b
}

func (b *bill) charges() map[string]int {
	out := map[string]int{}
	for name, quarters := range b.counts {
		cost := b.costs[name]
		if name == "bass-semitone" && b.free {
			cost *= b.freeBass
		}
		if of, ok := b.keyboard[name]; ok && b.problem.Style.Name == "keyboard" {
			cost = of
		}
		if c := cost * quarters / 4; c != 0 {
			out[name] = c
		}
	}
	for k := range b.chords {
		if len(b.problem.Slots[k].Choices) > 1 {
			out["choice"] += b.choice[b.chords[k].Reading.Inversion()]
		}
	}
	if out["choice"] == 0 {
		delete(out, "choice")
	}
	return out
}

func abs(n int) int { return max(n, -n) }

func (b *bill) semitones(k, v int) int { return b.chords[k].Pitches[v].Semitones() }

func (b *bill) member(k, v int) int {
	return b.chords[k].Reading.MemberOf(b.chords[k].Pitches[v].Class())
}

// move is that of voice v to chord k.
func (b *bill) move(k, v int) theory.Interval {
	return theory.Between(b.chords[k-1].Pitches[v], b.chords[k].Pitches[v])
}

func (b *bill) open(k int) bool { return b.semitones(k, 0)-b.semitones(k, b.n-2) > 12 }

// standing charges for a chord by itself.
func (b *bill) standing(k int) {
	r := b.chords[k].Reading
	var count [4]int
	for v := range b.n {
		count[b.member(k, v)]++
		at := b.semitones(k, v)
		b.add("uneasy", 4*max(0, b.easy[v][0]-at, at-b.easy[v][1]))
		b.once("unison-pair", v > 0 && b.semitones(k, v-1) == at)
	}
	usual := b.usual(r)
	for m := range r.Size() {
		if !slices.Contains(usual, m) {
			times := 4
			if r.Numeral.Cadential {
				times = 16
			}
			b.add("doubling", times*max(0, count[m]-1))
		}
	}
	if count[2] == 0 {
		first, end := b.phrase(k)
		settled := k > first && len(b.problem.Slots[k-1].Choices) == 1
		if b.add("omitted-fifth", 4); settled && k == end-1 && r.Inversion() == 0 && b.chords[k-1].Reading.Root().Fifths() == r.Root().Fifths()+1 {
			b.add("omitted-fifth", -2)
		}
	}
	for m := range r.Size() {
		if count[m] == 0 && b.expected(r, m) {
			b.add("omitted-fifth", 16)
		}
	}
	b.once("omitted-fifth", b.n == 3 && r.Size() == 4 && count[0] == 0)
	gap := b.semitones(k, b.n-2) - b.semitones(k, b.n-1)
	b.once("low-third", gap >= 1 && gap <= 4 && b.semitones(k, b.n-1) < theory.MustPitch("C3").Semitones())
	b.add("spread", 4*max(0, gap-19))
	switch b.problem.Position {
	case voicing.ClosePosition:
		b.once("other-position", b.open(k))
	case voicing.OpenPosition:
		b.once("other-position", !b.open(k))
	case voicing.AnyPosition:
	}
}

// expected reports whether a chord is to have a member: the fifth may go from major and
// minor triads and sevenths in root position, and where there are more members than
// voices; over the fifth of a seventh chord the root goes instead.
func (b *bill) expected(r harmony.Reading, member int) bool {
	q := r.Quality()
	switch member {
	case 0:
		return b.n >= r.Size() || r.Inversion() != 2
	case 2:
		plain := q == harmony.MajorTriad || q == harmony.MinorTriad || q.IsSeventh() && !q.IsAugmentedSixth()
		return b.n >= r.Size() && (r.Inversion() > 0 || !plain)
	}
	return true
}

// advised are the rules whose cautions the charge of that name is for.
var advised = []partwriting.RuleID{
	"third-doubled", "bass-doubled-in-six", "six-four-doubling", "diminished-triad-doubling", "chromatic-doubling",
	"leading-tone-doubled", "seventh-doubled", "altered-tone-doubled", "third-missing", "root-missing", "seventh-missing",
	"spacing", "hand-span", "bass-gap", "direct-fifths", "direct-octaves", "contrary-fifths", "contrary-octaves", "cross-relation",
	"seventh-unprepared", "cadential-six-four-unprepared", "cadential-six-four-unresolved", "neapolitan-unresolved",
	"altered-tone-unresolved", "applied-leading-tone-unresolved", "leading-tone-unresolved",
	"augmented-interval", "leap-of-seventh", "leap-over-octave",
}

// isAdvised reports whether a check of the phrase advises caution by one of them.
func isAdvised(p *voicing.Problem, s *voicing.Solution) (first partwriting.RuleID) {
	layout := voicing.Layout{}
	texture := s.Texture(&p.Style, layout)
	for _, f := range partwriting.Check(texture, s.Harmony(texture, layout), p.Style.RuleSet()) {
		if f.Severity == partwriting.Caution && slices.Contains(advised, f.Rule) {
			return f.Rule
		}
	}
	return ""
}

// usual are the members whose doubling costs nothing: 0 the root, 1 the third.
func (b *bill) usual(r harmony.Reading) []int {
	q := r.Quality()
	switch {
	case q == harmony.ItalianSixth:
		return []int{r.MemberOf(r.Key.Tonic)}
	case q.IsAugmentedSixth():
		return nil
	case q.IsSeventh():
		return []int{0}
	case r.Inversion() == 2:
		return []int{2}
	case q == harmony.DiminishedTriad, r.Numeral.IsNeapolitan(r.Key.Mode):
		return []int{1}
	case r.Inversion() == 1:
		return []int{0, 2}
	}
	return []int{0}
}

// phrase are the bounds of the phrase of a chord, the second past its end.
func (b *bill) phrase(k int) (first, end int) {
	first, end = k, k+1
	for first > 0 && !b.problem.Slots[first-1].PhraseEnd {
		first--
	}
	for end < len(b.chords) && !b.problem.Slots[end-1].PhraseEnd {
		end++
	}
	return first, end
}

// arch charges for the height of the top voice, and for an imperfect close.
func (b *bill) arch(k int) {
	first, end := b.phrase(k)
	n, i, at := end-first, k-first, b.semitones(k, 0)
	low, high := b.easy[0][0], b.easy[0][1]
	middle := (low + high) / 2
	way := min(2*(n-1), high-low)
	switch contour := b.problem.Contour; {
	case contour == voicing.FreeContour:
	case contour != voicing.Arch && n > 1:
		place := map[voicing.Contour]int{
			voicing.Rising: middle - way/2 + way*i/(n-1), voicing.Falling: middle + way/2 - way*i/(n-1), voicing.Steady: middle,
		}[contour]
		b.add("arch", 4*16*max(0, abs(at-place)-2))
	case n >= 5:
		rise := (high - middle) * (6*i + 3) / (4 * n)
		if 6*i+3 > 4*n {
			rise = (high - middle) * (6*n - 6*i - 3) / (2 * n)
		}
		floor := low
		if 5*rise >= 4*(high-middle) {
			floor = (middle + high) / 2
		}
		b.add("arch", 4*max(0, at-middle-rise, floor-at))
	}
	if k == end-1 && k > first {
		one := b.chords[k].Reading.Numeral
		dominant := slices.ContainsFunc(b.problem.Slots[k-1].Choices, func(c voicing.Choice) bool {
			five := c.Reading.Numeral
			return five.Degree == 5 && five.IsDominant() && !five.IsApplied() && five.Inversion == 0
		})
		b.once("imperfect-close", dominant && one.IsTonic() && one.Inversion == 0 && b.member(k, 0) != 0)
	}
}

// lines charges for what each voice does by itself on its way to chord k.
func (b *bill) lines(k int) {
	up, down := 0, 0
	for v := range b.n {
		move := b.move(k, v)
		size := abs(move.Semitones)
		up += min(1, max(0, move.Semitones))
		down += min(1, max(0, -move.Semitones))
		if v == b.n-1 {
			b.add("bass-semitone", 4*size)
			if size >= 8 && size <= 11 {
				b.add("bass-semitone", 4*size)
			}
		} else {
			b.add("semitone", 4*size)
			b.once("stands-still", size == 0 && b.chords[k].Reading.Root() != b.chords[k-1].Reading.Root() && b.common(k, v) > 4)
			b.add("leap", 4*max(0, size-4))
			b.once("common-tone-lost", move != theory.Unison && b.chords[k].Reading.MemberOf(b.chords[k-1].Pitches[v].Class()) >= 0)
		}
		b.once("awkward-leap", move.Steps != 0 && move.Quality() <= theory.Diminished)
		b.once("seventh-leap", abs(move.Steps) == 6)
		b.tendencies(k, v, move)
	}
	b.once("all-same", up == b.n || down == b.n)
	b.once("position-change", b.open(k) != b.open(k-1))
}

// common is how many chords of the phrase in a row, chord k and the one before among them, have
// the note that voice v sings in chord k. A chord that is to be chosen has none.
func (b *bill) common(k, v int) (n int) {
	note := b.chords[k].Pitches[v].Class()
	first, end := b.phrase(k)
	row := 0
	for at := first; at < end; at++ {
		if len(b.problem.Slots[at].Choices) > 1 || b.problem.Slots[at].Choices[0].Reading.MemberOf(note) < 0 {
			row = 0
			continue
		}
		if row++; at >= k && row > at-k+1 {
			n = row
		}
	}
	return n
}

// lasts reports whether one harmony lasts to chord k.
func (b *bill) lasts(k int) bool {
	a, c := b.chords[k-1].Reading, b.chords[k].Reading
	if a.Numeral.Cadential != c.Numeral.Cadential {
		return false
	}
	return a.Root() == c.Root() && a.Member(1) == c.Member(1) && a.Member(2) == c.Member(2) ||
		a.Numeral.IsDominant() && c.Numeral.IsDominant() && a.Numeral.In(a.Key) == c.Numeral.In(c.Key)
}

// tendencies charges for leading tones and sevenths.
func (b *bill) tendencies(k, v int, move theory.Interval) {
	from, to := b.chords[k-1].Reading, b.chords[k].Reading
	note := b.chords[k-1].Pitches[v].Class()
	if seventh, ok := from.Seventh(); ok && note == seventh && from.Inversion() == 2 {
		bass := b.move(k, b.n-1)
		b.once("rising-seventh", bass.Steps == 1 && move.Steps == 1 && !(b.lasts(k) && from.Root() == to.Root()))
	}
	lead, ok := from.LeadingTone()
	tonic := from.Numeral.In(from.Key).Tonic
	resolves, deceptive := to.Root() == tonic, to.Member(1) == tonic && !to.Quality().IsAugmentedSixth()
	rises := move.Steps == 1 && move.Semitones == 1
	seventh, has := to.Seventh()
	slides := move.Steps == 0 && move.Semitones == -1 && has && b.chords[k].Pitches[v].Class() == seventh
	if !ok || note != lead || b.lasts(k) || !resolves && !deceptive || rises || slides || move == theory.Unison {
		return
	}
	inner := v > 0 && v < b.n-1
	switch {
	case inner && resolves && from.Inversion() == 0 && b.member(k, v) == 2 && move.Steps == -2,
		inner && deceptive && from.Key.Mode == theory.MajorMode && move.Steps == -1,
		v == b.n-1 && move.Steps == -1 && k > 1 && !b.problem.Slots[k-2].PhraseEnd && b.chords[k-2].Reading.Bass() == tonic:
		b.add("inner-leading-tone", 4)
	default:
		b.add("inner-leading-tone", 8)
	}
}

// pairs charges for what voices do together.
func (b *bill) pairs(k int) {
	direction := func(v int) int { return max(-1, min(1, b.move(k, v).Semitones)) }
	for u := range b.n {
		for l := u + 1; l < b.n; l++ {
			same := direction(u) != 0 && direction(u) == direction(l)
			b.once("overlap", l == u+1 && !b.lasts(k) &&
				(b.semitones(k, u) < b.semitones(k-1, l) || b.semitones(k, l) > b.semitones(k-1, u)))
			b.once("similar-to-bass", same && l == b.n-1)
			before, after := b.between(k-1, u, l), b.between(k, u, l)
			switch {
			case !same || !after.IsPerfectFifth() && !after.IsPerfectOctave() && after != theory.Unison:
			case after.IsPerfectFifth() && (before.Steps%7 == 4 && before.Semitones%12 == 6):
				b.add("unequal-fifths", 4)
			default:
				b.add("direct-inner", 4)
			}
		}
	}
}

// seam charges for perfect intervals in a row from one phrase to the next. Keyboard style
// looks at contrary motion in the outer voices alone.
func (b *bill) seam(k int) {
	perfect := func(k, u, l int) int {
		switch i := b.between(k, u, l); {
		case i.IsPerfectFifth():
			return 5
		case i.IsPerfectOctave() || i == theory.Unison:
			return 8
		}
		return 0
	}
	for u := range b.n {
		for l := u + 1; l < b.n; l++ {
			upper, lower := b.move(k, u).Semitones, b.move(k, l).Semitones
			outer := u == 0 && l == b.n-1
			looks := upper*lower > 0 || upper*lower < 0 && (outer || b.problem.Style.Name != "keyboard")
			b.once("seam-consecutive", looks && perfect(k, u, l) != 0 && perfect(k, u, l) == perfect(k-1, u, l))
		}
	}
}

func (b *bill) between(k, u, l int) theory.Interval {
	return theory.Between(b.chords[k].Pitches[l], b.chords[k].Pitches[u])
}

// top charges for the line of the top voice.
func (b *bill) top(k int) {
	now := b.move(k, 0)
	b.once("soprano-stays", now.Semitones == 0)
	if k < 2 || b.problem.Slots[k-2].PhraseEnd || now.Semitones == 0 {
		return
	}
	before := b.move(k-1, 0)
	opposite := before.Semitones != 0 && (before.Semitones > 0) != (now.Semitones > 0)
	b.once("soprano-turns", opposite && before.Number() <= 4 && now.Number() <= 4)
	b.once("leap-left", !opposite && before.Number() > 4)
}

// billedPhrases are random phrases in major and minor with sevenths, applied and altered
// chords and several phrases in a row.
func billedPhrases(t *testing.T, random *rand.Rand) *voicing.Problem {
	t.Helper()
	words := [2][]string{
		theory.MajorMode: strings.Fields("I I I6 ii ii6 ii65 iii IV IV6 V V V7 V7 V65 V43 V42 vi viio6 V7/V V65/V V7/IV viio7/V Cad64 N6 Ger65 It6 IV64 bVI"),
		theory.MinorMode: strings.Fields("i i i6 iio6 iiø65 III iv iv6 V V V7 V7 V65 V43 V42 VI viio6 viio7 V7/V V7/iv Cad64 N6 Fr43 It6 i64 VII"),
	}
	tonic := theory.PitchClassAtFifths(random.IntN(9) - 4)
	key := []theory.Key{theory.MajorKey(tonic), theory.MinorKey(tonic)}[random.IntN(2)]
	p := &voicing.Problem{Style: []voicing.Style{voicing.Chorale(), voicing.Keyboard(), voicing.ThreeVoices(), voicing.FiveVoices()}[random.IntN(4)]}
	row := strings.Fields([]string{"", "I V43 I6", "I6 V43 I6", "I V6 IV6"}[random.IntN(4)])
	for range 2 + random.IntN(9) {
		row = append(row, words[key.Mode][random.IntN(len(words[key.Mode]))])
	}
	for _, word := range row {
		n, err := harmony.ParseNumeral(word, key.Mode)
		if err != nil {
			t.Fatal(err)
		}
		slot := voicing.Given(harmony.Reading{Key: key, Numeral: n})
		slot.PhraseEnd = random.IntN(8) == 0
		p.Slots = append(p.Slots, slot)
	}
	p.Contour = voicing.Contour(random.IntN(5))
	p.Position = voicing.Position(random.IntN(3))
	return p
}

// badlyJoined gives outer voices that stand an octave or a twelfth apart on both sides of the
// seams of a problem, which has one at least.
func badlyJoined(p *voicing.Problem, random *rand.Rand) *voicing.Problem {
	p.Slots[random.IntN(len(p.Slots)-1)].PhraseEnd = true
	apart := []theory.Interval{{Steps: 14, Semitones: 24}, {Steps: 11, Semitones: 19}}[random.IntN(2)]
	for k := range len(p.Slots) - 1 {
		if !p.Slots[k].PhraseEnd {
			continue
		}
		for _, slot := range []*voicing.Slot{&p.Slots[k], &p.Slots[k+1]} {
			class := slot.Choices[0].Reading.Bass()
			bass := theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: 3}
			if slot.Fixed = nil; bass.Semitones() > theory.MustPitch("G3").Semitones() {
				bass.Octave = 2
			}
			if top := bass.Transpose(apart); slot.Choices[0].Reading.MemberOf(top.Class()) >= 0 {
				slot.Fixed = make([]*theory.Pitch, len(p.Style.Voices))
				slot.Fixed[0], slot.Fixed[len(p.Style.Voices)-1] = &top, &bass
			}
		}
	}
	return p
}

// What a phrase costs can be worked out by anybody from the document and the notes:
// every charge of many voicings, and their totals, with the bass as it is written and with
// a free one.
func TestCostsAreReadAlone(t *testing.T) {
	d := readDocument(t)
	random := rand.New(rand.NewPCG(3, 14))
	read := &readings{document: d, named: map[string]int{}}
	for range 500 {
		read.compare(t, billedPhrases(t, random), false)
	}
	for range 60 {
		read.compare(t, badlyJoined(billedPhrases(t, random), random), false)
	}
	for range 150 {
		p := billedPhrases(t, random)
		p.Style.Weights.BassSemitone *= 4
		for k := 1; k+1 < len(p.Slots); k += 2 {
			if r := p.Slots[k].Choices[0].Reading; !r.Numeral.Cadential && !r.Quality().IsAugmentedSixth() {
				p.Slots[k].Choices = voicing.Inversions(r).Choices
			}
		}
		read.compare(t, p, true)
	}
	for name := range d.costs {
		if read.named[name] == 0 {
			t.Errorf("no phrase is charged for %s", name)
		}
	}
	if read.named["choice"] == 0 {
		t.Error("no phrase is charged for a choice")
	}
	t.Logf("%d voicings of %d phrases; charged: %v", read.voicings, read.phrases, read.named)
}

// readings compare what phrases cost with what the document says.
type readings struct {
	*document
	phrases, voicings, wrong int
	named                    map[string]int
}

func (d *readings) compare(t *testing.T, p *voicing.Problem, free bool) {
	search, err := voicing.NewSearch(context.Background(), p)
	if err != nil || d.wrong > 5 {
		return
	}
	all, err := search.Alternatives(context.Background(), 6)
	if err != nil {
		return // no voicing obeys the rules
	}
	d.phrases++
	for _, s := range all {
		d.voicings++
		want := billOf(d.document, p, s, free).charges()
		total := 0
		for name, cost := range want {
			total += cost
			d.named[name]++
		}
		explanation, err := search.Explain(context.Background(), s)
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]int{}
		for _, c := range explanation.Opening {
			got[c.Term] += int(c.Cost)
		}
		for _, change := range explanation.Changes {
			for _, c := range change.Charges {
				got[c.Term] += int(c.Cost)
			}
		}
		// How often caution is advised the rules say, which the document does not repeat.
		if caution := got["caution"]; caution%d.costs["caution"] == 0 {
			if rule := isAdvised(p, s); !free && (rule != "") != (caution > 0) {
				t.Errorf("%s in %v: caution %d, the check says %q", p.Style.Name, s.Chords, caution, rule)
			}
			total += caution
			if caution > 0 {
				want["caution"] = caution
				d.named["caution"]++
			}
		}
		if total != int(s.Cost) || !maps.Equal(got, want) {
			d.wrong++
			t.Errorf("%s in %v, free bass %t: the document says %d, the solver %d: %s", p.Style.Name, s.Chords, free, total, s.Cost, apart(want, got))
		}
	}
}

func apart(want, got map[string]int) string {
	var words []string
	for _, name := range slices.Sorted(maps.Keys(want)) {
		if want[name] != got[name] {
			words = append(words, name+" "+strconv.Itoa(want[name])+" against "+strconv.Itoa(got[name]))
		}
	}
	for name, cost := range got {
		if _, ok := want[name]; !ok {
			words = append(words, name+" nothing against "+strconv.Itoa(cost))
		}
	}
	return strings.Join(words, ", ")
}
