package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// overSeams are the rules that look at a change and are asked about the music as it is
// heard around each jump. Those about leading tones, sevenths, the intervals of a line,
// parallels and the way back from a dominant look over jumps themselves.
var overSeams = map[RuleID]sides{
	"contrary-fifths": bothSides, "contrary-octaves": bothSides, "direct-fifths": bothSides, "direct-octaves": bothSides,
	"direct-perfects-other-pairs": bothSides, "unequal-fifths": bothSides, "narrowing-fifths": bothSides,
	"parallel-fourths": bothSides, "parallel-seconds-sevenths": bothSides, "voice-overlap": bothSides, "cross-relation": bothSides,
	"unrecovered-leap": bothSides, "successive-leaps": bothSides, "leap-after-leap": bothSides,
	"altered-tone-unresolved": bothSides, "augmented-sixth-unresolved": bothSides, "neapolitan-unresolved": bothSides,
	"seventh-unprepared": bothSides, "cadential-six-four-unresolved": bothSides, "cadential-six-four-unprepared": bothSides,
	"all-one-direction": behind, "restless-upper-voices": behind, "weak-progression": behind,
	"bass-held-into-strong-beat": behind, "harmony-held-into-strong-beat": behind,
}

// sides are where the notes of a finding stand that a jump makes.
type sides uint8

const (
	// bothSides: before the jump and behind it.
	bothSides sides = iota + 1
	// behind: it names the chord behind the jump alone.
	behind
)

// seam is the music around a jump as it is heard: two measures before it, then two after.
type seam struct {
	*Passage
	// from is the last moment of the whole before the jump, at the onset here of what
	// comes after it.
	from int
	at   theory.Fraction
	// notes are, for each voice, the indexes in the whole of its notes here.
	notes [][]int
}

// seamFindings asks a rule about the music around each jump that is played and does not
// come at the end of a phrase, and returns what only the jump makes.
func (p *Passage) seamFindings(r *Rule) []Finding {
	if overSeams[r.ID] == 0 {
		return nil
	}
	var found []Finding
	for _, s := range p.seams {
		for _, f := range r.Check(s.Passage) {
			if s.spans(r, &f) {
				found = append(found, p.fromSeam(s, &f))
			}
		}
	}
	return found
}

func (p *Passage) findSeams() {
	p.seams = nil
	for _, j := range p.Joins() {
		if j.To != j.From+1 && !p.endsAtSign(j.From) && !(p.part && !p.holdsJoin(j)) {
			p.seams = append(p.seams, p.seamAt(j))
		}
	}
}

// seamAt sets the measures before a jump and those after it beside one another.
func (p *Passage) seamAt(j theory.Join) *seam {
	before, after := int(p.Moments[j.From].Measure), int(p.Moments[j.To].Measure)
	cut := func(m int) bool { return m < len(p.Score.Cuts) && p.Score.Cuts[m] }
	first, last := before, after
	if first > 0 && !cut(first-1) {
		first--
	}
	if last+1 < len(p.Score.Measures) && !cut(last) {
		last++
	}
	b := &seamBuilder{p: p, notes: make([][]int, len(p.Voices)), voices: make([]theory.Voice, len(p.Voices))}
	for v := range p.Voices {
		b.voices[v] = p.Voices[v]
		b.voices[v].Notes = nil
	}
	b.add(first, before)
	s := &seam{from: j.From, at: b.end}
	b.add(after, last)
	score := *p.Score
	score.Measures, score.Heard, score.Jumps, score.Cuts, score.Accepted = b.measures, nil, nil, nil, nil
	t := theory.NewTexture(&score, p.Layout, p.Found, b.voices)
	var a *harmony.Analysis
	if p.Harmony != nil {
		a = harmony.Assume(t, b.labels)
	}
	s.notes = b.notes
	s.Passage = &Passage{part: true, Texture: t, divided: t, Harmony: a, Set: p.Set, Limits: p.Limits, kind: p.kind, resolution: p.resolution}
	s.prepare()
	return s
}

// seamBuilder strings measures together.
type seamBuilder struct {
	p        *Passage
	measures []theory.Measure
	voices   []theory.Voice
	notes    [][]int
	labels   []harmony.Label
	end      theory.Fraction
}

// add appends the measures from one to another. A note that sounds into the first of
// them begins there where nothing comes before, and is left out after a jump; what sounds
// beyond the last one ends with it.
func (b *seamBuilder) add(first, last int) {
	measures := b.p.Score.Measures
	start, end := measures[first].Onset, measures[last].Onset.Add(measures[last].Length)
	opening, base := len(b.measures) == 0, len(b.measures)
	shifted := func(at theory.Fraction) theory.Fraction { return at.Sub(start).Add(b.end) }
	for m := first; m <= last; m++ {
		measure := measures[m]
		measure.Index, measure.Onset = len(b.measures), shifted(measure.Onset)
		b.measures = append(b.measures, measure)
	}
	for v := range b.p.Voices {
		for i := range b.p.Voices[v].Notes {
			n := b.p.Voices[v].Notes[i]
			if !n.Onset.Less(end) || !start.Less(n.End()) || n.Onset.Less(start) && !opening {
				continue
			}
			from, to := n.Onset, n.End()
			if from.Less(start) {
				from = start
			}
			if end.Less(to) {
				to = end
			}
			n.Measure = int32(base + max(int(n.Measure)-first, 0))
			n.Onset, n.Duration = shifted(from), to.Sub(from)
			b.voices[v].Notes = append(b.voices[v].Notes, n)
			b.notes[v] = append(b.notes[v], i)
		}
	}
	for i := range b.p.chords {
		h := b.p.chords[i].Harmony
		if !h.Onset.Less(end) || !start.Less(h.End) {
			continue
		}
		l := harmony.Label{Onset: h.Onset, Reading: h.Reading, Confidence: h.Confidence}
		if l.Onset.Less(start) {
			l.Onset = start
		}
		l.Onset = shifted(l.Onset)
		b.labels = append(b.labels, l)
	}
	b.end = shifted(end)
}

// spans reports whether a finding is about how the music goes on over the jump.
func (s *seam) spans(r *Rule, f *Finding) bool {
	if overSeams[r.ID] == behind {
		return f.Onset == s.at
	}
	before, after := false, false
	for _, n := range f.Notes {
		if s.Note(n).Onset.Less(s.at) {
			before = true
		} else {
			after = true
		}
	}
	return before && after
}

// fromSeam brings a finding home. The reader meets it at the sign that sends the players
// away.
func (p *Passage) fromSeam(s *seam, f *Finding) Finding {
	home := func(refs []NoteRef) []NoteRef {
		out := make([]NoteRef, len(refs))
		for i, n := range refs {
			out[i] = NoteRef{n.Voice, s.notes[n.Voice][n.Note]}
		}
		return out
	}
	out := *f
	out.Notes, out.Related = home(f.Notes), home(f.Related)
	out.Onset, out.Measure = p.Moments[s.from].Onset, int(p.Moments[s.from].Measure)
	return out
}
