package partwriting

import "partwright/theory"

// Leading tones and the tritone above them, and where they go.
var leadingTones = []*Rule{
	{
		ID: "leading-tone-unresolved", Family: Tendency,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 11b", "to I or vi, in an outer voice; a cadential six-four is no tonic; free where it is held as a member of the next chord; a caution where the key changes and the triad is the new tonic or the next chord is not the old one, and where the bass only touches the note between the beats"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedLeads("leading-tone-unresolved")
		},
	},
	{
		ID: "inner-leading-tone-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "to I or vi, in an inner voice, where it may fall to the fifth of the tonic, leap to its third (also Butterfield, unit 11b), or fall to vi in major"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedLeads("inner-leading-tone-unresolved")
		},
	},
	{
		ID: "applied-leading-tone-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 29.1", "rises to the root of its target, or falls a semitone to the seventh of a target that has one; a caution in an inner voice, where it may fall to the fifth of its target (as in that book's model solutions), and where another chord comes in place of the target; not where the chord is the tonic with a seventh that only passes (common practice)"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedLeads("applied-leading-tone-unresolved")
		},
	},
	{
		ID: "tritone-unresolved", Family: Tendency,
		Source: Source{"Collaros, Partwriting conventions and definitions", "", "a diminished fifth closes to a third, an augmented fourth opens to a sixth, where a chord on the leading tone goes to its tonic; free where another voice takes the fourth degree down, where it is held, or rises in tenths with the bass (Hutchinson, section 27.1); in V7 the leading tone and the seventh are judged by themselves"},
		Check:  (*Passage).openTritones,
	},
}

// tendencyNote is the last note by which a voice sounds a tendency tone in a
// harmony, and what the voice has next.
type tendencyNote struct {
	ref  NoteRef
	next int // the voice's next note, -1 for none
	move theory.Interval
}

// tendencies finds the voices that sound a pitch class as a chord member at the
// end of a harmony, each with its next note, within the phrase.
func (p *Passage) tendencies(i int, h *chord, c theory.PitchClass) []tendencyNote {
	return p.tendenciesAt(p.lastMoment(i), c)
}

// tendenciesAt returns the notes of a pitch class that sound at a moment, with where each
// goes.
func (p *Passage) tendenciesAt(m int, c theory.PitchClass) []tendencyNote {
	var out []tendencyNote
	for _, r := range p.holding(m, c) {
		t := tendencyNote{ref: r, next: -1}
		notes := p.Voices[r.Voice].Notes
		if n := r.Note + 1; n < len(notes) && !p.endsPhrase(p.momentOf(r), p.momentOf(NoteRef{r.Voice, n})) {
			if !p.silent(p.spans[r.Voice][n].onset-p.spans[r.Voice][r.Note].end, p.momentOf(NoteRef{r.Voice, n})) {
				t.next, t.move = n, theory.Between(notes[r.Note].Pitch, notes[n].Pitch)
			}
		}
		out = append(out, t)
	}
	return out
}

// lastMoment returns the last moment before the root changes.
func (p *Passage) lastMoment(i int) int {
	all := p.chords[:min(len(p.chords), i+mostOnOneRoot)]
	for i+1 < len(all) && all[i+1].Root() == all[i].Root() && !p.endsPhrase(all[i].FirstMoment, all[i+1].FirstMoment) {
		i++
	}
	return all[i].EndMoment - 1
}

// isLastOfRoot reports whether the root changes after a harmony, so that what it
// leaves open is judged once.
func (p *Passage) isLastOfRoot(i int) bool {
	return p.lastMoment(i) == p.chords[i].EndMoment-1
}

func (p *Passage) unresolvedLeads(rule RuleID) []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if !h.hasLead || !p.isLastOfRoot(i) {
			return
		}
		next := p.following(i)
		if next == nil || !LeadsHome(&h.Chord, &next.Chord) || p.passesThroughSeventh(i, h) {
			return
		}
		for _, t := range p.tendencies(i, h, h.lead) {
			if LeadRule(&h.Chord, p.isOuter(t.ref.Voice)) != rule || t.next < 0 || p.heldInto(t, next) || p.reaches(t, next, h.tonic) {
				continue
			}
			if p.passesBetweenDominants(i, h, t) {
				continue
			}
			r := p.leaving(h, next, t)
			most, broken := r.leadUnresolved()
			if !broken {
				continue
			}
			if most == Off && p.arpeggiated(t) {
				most = Caution
			}
			f := p.atTendency(t)
			f.Severity = most
			f.Args = append(f.Args, Arg{"goal", h.tonic})
			found = append(found, f)
		}
	})
	return append(found, p.leadsOverJumps(rule)...)
}

// passesBetweenDominants reports whether a leading tone steps down through a chord, that
// nobody has named, to a member of the same dominant: it has not been left yet.
func (p *Passage) passesBetweenDominants(i int, h *chord, t tendencyNote) bool {
	last := p.Harmony.IndexAt(p.lastMoment(i))
	if last+2 >= len(p.chords) || t.move.Steps != -1 {
		return false
	}
	between, again := &p.chords[last+1], &p.chords[last+2]
	notes := p.Voices[t.ref.Voice].Notes
	if named(h) || named(between) || again.Root() != h.Root() || again.Key != h.Key || t.next+1 >= len(notes) || p.endsPhrase(h.FirstMoment, again.FirstMoment) {
		return false
	}
	on := theory.Between(notes[t.next].Pitch, notes[t.next+1].Pitch)
	return on.Steps == -1 && p.momentOf(NoteRef{t.ref.Voice, t.next + 1}) == again.FirstMoment
}

// passesThroughSeventh reports whether a chord that nobody has named is the tonic of
// its key but for a seventh that passes from its root down by step: its third is no
// leading tone yet.
func (p *Passage) passesThroughSeventh(i int, h *chord) bool {
	if named(h) || !h.applied || !h.hasSeventh || h.Root() != h.key.Tonic {
		return false
	}
	for m := h.FirstMoment; m < h.EndMoment; m++ {
		for _, r := range p.holding(m, h.seventh) {
			t := p.tendencyOf(r)
			if r.Note == 0 || t.next < 0 || t.move.Steps != -1 {
				return false
			}
			if before := p.Voices[r.Voice].Notes[r.Note-1].Pitch; before.Class() != h.Root() || theory.Between(before, p.Note(r).Pitch).Steps != -1 {
				return false
			}
		}
	}
	return i > 0
}

// leaving is how a voice leaves a note, as the rules about it ask.
func (p *Passage) leaving(h, next *chord, t tendencyNote) Resolution {
	r := Resolution{
		From: &h.Chord, To: &next.Chord, Note: p.Note(t.ref).Pitch.Class(), Move: t.move,
		Goal: p.Voices[t.ref.Voice].Notes[t.next].Pitch.Class(), Outer: p.isOuter(t.ref.Voice),
		Descends: p.comesFromAbove(t.ref, h.tonic),
	}
	if t.move.Steps == 1 && h.inversion == 2 {
		to := p.momentOf(NoteRef{t.ref.Voice, t.next})
		m := pairMove{From: to - 1, To: to}
		r.Tenths = to > 0 && p.inTenths(t.ref.Voice, len(p.Voices)-1, &m)
	}
	return r
}

// isOuter reports whether a voice is the highest or the lowest by name.
func (p *Passage) isOuter(voice int) bool { return voice == 0 || voice == len(p.Voices)-1 }

// reaches reports whether a voice arrives at its goal by step in the next
// harmony, after an ornament shorter than a beat.
func (p *Passage) reaches(t tendencyNote, next *chord, goal theory.PitchClass) bool {
	return p.soon(t, next, func(i theory.Interval, c theory.PitchClass) bool { return c == goal && i.IsStep() })
}

// soon reports whether the voice's next note, or one less than a beat later, is
// what the tendency tone asks for. It may come as long as the root of the next
// harmony lasts, or later where that harmony is itself shorter than a beat: an
// ornament has put it off.
func (p *Passage) soon(t tendencyNote, next *chord, resolves func(theory.Interval, theory.PitchClass) bool) bool {
	notes := p.Voices[t.ref.Voice].Notes
	end := p.dueBy(next)
	for n := t.next; n < len(notes); n++ {
		at := p.momentOf(NoteRef{t.ref.Voice, n})
		late := p.spans[t.ref.Voice][n].onset - p.spans[t.ref.Voice][t.next].onset
		if n > t.next && (at >= end || p.silent(late, at)) {
			return false
		}
		if resolves(theory.Between(notes[t.ref.Note].Pitch, notes[n].Pitch), notes[n].Pitch.Class()) {
			return true
		}
	}
	return false
}

// dueBy returns the moment before which a resolution into a harmony must have
// come: the end of the phrase or the next change of root, unless that comes in
// less than a beat. A chord that somebody has named is one of its own, however
// short, and no ornament.
func (p *Passage) dueBy(next *chord) int {
	if named(next) {
		return next.EndMoment
	}
	all := p.chords
	beat := p.Score.Measures[next.Measure].Time.Beat()
	i := p.Harmony.IndexAt(next.FirstMoment)
	for ; i+1 < len(all) && !p.endsPhrase(all[i].FirstMoment, all[i+1].FirstMoment); i++ {
		if all[i+1].Root() != all[i].Root() && !all[i+1].Onset.Sub(next.Onset).Less(beat) {
			break
		}
	}
	return all[i].EndMoment
}

// arpeggiated reports whether the bass has only leapt to a note between the
// beats while its harmony lasts.
func (p *Passage) arpeggiated(t tendencyNote) bool {
	m := p.momentOf(t.ref)
	if named(p.chordAt(m)) || t.ref.Voice != len(p.Voices)-1 || t.ref.Note == 0 || p.strength(m) > 0 || !p.revoiced(m-1, m) {
		return false
	}
	return theory.Between(p.Voices[t.ref.Voice].Notes[t.ref.Note-1].Pitch, p.Note(t.ref).Pitch).Number() > 2
}

func (p *Passage) comesFromAbove(r NoteRef, tonic theory.PitchClass) bool {
	if r.Note == 0 {
		return false
	}
	notes := p.Voices[r.Voice].Notes
	before := notes[r.Note-1].Pitch
	return before.Class() == tonic && theory.Between(before, notes[r.Note].Pitch).Steps == -1
}

// atTendency starts a finding at the note after a tendency tone.
func (p *Passage) atTendency(t tendencyNote) Finding {
	to := NoteRef{t.ref.Voice, t.next}
	f := p.at(p.momentOf(to), t.ref.Voice)
	f.Notes = []NoteRef{t.ref, to}
	f.Args = []Arg{{"from", p.Note(t.ref).Pitch}, {"to", p.Note(to).Pitch}}
	return f
}

func (p *Passage) tendencyOf(r NoteRef) tendencyNote {
	t := tendencyNote{ref: r, next: -1}
	notes := p.Voices[r.Voice].Notes
	if n := r.Note + 1; n < len(notes) && !p.endsPhrase(p.momentOf(r), p.momentOf(NoteRef{r.Voice, n})) {
		t.next, t.move = n, theory.Between(notes[r.Note].Pitch, notes[n].Pitch)
	}
	return t
}

// openTritones looks at chords on the leading tone, in which the fourth degree is
// no seventh and has no rule of its own.
func (p *Passage) openTritones() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.following(i)
		if !h.hasLead || h.members[0] != h.lead || next == nil || next.Numeral.Cadential || !p.isLastOfRoot(i) {
			return
		}
		if next.Root() != h.Numeral.In(h.Key).Tonic {
			return
		}
		leads := p.tendencies(i, h, h.lead)
		fourths := p.tendencies(i, h, h.Member(2))
		for _, t := range fourths {
			if p.staysOrFalls(t, next) {
				return
			}
		}
		for _, lead := range leads {
			for _, fourth := range fourths {
				if f, ok := p.openTritone(lead, fourth); ok {
					found = append(found, f)
					return
				}
			}
		}
	})
	return found
}

// staysOrFalls reports whether the fourth degree is dealt with in one voice, so
// that the others are free.
func (p *Passage) staysOrFalls(t tendencyNote, next *chord) bool {
	if t.next < 0 || t.move == theory.Unison || p.touched(t) || p.heldInto(t, next) || p.resolvesDown(t, next) {
		return true
	}
	to := p.momentOf(NoteRef{t.ref.Voice, t.next})
	m := pairMove{From: to - 1, To: to}
	return t.move.Steps == 1 && p.inTenths(t.ref.Voice, len(p.Voices)-1, &m)
}

// openTritone reports the leading tone and the fourth degree of two voices, of
// which the leading tone rises and the other does not answer it. A leading tone
// that does not rise is reported as such.
func (p *Passage) openTritone(lead, fourth tendencyNote) (Finding, bool) {
	if lead.next < 0 || lead.move.Steps != 1 {
		return Finding{}, false
	}
	upper, lower := lead, fourth
	if fourth.ref.Voice < lead.ref.Voice {
		upper, lower = fourth, lead
	}
	from := p.momentOf(NoteRef{fourth.ref.Voice, fourth.next})
	f := p.at(from, upper.ref.Voice, lower.ref.Voice)
	f.Notes = []NoteRef{upper.ref, lower.ref, {upper.ref.Voice, upper.next}, {lower.ref.Voice, lower.next}}
	interval := theory.Between(p.Note(lower.ref).Pitch, p.Note(upper.ref).Pitch)
	goal := Word("third")
	if interval.Abs().Simple().Steps == 3 {
		goal = "sixth"
	}
	f.Args = []Arg{
		{"interval", interval.Abs().Simple()}, {"number", goal},
		{"from", Dyad{Low: p.Note(lower.ref).Pitch, High: p.Note(upper.ref).Pitch}},
		{"to", Dyad{Low: p.Note(f.Notes[3]).Pitch, High: p.Note(f.Notes[2]).Pitch}},
	}
	return f, true
}
