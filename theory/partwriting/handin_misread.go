package partwriting

import (
	"slices"

	"partwright/theory"
	"partwright/theory/texture"
)

// misread finds what puts a whole line or the whole music wrong: a signature of
// another key, voices swapped, an octave away, in another clef.
func (p *Passage) misread() []Finding {
	found := p.wrongSignature()
	found = append(found, p.leadNeverRaised()...)
	return append(found, p.displacedByName()...)
}

// displacedByName goes by the names of the parts where a line stands so far off that
// the voices were ordered by pitch against their names.
func (p *Passage) displacedByName() []Finding {
	place := map[string]int{}
	for v := range p.Voices {
		if p.Voices[v].Part < len(p.Score.Parts) {
			place[voiceOf(p.Score.Parts[p.Voices[v].Part].Name)] = v
		}
	}
	letters := []string{"S", "A", "T", "B"}
	var voices []theory.Voice
	var back []int
	for i, letter := range letters {
		v, ok := place[letter]
		if !ok || len(p.Voices) != len(letters) {
			return p.displaced()
		}
		voice := p.Voices[v]
		voice.Name = letters[i]
		voices, back = append(voices, voice), append(back, v)
	}
	if slices.IsSorted(back) {
		return p.displaced()
	}
	found := NewPassage(theory.NewTexture(p.Score, p.Layout, p.Found, voices), nil, p.Set).displaced()
	for i := range found {
		f := &found[i]
		for j := range f.Voices {
			f.Voices[j] = back[f.Voices[j]]
		}
		for j := range f.Notes {
			f.Notes[j].Voice = back[f.Notes[j].Voice]
		}
	}
	return found
}

// A signature contradicts the music where another one fits it much better: at least
// two accidentals apart (one apart is a mode, or an old signature with a flat or
// sharp less), and no note of the steps concerned follows it.
const (
	leastMisfit  = 0.12
	muchBetter   = 0.4
	leastToJudge = 16
)

func (p *Passage) wrongSignature() []Finding {
	if len(p.Score.Measures) == 0 || len(p.Score.Keys) == 0 || p.kind.Kind.Doubles() {
		return nil
	}
	signature := p.Score.Measures[0].Key
	for i := range p.Score.Measures {
		if p.Score.Measures[i].Key.Fifths != signature.Fifths {
			return nil
		}
	}
	counts, notes := map[theory.PitchClass]int{}, 0
	for v := range p.Voices {
		for i := range p.Voices[v].Notes {
			counts[p.Voices[v].Notes[i].Pitch.Class()]++
			notes++
		}
	}
	if notes < leastToJudge {
		return nil
	}
	misfit := func(fifths int) float64 {
		out := 0
		for c, n := range counts {
			if f := c.Fifths() - fifths; f < -1 || f > 5 {
				out += n
			}
		}
		return float64(out) / float64(notes)
	}
	own := misfit(int(signature.Fifths))
	best, fits := int(signature.Fifths), own
	for fifths := -7; fifths <= 7; fifths++ {
		if m := misfit(fifths); m < fits {
			best, fits = fifths, m
		}
	}
	apart := abs(best - int(signature.Fifths))
	if apart < 2 || own < leastMisfit || fits > muchBetter*own || p.followed(counts, int(signature.Fifths), best) {
		return nil
	}
	return []Finding{p.problem(SignatureWrong, 0, nil, nil, "signature", signatureText(int(signature.Fifths)), "fits", signatureText(best))}
}

// followed reports whether some note is as the signature has it and not as the one
// that fits better.
func (p *Passage) followed(counts map[theory.PitchClass]int, signature, fits int) bool {
	for c, n := range counts {
		in := func(fifths int) bool { f := c.Fifths() - fifths; return -1 <= f && f <= 5 }
		if n > 0 && in(signature) && !in(fits) {
			return true
		}
	}
	return false
}

// signatureText writes a signature as a count of signs, "3♯", "2♭" or "0".
func signatureText(fifths int) string {
	switch {
	case fifths > 0:
		return string(rune('0'+fifths)) + "♯"
	case fifths < 0:
		return string(rune('0'-fifths)) + "♭"
	}
	return "0"
}

// leadNeverRaised: a signature that says minor, cadences on its tonic, and no raised
// seventh degree anywhere. Without that word it may be a mode.
func (p *Passage) leadNeverRaised() []Finding {
	if p.Harmony == nil || len(p.Score.Measures) == 0 || p.Score.Measures[0].Key.Mode != theory.StatedMinor {
		return nil
	}
	unraised := p.unraisedLeads()
	if len(unraised) == 0 {
		return nil
	}
	key := theory.MinorKey(theory.PitchClassAtFifths(int(p.Score.Measures[0].Key.Fifths) + 3))
	for v := range p.Voices {
		for i := range p.Voices[v].Notes {
			if p.Voices[v].Notes[i].Pitch.Class() == key.LeadingTone() {
				return nil
			}
		}
	}
	f := &unraised[0]
	return []Finding{p.problem(LeadNeverRaised, f.Measure, f.Voices, f.Notes, "note", key.At(7), "raised", key.LeadingTone(), "key", key)}
}

// Shares by which a whole line is judged: it lies mostly wrong, and after the change
// nearly always right.
const (
	mostlyWrong  = 0.75
	mostlyRight  = 0.9
	leastMoments = 6
)

// shift is what puts a line right: an octave, or another clef by steps on the staff.
type shift struct {
	steps, semitones int
	clef             bool
}

// octaveShifts and clefShifts are tried in this order. Treble and bass clef are 12
// steps apart, treble and alto 6, alto and bass 6, treble and tenor 8, tenor and bass 4.
var (
	octaveShifts = []shift{{7, 12, false}, {-7, -12, false}}
	clefShifts   = []shift{{12, 0, true}, {-12, 0, true}, {6, 0, true}, {-6, 0, true}, {8, 0, true}, {-8, 0, true}, {4, 0, true}, {-4, 0, true}}
)

// displaced finds lines that stand wrong as a whole against the ranges of four voices
// and the order of the voices.
func (p *Passage) displaced() []Finding {
	if p.kind.Kind != texture.Choir || len(p.Voices) != 4 || len(p.Moments) < leastMoments || p.Voices[0].Name != "S" {
		return nil
	}
	for v := range p.Voices {
		if len(p.Voices[v].Notes) < leastMoments {
			return nil
		}
	}
	for v := 0; v+1 < len(p.Voices); v++ {
		if p.crossedFor(v, v+1, shift{}, shift{}) >= mostlyWrong && p.swapFits(v, v+1) {
			return []Finding{p.problem(VoicesSwapped, 0, []int{v, v + 1}, []NoteRef{{v, 0}, {v + 1, 0}},
				"first", VoiceName(p.Voices[v].Name), "second", VoiceName(p.Voices[v+1].Name))}
		}
	}
	var found []Finding
	for v := range p.Voices {
		if p.inOrder(v, shift{}) >= 1-mostlyWrong {
			if v == len(p.Voices)-1 && p.bassFarBelow() {
				found = append(found, p.problem(OctaveAway, 0, []int{v}, []NoteRef{{v, 0}}, "voice", VoiceName(p.Voices[v].Name), "where", Word("too-low")))
			}
			continue
		}
		kind, by := p.remedy(v)
		if kind == NoProblem || kind == OctaveAway && !p.othersWithin(v) {
			continue
		}
		where := Word("too-high")
		if by.steps > 0 {
			where = "too-low"
		}
		found = append(found, p.problem(kind, 0, []int{v}, []NoteRef{{v, 0}}, "voice", VoiceName(p.Voices[v].Name), "where", where))
	}
	return found
}

// farBelow is a distance from the tenor, in semitones, that a bass never keeps for most
// of a piece: an octave and a third (our own measure). Chords in wide position keep it for
// half of one and longer, but then the bass stays in its range.
const (
	farBelow  = 16
	mostlyFar = 0.85
	oftenFar  = 0.5
	// oftenLow is the share of a line below its range that no singer is asked for.
	oftenLow = 0.2
	// farMoments are the fewest that tell a line from an example in wide position.
	farMoments = 12
)

// bassFarBelow reports whether the bass lies so far below the tenor, or as far as that for
// half the time and also below its range, that it would stand right an octave higher.
func (p *Passage) bassFarBelow() bool {
	bass := len(p.Voices) - 1
	far, both := 0, 0
	for m := range p.Moments {
		if i, sound := p.dyad(m, bass-1, bass); sound {
			both++
			if i.Semitones >= farBelow {
				far++
			}
		}
	}
	apart := share(far, both)
	if both < farMoments || apart < mostlyFar && (apart < oftenFar || p.belowRange(bass) < oftenLow) {
		return false
	}
	return p.inOrder(bass, octaveShifts[0]) >= mostlyRight && p.othersWithin(bass)
}

// belowRange is the share of a line that lies below the range of its voice.
func (p *Passage) belowRange(v int) float64 {
	r, ok := p.Limits.Ranges[p.Voices[v].Name]
	if !ok {
		return 0
	}
	low := 0
	for i := range p.Voices[v].Notes {
		if r.Low.Above(p.Voices[v].Notes[i].Pitch) {
			low++
		}
	}
	return share(low, len(p.Voices[v].Notes))
}

// othersWithin reports whether the other voices lie in their ranges: an example in a
// high or low position as a whole is no slip.
func (p *Passage) othersWithin(v int) bool {
	for w := range p.Voices {
		if w != v && p.within(w, p.Voices[w].Name, shift{}) < mostlyRight {
			return false
		}
	}
	return true
}

// remedy finds what puts a line right: an octave if its notes go with the others as
// they are, else another clef if they go better after it.
func (p *Passage) remedy(v int) (Problem, shift) {
	now := p.tertian(v, shift{})
	for _, s := range clefShifts {
		if p.inOrder(v, s) >= mostlyRight && p.tertian(v, s) >= now+0.3 {
			return ClefWrong, s
		}
	}
	for _, s := range octaveShifts {
		if p.inOrder(v, s) >= mostlyRight {
			return OctaveAway, s
		}
	}
	// A line a third or sixth away often stays in the chord.
	part := p.Voices[v].Part
	if part >= len(p.Score.Parts) || voiceOf(p.Score.Parts[part].Name) == "" {
		return NoProblem, shift{}
	}
	for _, s := range clefShifts {
		if p.inOrder(v, s) >= mostlyRight && p.tertian(v, s) >= now-0.1 {
			return ClefWrong, s
		}
	}
	return NoProblem, shift{}
}

// swapFits reports whether two neighbors lie in one another's ranges and places, and
// better so than with one of them an octave away.
func (p *Passage) swapFits(a, b int) bool {
	within := min(p.within(a, p.Voices[b].Name, shift{}), p.within(b, p.Voices[a].Name, shift{}))
	order := min(p.inOrderOf(a, b), p.inOrderOf(b, a))
	octave := max(p.inOrder(a, octaveShifts[0]), p.inOrder(b, octaveShifts[1]))
	return within >= mostlyRight && order >= 0.5 && min(within, order) >= octave
}

// inOrderOf is how often a voice would stand right in the place of another.
func (p *Passage) inOrderOf(v, place int) float64 {
	right, all := 0, 0
	for m := range p.Moments {
		n := p.Sounding(m, v)
		if n == nil {
			continue
		}
		all++
		ok := true
		for w := range p.Voices {
			o := p.Sounding(m, w)
			if w == v || w == place || o == nil {
				continue
			}
			ok = ok && (w < place) == (o.Pitch.Semitones() >= n.Pitch.Semitones())
		}
		if ok {
			right++
		}
	}
	return share(right, all)
}

// within is the share of a line that lies in the range of a voice after a shift.
func (p *Passage) within(v int, name string, s shift) float64 {
	r, ok := p.Limits.Ranges[name]
	if !ok {
		return 1
	}
	in := 0
	notes := p.Voices[v].Notes
	for i := range notes {
		if q := p.shifted(notes[i].Pitch, s); !q.Above(r.High) && !r.Low.Above(q) {
			in++
		}
	}
	return share(in, len(notes))
}

// crossedFor is how often two voices stand the wrong way round.
func (p *Passage) crossedFor(upper, lower int, up, low shift) float64 {
	cross, both := 0, 0
	for m := range p.Moments {
		u, l := p.Sounding(m, upper), p.Sounding(m, lower)
		if u == nil || l == nil {
			continue
		}
		both++
		if p.shifted(l.Pitch, low).Above(p.shifted(u.Pitch, up)) {
			cross++
		}
	}
	return share(cross, both)
}

// inOrder is the share of the time that a line lies in its range and crosses no other
// after a shift.
func (p *Passage) inOrder(v int, s shift) float64 {
	order := p.within(v, p.Voices[v].Name, s)
	for w := range p.Voices {
		switch {
		case w < v:
			order = min(order, 1-p.crossedFor(w, v, shift{}, s))
		case w > v:
			order = min(order, 1-p.crossedFor(v, w, s, shift{}))
		}
	}
	return order
}

// shifted moves a pitch by an octave, or on the staff, as the signature has the note
// there.
func (p *Passage) shifted(q theory.Pitch, s shift) theory.Pitch {
	if s == (shift{}) {
		return q
	}
	if !s.clef {
		q.Octave += int8(s.semitones / 12)
		return q
	}
	steps := q.Diatonic() + s.steps
	out := theory.Pitch{Step: theory.Step(((steps % 7) + 7) % 7), Octave: int8((steps - ((steps%7)+7)%7) / 7)}
	out.Alter = p.Score.Measures[0].Key.Alter(out.Step)
	return out
}

// tertian is how often, on the beats, a line's note stands a third, fourth, fifth,
// sixth or octave from every other voice.
func (p *Passage) tertian(v int, s shift) float64 {
	fits, all := 0, 0
	for _, at := range p.beats {
		m := int(at)
		n := p.Sounding(m, v)
		if n == nil {
			continue
		}
		all++
		ok := true
		for w := range p.Voices {
			o := p.Sounding(m, w)
			if w == v || o == nil {
				continue
			}
			i := theory.Between(o.Pitch, p.shifted(n.Pitch, s)).Abs().Simple()
			switch i.Semitones {
			case 1, 2, 6, 10, 11:
				ok = false
			}
		}
		if ok {
			fits++
		}
	}
	return share(fits, all)
}

func share(n, of int) float64 { return float64(n) / float64(max(1, of)) }
