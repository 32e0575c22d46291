package harmony

import (
	"partwright/theory"
	"partwright/theory/harmony/beatnet"
)

// Analyze reads a texture harmonically, in the style that [StyleOf] chooses. A
// texture without voices or moments gives an empty analysis. The same texture always
// gives the same analysis.
func Analyze(t *theory.Texture) *Analysis { return AnalyzeAs(t, ByTexture) }

// AnalyzeAs reads a texture in a given style.
func AnalyzeAs(t *theory.Texture, s Style) *Analysis { return modelFor(t, s).Analyze(t) }

// Model is the knowledge that an analysis rests on: how often numerals follow
// one another, and what speaks for and against a reading. It does not change
// and may be shared.
type Model struct {
	habits  *habits
	weights *weights
	terms   *terms
	widths  widths
	// net, if any, is asked at each beat.
	net   *beatnet.Net
	style Style
	// styleFound says why the model was chosen, "" where the caller chose it.
	styleFound string
}

// NewModel makes a model of other numbers than the built-in ones; both maps are
// by the names of counts.tsv and weights.tsv.
func NewModel(counts, weights map[string]float64) *Model {
	return (&Model{habits: newHabits(counts)}).WithWeights(weights)
}

// WithWeights returns a model with the same habits.
func (m *Model) WithWeights(weights map[string]float64) *Model {
	out := *m
	out.weights, out.widths = newWeights(weights), usualWidths
	out.terms = newTerms(m.habits, out.weights)
	return &out
}

// WithStyle returns a model that says it reads in a style.
func (m *Model) WithStyle(s Style) *Model {
	out := *m
	out.style = s
	return &out
}

// WithNet returns a model that asks a net; nil asks none.
func (m *Model) WithNet(net *beatnet.Net) *Model {
	out := *m
	out.net = net
	return &out
}

// Analyze reads a texture as the function [Analyze] does.
func (m *Model) Analyze(t *theory.Texture) *Analysis { return m.analyze(t, nil) }

// analyze reads a texture under the guidance of labels; g may be nil.
func (m *Model) analyze(t *theory.Texture, g *guide) *Analysis {
	defer t.Score.Work.Scope()()
	a := emptyAnalysis(t)
	a.Style, a.StyleFound = m.style, m.styleFound
	if len(t.Moments) == 0 || len(t.Score.Measures) == 0 {
		return a
	}
	a.Phrases = findPhrases(t)
	p := newPiece(t, a.Phrases, m.weights, g)
	p.listen(m.net)
	l := newLattice(p, m)
	l.forward()
	path, score := l.best()
	a.take(p, l, path)
	a.weigh(l, path, score)
	l.release()
	return a
}

// emptyAnalysis has no harmony and every note unread.
func emptyAnalysis(t *theory.Texture) *Analysis {
	a := &Analysis{texture: t, atMoment: make([]int32, len(t.Moments))}
	for i := range a.atMoment {
		a.atMoment[i] = -1
	}
	a.Notes = make([][]NoteReading, len(t.Voices))
	for v := range t.Voices {
		a.Notes[v] = make([]NoteReading, len(t.Voices[v].Notes))
		for n := range a.Notes[v] {
			a.Notes[v][n] = NoteReading{Class: Unread, Harmony: -1, Member: -1}
		}
	}
	return a
}

// take turns the best path into harmonies, joining segments that say the same.
func (a *Analysis) take(p *piece, l *lattice, path []choice) {
	a.Harmonies = join(p, l.stretches(path, nil))
	a.markCadential()
	p.guide.settle(a.Harmonies)
	a.finish()
	a.findCadences()
}

// stretch is a segment of the best path with what it says.
type stretch struct {
	// start and end are frames of the piece.
	start, end int
	Reading
	pivot *Reading
}

// stretches reads a path out; before is what precedes it, nil at the beginning of
// the piece.
func (l *lattice) stretches(path []choice, before *choice) []stretch {
	out := make([]stretch, 0, len(path))
	for i := range path {
		c := &path[i]
		s := stretch{start: int(c.segment.start) + l.p.first, end: int(c.segment.end) + l.p.first, Reading: l.reading(c.key, c.state)}
		if c.pivotKey >= 0 {
			old := l.reading(c.pivotKey, c.pivotState)
			s.pivot = &old
		} else if before != nil && before.key != c.key && !l.p.follows(int(c.segment.start)) {
			s.pivot = l.oldReading(*before, *c)
		}
		out = append(out, s)
		before = c
	}
	return out
}

// join makes harmonies of stretches that follow one another.
func join(p *piece, stretches []stretch) []Harmony {
	var out []Harmony
	for i := range stretches {
		s := &stretches[i]
		frame := &p.frames[s.start]
		end := p.until(s.end - 1)
		endMoment := int(p.frames[s.end-1].end)
		if n := len(out); n > 0 && out[n-1].Reading == s.Reading && out[n-1].End == frame.onset && !p.follows(s.start) {
			out[n-1].End, out[n-1].EndMoment = end, endMoment
			continue
		}
		out = append(out, Harmony{Onset: frame.onset, End: end, Measure: int(p.texture.Moments[frame.moment].Measure),
			FirstMoment: int(frame.moment), EndMoment: endMoment, Reading: s.Reading, Pivot: s.pivot})
	}
	return out
}

// finish draws what follows from the harmonies.
func (a *Analysis) finish() {
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		for m := h.FirstMoment; m < h.EndMoment; m++ {
			a.atMoment[m] = int32(i)
		}
	}
	a.joinKeys()
	a.classifyNotes()
}

// oldReading finds how the first chord of a new key can be heard in the key that
// is left: as a plain chord of it, or as the dominant of the new tonic. It
// returns nil if neither is possible.
func (l *lattice) oldReading(before, c choice) *Reading {
	ch := &l.table.chords[c.segment.chord]
	mode := l.table.keys[before.key].Mode
	n := l.h.words[mode].states()
	best, found := absent, -1
	for _, r := range l.table.readings[ch.readings:ch.readingsEnd] {
		if int(r.key) != before.key {
			continue
		}
		numeral := l.h.words[mode].numerals[r.numeral]
		leads := numeral.IsApplied() && numeral.In(l.table.keys[before.key]).Tonic == l.table.keys[c.key].Tonic
		state := int(r.numeral)*4 + int(c.segment.inversion)
		if score := l.h.pair[mode][state*n+before.state]; (r.plain || leads) && score > best {
			best, found = score, state
		}
	}
	if found < 0 {
		return nil
	}
	old := l.reading(before.key, found)
	return &old
}

// reading is a state of a key as a numeral.
func (l *lattice) reading(key, state int) Reading {
	k := l.table.keys[key]
	n := l.h.words[k.Mode].numerals[state/4]
	n.Inversion = int8(state % 4)
	return Reading{k, n}
}

// markCadential finds tonic six-fours that stand for the dominant after them:
// V follows in root position over the same bass.
func (a *Analysis) markCadential() {
	for i := 0; i+1 < len(a.Harmonies); i++ {
		h, next := &a.Harmonies[i], &a.Harmonies[i+1]
		n := &h.Numeral
		if n.IsTonic() && n.Inversion == 2 && h.Key == next.Key && !next.Numeral.IsApplied() &&
			next.Numeral.Degree == 5 && next.Numeral.IsDominant() && next.Bass() == h.Bass() {
			n.Cadential = true
		}
	}
}

// joinKeys lists the stretches of one key.
func (a *Analysis) joinKeys() {
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		if n := len(a.Keys); n > 0 && a.Keys[n-1].Key == h.Key {
			a.Keys[n-1].End, a.Keys[n-1].Last = h.End, i
			continue
		}
		a.Keys = append(a.Keys, KeyArea{Key: h.Key, Onset: h.Onset, End: h.End, First: i, Last: i})
	}
}
