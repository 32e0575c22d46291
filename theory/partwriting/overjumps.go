package partwriting

import (
	"sort"

	"partwright/theory"
)

// eachOverJump visits how each voice goes on over the jumps that are played and that
// do not come at the end of a phrase, as from the measure before a first ending to the
// second one. The page shows the other joins.
func (p *Passage) eachOverJump(visit func(join theory.Join, m *melodicMove)) {
	for _, j := range p.Joins() {
		if j.To == j.From+1 || p.endsAtSign(j.From) || p.part && !p.holdsJoin(j) {
			continue
		}
		for v := range p.Voices {
			a, b := p.cell(j.From, v), p.cell(j.To, v)
			if a.note < 0 || b.note < 0 || !p.IsStruck(j.To, v) {
				continue
			}
			visit(j, &melodicMove{Voice: v, From: int(a.note), To: int(b.note), Moment: j.To, Interval: between(a, b)})
		}
	}
}

// holdsJoin reports whether an excerpt reaches to the end of the measure before a jump
// and begins no later than the measure after it.
func (p *Passage) holdsJoin(j theory.Join) bool {
	last := &p.Score.Measures[p.Moments[j.From].Measure]
	for v := range p.Voices {
		if n := p.Sounding(j.From, v); n != nil && !n.End().Less(last.Onset.Add(last.Length)) {
			return p.Moments[j.To].Offset.Sign() == 0
		}
	}
	return false
}

// endsAtSign reports whether a phrase ends at a moment before a jump. That the next
// measure on the page is not played is no end of a phrase.
func (p *Passage) endsAtSign(m int) bool {
	if p.fermataAt(m) {
		return true
	}
	if m+1 < len(p.Moments) {
		return p.barBetween(m)
	}
	return p.Score.Measures[p.Moments[m].Measure].PhraseBar
}

// sameRootOver reports whether the harmony keeps its root over a jump, so that it only
// changes its position.
func (p *Passage) sameRootOver(j theory.Join) bool {
	a, b := p.chordAt(j.From), p.chordAt(j.To)
	if a == nil || b == nil {
		return p.spelling(j.From) == p.spelling(j.To)
	}
	return a.Root() == b.Root()
}

// leapsOverJumps applies a rule about the interval of a line to the moves over jumps.
func (p *Passage) leapsOverJumps(r *moveRule) []Finding {
	var found []Finding
	p.eachOverJump(func(j theory.Join, m *melodicMove) {
		sounding := p.spelling(j.From) | p.spelling(j.To)
		move := Move{
			Interval: m.Interval, Revoiced: p.sameRootOver(j),
			Diminished: sounding.size() > 2 && sounding.shape()&^diminishedSeventh == 0,
		}
		move.Next = p.leavesBy(m.Voice, m.To)
		move.Ends = move.Next == nil
		if r.breaks(&move) {
			found = append(found, p.atJump(j, m))
		}
	})
	return found
}

// atJump starts a finding about a move over a jump. The reader meets it at the sign
// that sends the players away.
func (p *Passage) atJump(j theory.Join, m *melodicMove) Finding {
	f := p.atMove(m)
	f.Onset, f.Measure = p.Moments[j.From].Onset, int(p.Moments[j.From].Measure)
	return f
}

// leavesBy is the interval by which a voice leaves a note in its phrase once repeated
// notes are skipped, nil where it does not.
func (p *Passage) leavesBy(voice, note int) *theory.Interval {
	line := p.lines[voice]
	for i := sort.Search(len(line), func(i int) bool { return line[i].From >= note }); i < len(line) && line[i].From == note && !line[i].PhraseEnd; i++ {
		if line[i].Interval != theory.Unison {
			return &line[i].Interval
		}
		note = line[i].To
	}
	return nil
}

// eachTendencyOverJump visits the voices that leave a harmony over a jump for one on
// another root, where both readings are safe.
func (p *Passage) eachTendencyOverJump(visit func(j theory.Join, h, next *chord, t tendencyNote)) {
	p.eachOverJump(func(j theory.Join, m *melodicMove) {
		h, next := p.chordAt(j.From), p.chordAt(j.To)
		if h == nil || next == nil || h.Root() == next.Root() || !p.trusted(h) || !p.trusted(next) {
			return
		}
		visit(j, h, next, tendencyNote{ref: NoteRef{m.Voice, m.From}, next: m.To, move: m.Interval})
	})
}

// leavingOver is how a voice leaves a note over a jump.
func (p *Passage) leavingOver(h, next *chord, t tendencyNote) Resolution {
	return Resolution{
		From: &h.Chord, To: &next.Chord, Note: p.Note(t.ref).Pitch.Class(), Move: t.move,
		Goal: p.Voices[t.ref.Voice].Notes[t.next].Pitch.Class(), Outer: p.isOuter(t.ref.Voice),
		Descends: p.comesFromAbove(t.ref, h.tonic),
	}
}

// leadsOverJumps looks for leading tones that a jump leaves unresolved.
func (p *Passage) leadsOverJumps(rule RuleID) []Finding {
	var found []Finding
	p.eachTendencyOverJump(func(j theory.Join, h, next *chord, t tendencyNote) {
		if !h.hasLead || p.Note(t.ref).Pitch.Class() != h.lead || !LeadsHome(&h.Chord, &next.Chord) || LeadRule(&h.Chord, p.isOuter(t.ref.Voice)) != rule || p.reaches(t, next, h.tonic) {
			return
		}
		r := p.leavingOver(h, next, t)
		if most, broken := r.leadUnresolved(); broken {
			f := p.tendencyAtJump(j, t)
			f.Severity = most
			f.Args = append(f.Args, Arg{"goal", h.tonic})
			found = append(found, f)
		}
	})
	return found
}

// seventhsOverJumps looks for the sevenths of dominants, or of chords that somebody has
// named, that a jump leaves unresolved. One that the next chord has too is free.
func (p *Passage) seventhsOverJumps() []Finding {
	var found []Finding
	p.eachTendencyOverJump(func(j theory.Join, h, next *chord, t tendencyNote) {
		if !h.hasSeventh || p.Note(t.ref).Pitch.Class() != h.seventh || !named(h) && !h.Numeral.IsDominant() || next.set.has(h.seventh) || p.resolvesDown(t, next) {
			return
		}
		if r := p.leavingOver(h, next, t); r.seventhUnresolved() {
			f := p.tendencyAtJump(j, t)
			if !named(h) && p.bassTakes(t.ref, next) {
				f.Severity = Caution
			}
			found = append(found, f)
		}
	})
	return found
}

func (p *Passage) tendencyAtJump(j theory.Join, t tendencyNote) Finding {
	f := p.atTendency(t)
	f.Onset, f.Measure = p.Moments[j.From].Onset, int(p.Moments[j.From].Measure)
	return f
}
