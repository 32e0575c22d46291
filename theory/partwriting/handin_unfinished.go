package partwriting

import (
	"slices"
	"sort"
	"strings"

	"partwright/theory"
	"partwright/theory/texture"
)

// A melody of so many notes and two voices of so many measures are a hand-in; less
// is an example (our own measure).
const (
	mostVoices    = 5 // parts that divide come and go
	melodyNotes   = 8
	outerMeasures = 3
)

// unfinished finds voices that are missing, silent or stop, and measures that are
// empty, short or long.
func (p *Passage) unfinished() []Finding {
	var found []Finding
	found = append(found, p.silentParts()...)
	found = append(found, p.missingVoices()...)
	found = append(found, p.blanks()...)
	found = append(found, p.emptyMeasures()...)
	return append(found, p.oddMeasures()...)
}

// voiceWords are what parts of voices are called, by the letter of the voice.
var voiceWords = map[string][]string{
	"S": {"s", "soprano", "sopran", "sopranos", "discant", "diskant", "cantus"},
	"A": {"a", "alto", "alt", "altos", "contralto"},
	"T": {"t", "tenor", "tenore", "tenors"},
	"B": {"b", "bass", "basso", "basses", "bassus", "baß"},
}

// voiceOf returns the letter of the voice that a part is named for, "" for none.
func voiceOf(name string) string {
	name = strings.ToLower(strings.Trim(name, " .0123456789"))
	for letter, words := range voiceWords {
		if slices.Contains(words, name) {
			return letter
		}
	}
	return ""
}

// silentParts are parts in which nobody has written a note, in music for voices. A
// part that holds chord symbols or figures is none.
func (p *Passage) silentParts() []Finding {
	switch p.kind.Kind {
	case texture.Choir, texture.KeyboardStyle, texture.Melody, texture.TwoVoices, texture.LeadSheet:
	default:
		return nil
	}
	labeled := map[int]bool{}
	for i := range p.Score.Chords {
		labeled[p.Score.Chords[i].Part] = true
	}
	for i := range p.Score.Figures {
		labeled[p.Score.Figures[i].Part] = true
	}
	var found []Finding
	for i := range p.Score.Parts {
		part := &p.Score.Parts[i]
		named := voiceOf(part.Name) != ""
		if part.Kind != theory.EmptyPart || labeled[i] || !named && p.kind.Kind != texture.Choir {
			continue
		}
		name := part.Name
		if name == "" {
			name = part.ID
		}
		found = append(found, p.problem(VoiceSilent, 0, nil, nil, "part", name))
	}
	return found
}

// missingVoices goes by the names of the parts: with soprano and bass named, alto
// and tenor are wanted, and one of the inner voices wants the other. Two lines far
// apart that move together are outer voices without names. A melody alone is no
// part-writing.
func (p *Passage) missingVoices() []Finding {
	if p.kind.Named || p.Limits.Species > 0 {
		return nil
	}
	there, letters := map[string]bool{}, ""
	for _, letter := range []string{"S", "A", "T", "B"} {
		for i := range p.Score.Parts {
			there[letter] = there[letter] || voiceOf(p.Score.Parts[i].Name) == letter
		}
		if there[letter] {
			letters += letter
		}
	}
	switch letters {
	case "SB", "STB", "SAT":
		var found []Finding
		for _, letter := range []string{"S", "A", "T", "B"} {
			if !there[letter] {
				found = append(found, p.problem(VoiceMissing, 0, nil, nil, "voice", VoiceName(letter)))
			}
		}
		return found
	case "":
	default:
		return nil
	}
	switch {
	case p.kind.Kind == texture.Melody && len(p.Voices) == 1 && len(p.Voices[0].Notes) >= melodyNotes:
		return []Finding{p.problem(MelodyAlone, 0, []int{0}, []NoteRef{{0, 0}})}
	case p.kind.Kind == texture.TwoVoices && p.outerVoices():
		return []Finding{p.problem(InnerMissing, 0, []int{0, 1}, nil)}
	}
	return nil
}

// outerVoices reports whether two lines are soprano and bass: they move together in
// longer notes, mostly more than an octave and a third apart. Two-part counterpoint
// keeps within a tenth or so (Open Music Theory v1, species counterpoint).
func (p *Passage) outerVoices() bool {
	if !p.kind.Homophonic || len(p.Score.Measures) < outerMeasures {
		return false
	}
	wide, both := 0, 0
	for m := range p.Moments {
		if i, sound := p.dyad(m, 0, 1); sound {
			both++
			if i.Semitones > 16 {
				wide++
			}
		}
	}
	quarters := p.Score.End().Float()
	return both > 0 && 3*wide > 2*both && float64(len(p.Moments)) <= 1.5*quarters
}

// blanks finds voices that stop while others go on, and in music for voices that
// move together those with measures left blank.
func (p *Passage) blanks() []Finding {
	if len(p.Voices) > mostVoices || p.Layout == theory.MixedLayout || !p.strictly() && !(p.kind.Kind == texture.TwoVoices && p.kind.Homophonic) {
		return nil
	}
	sounds := p.soundingMeasures(p.divided)
	last := len(p.Score.Measures) - 1
	for last >= 0 && !slices.ContainsFunc(sounds, func(in []bool) bool { return in[last] }) {
		last--
	}
	var found []Finding
	for v := range p.divided.Voices {
		voice := &p.divided.Voices[v]
		if len(voice.Notes) == 0 {
			continue
		}
		final := last
		for final >= 0 && !sounds[v][final] {
			final--
		}
		if voice.Extra {
			// A second line of a staff that is written for some measures in full and
			// then not at all is a voice that stops.
			if final >= last || !p.lasts(voice, final) {
				continue
			}
		}
		var at []int
		var notes []NoteRef
		if !voice.Extra {
			at, notes = []int{v}, []NoteRef{{v, len(voice.Notes) - 1}}
		}
		if final < last && p.Score.Measures[final+1].Length.Sign() > 0 {
			found = append(found, p.problem(VoiceStops, final+1, at, notes, "voice", VoiceName(voice.Name), "measure", p.label(final)))
		}
		if p.kind.Homophonic && !voice.Extra {
			found = append(found, p.blankRuns(v, sounds, final)...)
		}
	}
	return found
}

// blankRuns finds measures inside a line that is silent while all others sound.
func (p *Passage) blankRuns(v int, sounds [][]bool, final int) []Finding {
	var found []Finding
	for m := 0; m < final; m++ {
		from := m
		for m < final && !sounds[v][m] && p.othersSound(v, m, sounds) {
			m++
		}
		if m > from {
			f := p.problem(VoiceBlank, from, []int{v}, nil,
				"voice", VoiceName(p.Voices[v].Name), "from", p.label(from), "to", p.label(m-1))
			if m == from+1 {
				f.Severity = Remark // a voice may well rest for one measure
			}
			found = append(found, f)
		}
	}
	return found
}

// isWhole reports whether a measure is a whole one: no pickup and no half of one.
func (p *Passage) isWhole(measure int) bool {
	m := &p.Score.Measures[measure]
	return !m.Implicit && !m.Length.Less(m.Time.Measure())
}

func (p *Passage) othersSound(v, measure int, sounds [][]bool) bool {
	if !p.isWhole(measure) {
		return false
	}
	for w := range p.Voices {
		if w != v && !sounds[w][measure] {
			return false
		}
	}
	return true
}

// soundingMeasures tells of each voice in which measures it sounds.
func (p *Passage) soundingMeasures(t *theory.Texture) [][]bool {
	sounds := make([][]bool, len(t.Voices))
	for v := range t.Voices {
		sounds[v] = make([]bool, len(p.Score.Measures))
		notes := t.Voices[v].Notes
		for i := range notes {
			for m := int(notes[i].Measure); m < len(p.Score.Measures) && p.Score.Measures[m].Onset.Less(notes[i].End()); m++ {
				sounds[v][m] = true
			}
		}
	}
	return sounds
}

// lasts reports whether a voice sounds for nearly all the time up to the end of a
// measure.
func (p *Passage) lasts(v *theory.Voice, last int) bool {
	sum := theory.Fraction{}
	for i := range v.Notes {
		sum = sum.Add(v.Notes[i].Duration)
	}
	m := &p.Score.Measures[last]
	return sum.Float() >= 0.9*m.Onset.Add(m.Length).Float()
}

// emptyMeasures finds measures in which nothing sounds, one finding for a run.
func (p *Passage) emptyMeasures() []Finding {
	if p.kind.Kind.Doubles() {
		return nil
	}
	sounds := p.soundingMeasures(p.divided)
	empty := func(m int) bool {
		return p.isWhole(m) && p.Score.Measures[m].Length.Sign() > 0 && !slices.ContainsFunc(sounds, func(in []bool) bool { return in[m] }) && !p.saysNoChord(m)
	}
	var found []Finding
	inside := 0
	for m := 0; m < len(p.Score.Measures); m++ {
		from := m
		for m < len(p.Score.Measures) && empty(m) {
			m++
		}
		if m > from && m < len(p.Score.Measures) {
			inside++
		}
		// What follows a fermata may be an interlude that is not written.
		if m > from && (m == len(p.Score.Measures) || !p.fermataAt(p.momentIn(from))) {
			found = append(found, p.problem(MeasuresEmpty, from, nil, nil, "from", p.label(from), "to", p.label(m-1)))
		}
	}
	if inside > 1 {
		return nil // voices that pause again and again leave room for instruments
	}
	return found
}

// saysNoChord reports whether the label that holds where a measure begins says that no chord
// sounds: an empty measure is meant so then.
func (p *Passage) saysNoChord(m int) bool {
	labels, onset := p.Score.Chords, p.Score.Measures[m].Onset
	after := sort.Search(len(labels), func(i int) bool { return onset.Less(labels[i].Onset) })
	return after > 0 && labels[after-1].Kind == theory.NoChordKind
}

// oddMeasures finds measures inside the piece that are shorter or longer than the
// metre, and are no pickup, no half of a divided measure and no whole number of
// measures written as one.
func (p *Passage) oddMeasures() []Finding {
	if p.kind.Kind.Doubles() {
		return nil
	}
	var found []Finding
	for i := 1; i+1 < len(p.Score.Measures); i++ {
		m := &p.Score.Measures[i]
		full := m.Time.Measure()
		if full.Sign() <= 0 || m.Implicit || m.Length.Sign() <= 0 || m.Length == full || m.Into.Sign() != 0 {
			continue
		}
		before, after := &p.Score.Measures[i-1], &p.Score.Measures[i+1]
		divided := before.PhraseBar || m.PhraseBar || before.Implicit || after.Implicit ||
			before.Length.Add(m.Length) == full || m.Length.Add(after.Length) == full || m.Length.Div(full).Den() == 1 || full.Div(m.Length).Den() == 1 ||
			before.Time != m.Time || after.Time != m.Time
		switch {
		case divided:
		case m.Length.Less(full):
			found = append(found, p.problem(MeasureShort, i, nil, nil, "measure", p.label(i), "has", m.Length.String(), "wants", full.String()))
		default:
			found = append(found, p.problem(MeasureLong, i, nil, nil, "measure", p.label(i), "has", m.Length.String(), "wants", full.String()))
		}
	}
	return found
}
