package voicing

import (
	"cmp"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// follow notes what the bass comes from, if the slot before leaves no choice.
func (s *set) follow(before *Slot) {
	for _, other := range []*set{s.entered, s.left} {
		if other != nil && other != s && other.entered == nil {
			other.follow(before)
		}
	}
	if before.PhraseEnd {
		return
	}
	s.cameFrom = before.Fixed
	for i := range before.Choices {
		bass := before.Choices[i].Reading.Bass()
		if i > 0 && bass != s.bassFrom {
			s.hasBassFrom = false
			return
		}
		s.bassFrom, s.hasBassFrom = bass, true
	}
}

// beside are the chords next to a slot in its phrase, nil where there is none or where
// it is not settled.
type beside struct {
	before, after *partwriting.Chord
	// ends is set where a phrase ends with the slot, unsure where something comes before
	// it that is not settled, brief where it is shorter than a beat, long where it is longer.
	ends, unsure, brief, long bool
	// lasting are the notes that it and the chord after it have among more than four in a
	// row, a bit for each by fifths.
	lasting uint64
	// late is set from the fifth chord of a phrase on: two neighbors may have met twice.
	late bool
}

// beside returns what stands next to a slot.
func (p *Problem) beside(k int) beside {
	settled := func(k int) *partwriting.Chord {
		if len(p.Slots[k].Choices) != 1 {
			return nil
		}
		c := partwriting.NewChord(p.Slots[k].Choices[0].Reading)
		return &c
	}
	b := beside{ends: k+1 == len(p.Slots) || p.Slots[k].PhraseEnd, brief: p.Slots[k].Brief, long: p.Slots[k].Long}
	first, _ := p.phraseAround(k)
	b.late = k-first >= 4
	if k > 0 && !p.Slots[k-1].PhraseEnd {
		b.before = settled(k - 1)
		b.unsure = b.before == nil
	}
	if !b.ends {
		b.after = settled(k + 1)
		b.lasting = p.lasting(k)
	}
	return b
}

// lastsFrom is in how many chords in a row a note stands out.
const lastsFrom = 5

// lasting are the notes that chord k and the next one of its phrase have among at least
// [lastsFrom] settled chords in a row.
func (p *Problem) lasting(k int) (notes uint64) {
	has := func(k int, note theory.PitchClass) bool {
		return len(p.Slots[k].Choices) == 1 && p.Slots[k].Choices[0].Reading.MemberOf(note) >= 0
	}
	if p.sung {
		return 0
	}
	r := p.Slots[k].Choices[0].Reading
	for m := range r.Size() {
		note := r.Member(m)
		if !has(k, note) || !has(k+1, note) {
			continue
		}
		row := 2
		for at := k; at > 0 && row < lastsFrom && !p.Slots[at-1].PhraseEnd && has(at-1, note); at-- {
			row++
		}
		for at := k + 1; row < lastsFrom && at+1 < len(p.Slots) && !p.Slots[at].PhraseEnd && has(at+1, note); at++ {
			row++
		}
		if row == lastsFrom {
			notes |= bitOf(note)
		}
	}
	return notes
}

// bitOf is a bit for a note by fifths.
func bitOf(note theory.PitchClass) uint64 { return 1 << ((note.Fifths() + 32) & 63) }

// arrangement is one way to set a chord: an index into its choice's tones for
// each voice, from the top.
type arrangement struct {
	tone [MaxVoices]uint8
	// dyad is what each pair of voices sings together, an index into those of its set.
	dyad [maxPairs]uint16
	cost Cost
	// faults is how many rules it breaks by itself.
	faults uint8
	open   bool
}

// tone is one pitch a voice could take.
type tone struct {
	pitch     theory.Pitch
	class     theory.PitchClass
	semitones int
	diatonic  int
	member    int8
	// third is set for the note a third above the bass.
	third bool
	// uneasy is how many semitones it lies outside the comfortable middle of its voice.
	uneasy Cost
	// weary is how often it is named as one that its voice is not to take ([Slot]).
	weary Cost
	// leading and seventh mark notes with one way to go, asks those that the rules
	// look at when they are left.
	leading, seventh, asks bool
	// outside is what the law says of its height.
	outside ruling
}

// set is a chord with everything it could be.
type set struct {
	reading      harmony.Reading
	chord        partwriting.Chord
	beside       beside
	choiceCost   Cost
	tones        [MaxVoices][]tone
	arrangements []arrangement
	// dyads are what each pair of voices sings in some arrangement, by [pairsOf].
	dyads     [maxPairs][]dyad
	phraseEnd bool
	// bassFrom is the bass note of the chord before, where that is settled.
	bassFrom    theory.PitchClass
	hasBassFrom bool
	// cameFrom are the notes before by voice, where they are given.
	cameFrom []*theory.Pitch
	// sonority is the chord between its neighbors, of which only the counts change.
	sonority partwriting.Sonority
	// counted remembers what the rules say of so many of each member, packed.
	counted [7 * 7 * 7 * 7]uint8
	// omissions are judged where the chord stands for itself; told is what the rules
	// answer to tell.
	omissions bool
	told      ruling
	tell      partwriting.Telling
	// asked is which rules are listened to.
	asked aspect
	// late and leads are those of the slot.
	late  []Late
	leads []lead
	// entered and left are the set as given lines come into it and go on, itself where they
	// do not move; lowest is how low the top line goes, nil for no lower, line its further
	// notes.
	entered, left *set
	lowest        *theory.Pitch
	line          []topTone
	// topRests is set where that line rests.
	topRests bool
}

// arrange lists every arrangement of a reading that stands on its own: within range,
// uncrossed, and without breaking a rule of the law.
func arrange(c Choice, slot *Slot, style *Style) *set {
	return arrangeWith(c, slot, style, lawful)
}

// leniency is what may stand.
type leniency int8

const (
	// lawful breaks no rule by itself.
	lawful leniency = iota
	// anyhow breaks what it likes within the reach of a hand, beyondReach there too.
	anyhow
	beyondReach
)

func arrangeWith(c Choice, slot *Slot, style *Style, lenient leniency) *set {
	s := &set{
		reading: c.Reading, chord: partwriting.NewChord(c.Reading), beside: slot.beside, choiceCost: c.Cost,
		phraseEnd: slot.PhraseEnd, late: slot.Late, leads: slot.leads, lowest: slot.Moving.TopLow, topRests: slot.Moving.TopRests,
	}
	s.besideTop(slot.Moving.Beside)
	n := len(style.Voices)
	bass := c.Reading.Inversion()
	for v := range style.Voices {
		var fixed *theory.Pitch
		if v < len(slot.Fixed) {
			fixed = slot.Fixed[v]
		}
		only := -1
		if v == n-1 && !style.lifted {
			only = bass
		}
		s.tones[v] = s.tonesOf(&style.Voices[v], style, fixed, only, lenient)
	}
	if len(slot.Top) > 0 {
		s.tones[0] = slices.DeleteFunc(s.tones[0], func(t tone) bool { return !slices.Contains(slot.Top, t.pitch.Class()) })
	}
	for _, w := range slot.weary {
		for i := range s.tones[w.voice] {
			t := &s.tones[w.voice][i]
			if t.pitch == w.pitch {
				t.weary++
			}
		}
	}
	s.setOut(n, style.under())
	e := extension{set: s, style: style, lenient: lenient, taste: slot.beside.taste(c.Reading, style), n: n}
	e.extend(0)
	s.pairUp(n)
	s.setLines(&slot.Moving, n)
	return s
}

// arrangeAtAnyPrice lists every arrangement within the ranges that does not cross,
// whatever rule it breaks by itself, each at the price of its faults.
func arrangeAtAnyPrice(c Choice, slot *Slot, style *Style) *set {
	s := arrangeWith(c, slot, style, anyhow)
	if len(s.arrangements) == 0 {
		s = arrangeWith(c, slot, style, beyondReach)
	}
	for i := range s.arrangements {
		a := &s.arrangements[i]
		a.cost += Cost(max(a.faults, 1)) * penalty
	}
	return s
}

// usualTones is about how many tones a chord has within a range.
const usualTones = 12

// tonesOf lists the pitches of a chord within a range, from low to high. A
// fixed pitch is taken even outside the range: the caller's note is given.
func (s *set) tonesOf(v *VoiceRange, style *Style, fixed *theory.Pitch, only int, lenient leniency) []tone {
	r := s.reading
	lead, hasLead := s.chord.LeadingTone()
	_, hasSeventh := s.chord.Seventh()
	out := make([]tone, 0, usualTones)
	easyLow, easyHigh := v.EasyLow.Semitones(), v.EasyHigh.Semitones()
	add := func(p theory.Pitch, member int) {
		t := tone{
			pitch: p, class: p.Class(), semitones: p.Semitones(), diatonic: p.Diatonic(), member: int8(member),
			third:   (int(p.Step-s.chord.Bass().Step)+7)%7 == 2,
			leading: hasLead && p.Class() == lead, seventh: member == 3 && hasSeventh, asks: s.chord.Asks(member),
		}
		t.uneasy = Cost(max(0, easyLow-t.semitones) + max(0, t.semitones-easyHigh))
		if fixed == nil && !style.lifted {
			t.outside.weigh(style.under().Outside(v.Name, p))
		}
		if t.outside.faults == 0 || lenient != lawful {
			out = append(out, t)
		}
	}
	if fixed != nil {
		if m := r.MemberOf(fixed.Class()); m >= 0 && (only < 0 || m == only) && !r.Numeral.Lacks(m) {
			add(*fixed, m)
		}
		return out
	}
	for octave := v.Low.Octave - 1; octave <= v.High.Octave+1; octave++ {
		for m := range r.Size() {
			if only >= 0 && m != only || r.Numeral.Lacks(m) {
				continue
			}
			c := s.chord.Member(m)
			p := theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: octave}
			if !v.Low.Above(p) && !p.Above(v.High) {
				add(p, m)
			}
		}
	}
	// Ties between voicings fall to the order of tones, so that the order must be
	// the same in every key.
	slices.SortFunc(out, func(a, b tone) int {
		return cmp.Or(a.semitones-b.semitones, a.diatonic-b.diatonic)
	})
	return out
}

// extension is an arrangement that grows voice by voice from the top.
type extension struct {
	set     *set
	style   *Style
	lenient leniency
	taste   taste
	n       int
	a       arrangement
}

// extend fills voice v and those below it.
func (e *extension) extend(v int) {
	e.style.work.Step(1)
	s, n := e.set, e.n
	if v == n {
		e.keep()
		return
	}
	for i := range s.tones[v] {
		if v > 0 && !e.fits(v, &s.tones[v][i]) {
			continue
		}
		e.a.tone[v] = uint8(i)
		e.extend(v + 1)
	}
}

// keep adds the arrangement that is complete, if it may stand.
func (e *extension) keep() {
	s, a := e.set, &e.a
	count := s.count(a, e.n)
	v := s.ruled(a, count, &e.taste, e.style)
	if len(s.late) > 0 && s.crowded(a, e.n) || s.crosses(a, e.n) {
		v.faults++
	}
	if v.faults > 0 && e.lenient == lawful {
		return
	}
	a.faults, a.cost = v.faults, s.price(a, count, v, &e.taste, e.style)
	a.open = s.tones[0][a.tone[0]].semitones-s.tones[e.n-2][a.tone[e.n-2]].semitones > 12
	if s.arrangements == nil {
		s.arrangements = make([]arrangement, 0, usualArrangements)
	}
	s.arrangements = append(s.arrangements, *a)
}

// usualArrangements is about how many arrangements a chord of four voices has.
const usualArrangements = 128

// fits reports whether a tone may stand under the one above it.
func (e *extension) fits(v int, t *tone) bool {
	above := &e.set.tones[v-1][e.a.tone[v-1]]
	switch {
	case above.semitones < t.semitones:
		return false
	case v == e.n-1 || e.style.lifted:
		return true
	case e.style.MaxSpan > 0 && e.lenient != beyondReach && e.set.tones[0][e.a.tone[0]].semitones-t.semitones > e.style.MaxSpan:
		return false
	case e.lenient != lawful || above.semitones-t.semitones <= e.style.under().gap:
		return true
	}
	return e.style.under().Gap(from(t, above), e.n) < partwriting.Fault
}

// from is the interval from one tone up to another.
func from(low, high *tone) theory.Interval {
	return theory.Interval{Steps: high.diatonic - low.diatonic, Semitones: high.semitones - low.semitones}
}

// memberCounts is how many voices sing each member of a chord.
type memberCounts [4]uint8

func (s *set) count(a *arrangement, n int) (count memberCounts) {
	for v := range n {
		count[s.tones[v][a.tone[v]].member]++
	}
	return count
}

// alone is what an arrangement costs by itself.
func (s *set) alone(a *arrangement, taste *taste, style *Style) Cost {
	count := s.count(a, len(style.Voices))
	return s.price(a, count, s.ruled(a, count, taste, style), taste, style)
}

// price is what an arrangement costs by itself of which the rules say v.
func (s *set) price(a *arrangement, count memberCounts, v ruling, taste *taste, style *Style) Cost {
	n := len(style.Voices)
	return taste.cost(count, n, style) + s.standing(a, n, style) + v.cost(&style.Weights, 0)
}

// ruled is what the rules say of an arrangement by itself.
func (s *set) ruled(a *arrangement, count memberCounts, taste *taste, style *Style) ruling {
	if style.lifted {
		if taste.complete(count) {
			return ruling{}
		}
		return ruling{faults: 1}
	}
	known := &s.counted[((int(count[0])*7+int(count[1]))*7+int(count[2]))*7+int(count[3])]
	if *known == 0 {
		*known = s.rulingOf(count, style).packed()
	}
	v := unpacked(*known)
	s.spaced(a, style, &v)
	s.against(a, count, style, &v)
	if s.topRests {
		s.unheard(a, count, taste, &v)
	}
	return v
}

// aspect is which rules about a sonority are meant.
type aspect int8

const (
	wholly aspect = iota
	// doublings are all but those about missing members, which are omissions.
	doublings
	omissions
)

// rulingOf is what the rules say of so many of each member; a member that a given line
// brings later is not missing, but late.
func (s *set) rulingOf(count memberCounts, style *Style) ruling {
	if len(s.line) == 0 {
		return s.judged(count, style, wholly)
	}
	v, missing := s.judged(count, style, doublings), s.judged(s.heard(count), style, omissions)
	v.faults += missing.faults
	v.cautions += missing.cautions
	if late := s.judged(count, style, omissions); late.faults > missing.faults {
		v.cautions += arriving * (late.faults - missing.faults)
	}
	return v
}

// judged is what the rules of an aspect say of so many of each member.
func (s *set) judged(count memberCounts, style *Style, of aspect) ruling {
	s.asked = of
	s.sonority.Voices = 0
	for m := range s.chord.Size() {
		s.sonority.Count[m] = int(count[m])
		s.sonority.Voices += int(count[m])
	}
	s.told = ruling{}
	style.under().Sonority(&s.sonority, s.tell)
	return s.told
}

// setOut sets out the chord between its neighbors, as the rules ask for it.
func (s *set) setOut(voices int, law *law) {
	b := &s.beside
	s.sonority = partwriting.Sonority{
		Chord: &s.chord, Before: b.before, After: b.after, Named: true,
		Into: bassBetween(b.before, &s.chord), OutOf: bassBetween(&s.chord, b.after),
		// Doubled thirds in the bass hang on how they are reached.
		BassExcused: b.before != nil, FifthRises: s.fifthMayRise(voices), FifthFree: law.Limits().PredominantFifthFree,
	}
	sameRoot := func(c *partwriting.Chord) bool { return c != nil && c.Root() == s.chord.Root() }
	// Else they are judged together with the neighbor, or not at all.
	s.omissions = !sameRoot(b.before) && !sameRoot(b.after) && !b.brief
	s.tell = func(rule partwriting.RuleID, severity partwriting.Severity) {
		omits := partwriting.IsOmission(rule)
		if omits && !s.omissions || s.asked == doublings && omits || s.asked == omissions && !omits {
			return
		}
		s.told.add(rule, severity)
	}
}

// fifthMayRise reports whether what comes next decides on a doubled fifth: something
// does, and four voices with two fifths have no second third.
func (s *set) fifthMayRise(voices int) bool { return voices == 4 && !s.beside.ends }

// bassBetween is how the bass goes from chord to chord by the shortest way, nil where
// one is not known.
func bassBetween(a, b *partwriting.Chord) *theory.Interval {
	if a == nil || b == nil {
		return nil
	}
	i := theory.Interval{Steps: (int(b.Bass().Step-a.Bass().Step) + 7) % 7}
	if i.Steps > 3 {
		i.Steps -= 7
	}
	i.Semitones = (b.Bass().Chroma() - a.Bass().Chroma() + 12) % 12
	if i.Semitones > 6 {
		i.Semitones -= 12
	}
	return &i
}

// spaced adds what the rules say of the height of notes and the gaps between them.
func (s *set) spaced(a *arrangement, style *Style, v *ruling) {
	n, law := len(style.Voices), style.under()
	at := func(i int) *tone { return &s.tones[i][a.tone[i]] }
	for i := range n {
		v.faults += at(i).outside.faults
		v.cautions += at(i).outside.cautions
		if i > 0 && i < n-1 && at(i-1).semitones-at(i).semitones > law.gap {
			v.weigh(law.Gap(from(at(i), at(i-1)), n))
		}
		if i > 0 && i < n-1 && s.meetingCounts() && from(at(i), at(i-1)) == theory.Unison {
			v.add("unison", law.Severity("unison"))
		}
	}
	if n < 3 {
		return
	}
	if span := from(at(n-2), at(0)); span.Semitones > law.span {
		v.weigh(law.Span(span))
	}
	switch gap := from(at(n-1), at(n-2)); {
	case gap.Steps <= 2:
		v.add("low-spacing", law.Low(at(n-1).pitch, gap, s.beside.ends))
	case gap.Semitones > law.bass:
		v.add("bass-gap", law.Far(gap, from(at(n-2), at(0))))
	}
}

// meetingCounts reports whether the rules may tell that two neighbors meet on one note: it
// lasts for more than a beat, or may be the third time in a phrase, and the phrase goes on.
func (s *set) meetingCounts() bool { return !s.beside.ends && (s.beside.long || s.beside.late) }

// widest is the interval in semitones between the lowest two voices that still
// sounds as one chord: a twelfth, which chorales exceed in one sonority of a
// hundred (counted in the 370 chorales edited by C. Sapp).
const widest = 19

// standing is what an arrangement costs by itself apart from its doublings.
func (s *set) standing(a *arrangement, n int, style *Style) Cost {
	w := &style.Weights
	var cost Cost
	for v := range n {
		t := &s.tones[v][a.tone[v]]
		cost += t.uneasy * w.Uneasy
		cost += t.weary * (w.StandsStill / wearyShare)
		if v > 0 && s.tones[v-1][a.tone[v-1]].semitones == t.semitones {
			cost += w.UnisonPair
		}
	}
	low, next := &s.tones[n-1][a.tone[n-1]], &s.tones[n-2][a.tone[n-2]]
	if low.semitones < style.LowBelow.Semitones() && next.semitones-low.semitones <= 4 && next.semitones > low.semitones {
		cost += w.LowThird
	}
	if wide := next.semitones - low.semitones - widest; wide > 0 {
		cost += Cost(wide) * w.Spread
	}
	return cost
}
