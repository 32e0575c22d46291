package partwriting

import "partwright/theory"

// The tritone between leading tone and fourth degree.
var tritones = []*Rule{
	{
		ID: "tritone-unresolved", Family: Tendency, Severity: Remark,
		Source: Source{"Collaros, Partwriting conventions and definitions", "", "a diminished fifth closes to a third, an augmented fourth opens to a sixth, where a chord on the leading tone goes to its tonic; free where another voice takes the fourth degree down, where it is held, or rises in tenths with the bass (Hutchinson, section 27.1); in V7 the leading tone and the seventh are told by themselves"},
		Check:  (*Passage).openTritones,
	},
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
				if f, told := p.openTritone(lead, fourth); told {
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
	to := p.MomentOf(NoteRef{t.ref.Voice, t.next})
	m := PairMove{From: to - 1, To: to}
	return t.move.Steps == 1 && p.inTenths(t.ref.Voice, len(p.Voices)-1, &m)
}

// openTritone reports the leading tone and the fourth degree of two voices, of
// which the leading tone rises and the other does not answer it. A leading tone
// that does not rise is told as such.
func (p *Passage) openTritone(lead, fourth tendencyNote) (Finding, bool) {
	if lead.next < 0 || lead.move.Steps != 1 {
		return Finding{}, false
	}
	upper, lower := lead, fourth
	if fourth.ref.Voice < lead.ref.Voice {
		upper, lower = fourth, lead
	}
	from := p.MomentOf(NoteRef{fourth.ref.Voice, fourth.next})
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
