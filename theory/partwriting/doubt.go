package partwriting

import (
	"slices"

	"partwright/theory/harmony"
)

// Doubt is a second way to hear a chord that a finding rests on: by it, the finding
// would not stand, or would weigh less.
type Doubt struct {
	Read, Other harmony.Reading
}

// concerns joins rules that say the same of different readings: a leading tone stays
// one, whether its chord is the dominant of the key or an applied one.
var concerns = map[RuleID]RuleID{
	"applied-leading-tone-unresolved": "leading-tone-unresolved",
	"inner-leading-tone-unresolved":   "leading-tone-unresolved",
	"altered-tone-doubled":            "leading-tone-doubled",
}

func concern(id RuleID) RuleID {
	if other, ok := concerns[id]; ok {
		return other
	}
	return id
}

// restsOnHarmony reports whether a rule of a family reads chords.
func (f Family) restsOnHarmony() bool { return f >= ChordTones }

// weighDoubts makes findings that rest on a chord only as sure as the chord is read:
// each rule is asked again where the chords around its findings are heard in another
// plausible way. What every reading bears out stays as it is; anything else becomes a
// caution, and a caution a remark, that shows both readings.
func (p *Passage) weighDoubts(findings []Finding) {
	doubted := p.doubted(findings)
	if len(doubted) == 0 {
		return
	}
	for _, other := range p.otherReadings(doubted) {
		found := other.ask(doubted)
		for _, f := range doubted {
			h, differs := p.differing(other, f)
			if !differs {
				continue
			}
			severity, borne := found[keyOfConcern(f)]
			switch {
			case !borne:
				severity = f.Severity - 1
			case severity >= f.Severity:
				continue
			}
			if f.Doubt == nil {
				f.Doubt = &Doubt{Read: p.chords[h].Reading, Other: other.chords[h].Reading}
				f.Severity = max(severity, Remark)
			}
		}
	}
}

// doubted returns the findings that rest on chords nobody has named and that weigh
// anything.
func (p *Passage) doubted(findings []Finding) []*Finding {
	if p.Harmony == nil {
		return nil
	}
	var out []*Finding
	for i := range findings {
		f := &findings[i]
		if f.Severity >= Caution && mayBeDoubted(f) {
			out = append(out, f)
		}
	}
	return out
}

// mayBeDoubted reports whether a finding rests on the harmony.
func mayBeDoubted(f *Finding) bool {
	return f.Family.restsOnHarmony() && f.Licence == "" && len(f.Notes) > 0
}

// span returns the harmonies that the notes of a finding sound in, and the one after.
func (p *Passage) span(f *Finding) (first, end int) {
	from, to := len(p.Moments), 0
	for _, r := range f.Notes {
		m := p.momentOf(r)
		from, to = min(from, m), max(to, m)
	}
	for to+1 < len(p.Moments) && !f.Onset.Less(p.Moments[to+1].Onset) {
		to++
	}
	first, last := p.Harmony.IndexAt(from), p.Harmony.IndexAt(to)
	if first < 0 || last < 0 {
		return 0, 0
	}
	return first, last + 1
}

// differing returns a harmony that a finding rests on and that another passage reads
// otherwise: one that has a leading tone and loses it, else the last.
func (p *Passage) differing(other *Passage, f *Finding) (int, bool) {
	first, end := p.span(f)
	last := -1
	for i := first; i < end; i++ {
		h, heard := &p.chords[i], &other.chords[i]
		if h.Reading == heard.Reading {
			continue
		}
		if last = i; h.hasLead && !heard.hasLead {
			break
		}
	}
	return last, last >= 0
}

// ask runs the rules of some findings on a passage and returns how grave what they
// find is, by place and concern.
func (p *Passage) ask(findings []*Finding) map[concernAt]Severity {
	asked := map[RuleID]bool{}
	for _, f := range findings {
		asked[concern(f.Rule)] = true
	}
	found := map[concernAt]Severity{}
	for _, r := range suite {
		severity := p.Set.SeverityOf(r)
		if !asked[concern(r.ID)] || severity == Off {
			continue
		}
		for _, f := range run(r, p) {
			f.Rule = r.ID
			if f.Severity == Off || f.Severity > severity {
				f.Severity = severity
			}
			key := keyOfConcern(&f)
			found[key] = max(found[key], f.Severity)
		}
	}
	return found
}

// concernAt is what makes two findings the same by different readings.
type concernAt struct {
	concern RuleID
	first   NoteRef
	last    NoteRef
}

func keyOfConcern(f *Finding) concernAt {
	key := concernAt{concern: concern(f.Rule)}
	if n := len(f.Notes); n > 0 {
		key.first, key.last = f.Notes[0], f.Notes[n-1]
	}
	return key
}

// around is how many harmonies on either side of a finding are read otherwise.
const around = 4

// otherReadings returns passages that hear the harmonies around some findings
// otherwise: all of them at once, as where the key is in doubt, and every other one
// within its key, as where a chord may have a seventh or none.
func (p *Passage) otherReadings(findings []*Finding) []*Passage {
	near := make([]bool, len(p.chords))
	for _, f := range findings {
		first, end := p.span(f)
		for i := max(0, first-around); i < min(len(near), end+around); i++ {
			near[i] = true
		}
	}
	var out []*Passage
	for _, takes := range []func(i int, r *harmony.Plausible) bool{
		func(int, *harmony.Plausible) bool { return true },
		func(i int, r *harmony.Plausible) bool { return i%2 == 0 && r.Key == p.chords[i].Key },
		func(i int, r *harmony.Plausible) bool { return i%2 == 1 && r.Key == p.chords[i].Key },
	} {
		if other := p.reread(near, takes); other != nil {
			out = append(out, other)
		}
	}
	return out
}

// reread returns the passage with the first other reading that is taken of each
// harmony nearby, nil where nothing changes.
func (p *Passage) reread(near []bool, takes func(i int, r *harmony.Plausible) bool) *Passage {
	other := *p
	other.near, other.reheard = near, true
	other.chords = slices.Clone(p.chords)
	changed := false
	for i := range other.chords {
		h := &other.chords[i]
		if !near[i] || named(h) || h.FirstMoment >= h.EndMoment {
			continue
		}
		for _, r := range p.Harmony.Plausible(h.FirstMoment, harmony.LeastPlausible)[1:] {
			if takes(i, &r) {
				h.readAs(r.Reading)
				changed = true
				break
			}
		}
	}
	if !changed {
		return nil
	}
	for i := range other.chords {
		other.drag(p, i, i-1)
	}
	for i := len(other.chords) - 1; i >= 0; i-- {
		other.drag(p, i, i+1)
	}
	other.settle(near)
	other.findSeams()
	return &other
}

// readAs gives a harmony of its own to a chord that is read otherwise.
func (h *chord) readAs(r harmony.Reading) {
	again := *h.Harmony
	again.Reading, again.Pivot = r, nil
	h.Harmony = &again
}

// drag reads a harmony in the key into which its neighbor has gone by another reading,
// where that is at all possible: a key that is heard otherwise is so for more than one
// chord.
func (p *Passage) drag(as *Passage, i, neighbor int) {
	if !p.near[i] || neighbor < 0 || neighbor >= len(p.chords) || p.chords[i].Reading != as.chords[i].Reading {
		return
	}
	h, to := &p.chords[i], p.chords[neighbor].Key
	if named(h) || to == h.Key || to == as.chords[neighbor].Key || h.FirstMoment >= h.EndMoment {
		return
	}
	for _, r := range as.Harmony.Plausible(h.FirstMoment, harmony.LeastPlausible/2)[1:] {
		if r.Key == to {
			h.readAs(r.Reading)
			return
		}
	}
}

// settle finds the cadential six-fours among harmonies that are read otherwise, and
// works out what rules ask of each.
func (p *Passage) settle(near []bool) {
	for i := range p.chords {
		h := &p.chords[i]
		if !near[i] {
			continue
		}
		n := h.Numeral
		if n.Cadential = false; i+1 < len(p.chords) {
			next := &p.chords[i+1]
			n.Cadential = n.IsTonic() && n.Inversion == 2 && h.Key == next.Key && !next.Numeral.IsApplied() &&
				next.Numeral.Degree == 5 && next.Numeral.IsDominant() && next.Harmony.Bass() == h.Harmony.Bass()
		}
		if n.Cadential != h.Numeral.Cadential {
			again := *h.Harmony
			again.Numeral = n
			h.Harmony = &again
		}
		h.Chord = NewChord(h.Reading)
	}
}
