package harmony

import (
	"slices"

	"partwright/theory"
)

// Rereader reads a texture anew where notes of it have changed, and only there. The
// search begins a few chords before the change with all that it had found by then
// and ends a few chords after it with all that it knows of the rest; where that would
// change the reading on either side, it takes in more.
type Rereader struct {
	texture *theory.Texture
	before  *Analysis
	// byNotes is the search without labels, guided the one with them, nil without
	// labels. Both are nil where every chord was given its name.
	byNotes, guided *kept
	given           []Annotation
	style           Style
}

// NewRereader prepares to read changed versions of a texture as an analysis of it was
// made; see [Analysis.Again].
func NewRereader(t *theory.Texture, a *Analysis) *Rereader {
	r := &Rereader{texture: t, before: a, style: a.Style}
	if len(a.Given) == 0 && a.named() {
		return r
	}
	if a.kept != nil && a.texture == t {
		r.byNotes = a.kept
		return r
	}
	m := modelFor(t, a.Style)
	r.byNotes = m.keep(t, nil)
	if len(a.Given) > 0 && a.Use != Ignore {
		r.given = a.Given
		r.guided = m.keep(t, &guide{labels: a.Given})
	}
	return r
}

// named reports whether every chord was given its name.
func (a *Analysis) named() bool {
	for i := range a.Harmonies {
		if a.Harmonies[i].Confidence != 1 {
			return false
		}
	}
	return len(a.Harmonies) > 0
}

// Note names a note of a texture.
type Note struct{ Voice, Note int }

// Read returns what an excerpt of a changed texture says. The notes are those that
// have another pitch now; all that sounds with them lies within the excerpt. It is
// nil where the change reaches further than that: then only the whole tells.
func (r *Rereader) Read(changed *theory.Texture, e *theory.Excerpt, notes []Note) *Analysis {
	if r.byNotes == nil {
		return r.before.Excerpt(e)
	}
	if r.guided != nil && r.before.Use == Replace {
		return nil
	}
	byNotes := r.byNotes.read(changed, e, notes)
	if byNotes == nil || r.guided == nil {
		return byNotes
	}
	a := r.guided.read(changed, e, notes)
	if a == nil {
		return nil
	}
	a.Given, a.Use = r.given, r.before.Use
	a.Contested = byNotes.contested(within(r.given, e))
	return a
}

// within are the labels that begin in an excerpt.
func within(given []Annotation, e *theory.Excerpt) []Annotation {
	var out []Annotation
	last := len(e.Moments) - 1
	for _, label := range given {
		if !label.Onset.Less(e.Moments[0].Onset) && !e.Moments[last].Onset.Less(label.Onset) {
			out = append(out, label)
		}
	}
	return out
}

// How far around a change the search goes, in segments of the path; where it changes
// what is beyond, it goes twice as far, up to widestReach. The path would be right with
// one already: the search knows exactly what lies on either side. How safe a chord is
// depends on what else the chords beside it may be: with 3, the ways to mend found for
// 689 findings in chorales with a fault put in are those of the whole score, with 2 all
// but one, with 1 all but two.
const (
	firstReach  = 3
	widestReach = 24
)

func (k *kept) read(changed *theory.Texture, e *theory.Excerpt, notes []Note) *Analysis {
	if k.piece == nil {
		return emptyAnalysis(e.Texture)
	}
	from, to := k.touched(changed, notes)
	first, last := k.segmentAt(from), k.segmentAt(to)
	for reach := firstReach; reach <= widestReach; reach *= 2 {
		s := k.stretchOf(max(first-reach, 0), min(last+reach+1, len(k.path)))
		if s.read(changed, notes) {
			return k.compose(changed, e, s)
		}
	}
	return nil
}

// touched returns the first and the last frame in which a changed note counts: as what
// sounds, and by how the notes beside it come to it.
func (k *kept) touched(t *theory.Texture, notes []Note) (from, to int) {
	from, to = len(k.piece.frames), 0
	for _, n := range notes {
		line := t.Voices[n.Voice].Notes
		first, last := &line[max(n.Note-1, 0)], &line[min(n.Note+1, len(line)-1)]
		from = min(from, k.frameAt(first.Onset))
		to = max(to, k.frameBefore(last.End()))
	}
	return from, to
}

// frameAt is the frame that an onset lies in, frameBefore the one before it.
func (k *kept) frameAt(onset theory.Fraction) int {
	at, found := slices.BinarySearchFunc(k.piece.frames, onset, func(f frame, o theory.Fraction) int { return f.onset.Cmp(o) })
	if found {
		return at
	}
	return max(at-1, 0)
}

func (k *kept) frameBefore(onset theory.Fraction) int {
	at, _ := slices.BinarySearchFunc(k.piece.frames, onset, func(f frame, o theory.Fraction) int { return f.onset.Cmp(o) })
	return max(at-1, 0)
}

// reading is a stretch of a piece that is read again.
type reading struct {
	of *kept
	// first and last bound the segments of the path, from and to the frames.
	first, last int
	from, to    int
	// path and harmonies are what was found.
	path      []stretch
	harmonies []Harmony
	doubts    doubts
}

func (k *kept) stretchOf(first, last int) *reading {
	return &reading{of: k, first: first, last: last, from: k.path[first].start, to: k.path[last-1].end}
}

// read searches the stretch and reports whether what lies on either side of it stays
// as it was.
func (r *reading) read(changed *theory.Texture, notes []Note) bool {
	k := r.of
	p := r.piece(changed, notes)
	l := newLattice(p, k.model)
	defer l.release()
	l.join(k, r.from, r.to)
	l.forward()
	path, score := l.best()
	if len(path) == 0 || !r.joins(l, path) {
		return false
	}
	var before *choice
	if r.from > 0 {
		n := &l.nodes[l.entries[l.nodes[l.nodesOn(path)[0]].entry].from]
		before = &choice{key: int(n.key), state: int(n.state)}
	}
	r.path = l.stretches(path, before)
	w := &Analysis{Harmonies: join(p, shifted(r.path, r.from))}
	w.weigh(l, path, score)
	r.harmonies, r.doubts = w.Harmonies, w.doubts
	return true
}

// joins reports whether a path begins and ends in the states that the path of the
// whole has there.
func (r *reading) joins(l *lattice, path []choice) bool {
	nodes := l.nodesOn(path)
	if r.from > 0 {
		if in := &l.nodes[l.entries[l.nodes[nodes[0]].entry].from]; l.stateOf(in) != r.of.ends[r.first-1].stateAt {
			return false
		}
	}
	return r.to == len(r.of.piece.frames) || l.stateOf(&l.nodes[nodes[len(nodes)-1]]) == r.of.ends[r.last-1].stateAt
}

func (l *lattice) stateOf(n *node) stateAt { return stateAt{l.table.keys[n.key], n.state, n.heard} }

func shifted(path []stretch, by int) []stretch {
	out := slices.Clone(path)
	for i := range out {
		out[i].start, out[i].end = out[i].start-by, out[i].end-by
	}
	return out
}

// piece prepares the frames of a stretch with the notes as they are now.
func (r *reading) piece(changed *theory.Texture, notes []Note) *piece {
	whole := r.of.piece
	p := &piece{texture: changed, weights: whole.weights, signature: whole.signature,
		frames: slices.Clone(whole.frames[r.from:r.to]), first: r.from, afterPhrase: whole.follows(r.from)}
	if r.to < len(whole.frames) {
		p.next = &whole.frames[r.to].onset
	}
	if whole.guide != nil {
		p.guide = &guide{labels: whole.guide.labels, at: whole.guide.at[r.from:r.to]}
	}
	lines := r.of.lines.with(changed, notes)
	from, to := r.of.touched(changed, notes)
	for f := range p.frames {
		frame := &p.frames[f]
		if at := f + r.from; at < from || at > to {
			old := whole.notes[frame.notes:frame.notesEnd]
			frame.notes = int32(len(p.notes))
			p.notes = append(p.notes, old...)
			frame.notesEnd = int32(len(p.notes))
			continue
		}
		frame.sounding, frame.bass = 0, -1
		p.fill(f, lines)
	}
	p.evidence = r.of.listen(p)
	p.present = 0
	for f := range whole.frames {
		if f < r.from || f >= r.to {
			p.present |= whole.frames[f].sounding
		} else {
			p.present |= p.frames[f-r.from].sounding
		}
	}
	p.table = r.of.tableOf(p.present)
	return p
}

// tableOf is the table of the chords of some pitch classes.
func (k *kept) tableOf(present uint64) *chordTable {
	table := k.tables[present]
	if table == nil {
		table = newChordTable(present, k.model.habits)
		k.tables[present] = table
	}
	return table
}

// listen returns what the net hears in a stretch with the whole around it.
func (k *kept) listen(p *piece) *evidence {
	if k.again == nil {
		return nil
	}
	first, end := p.first, p.first+len(p.frames)
	for f := first; f < end; f++ {
		k.heard[f].Sounding, k.heard[f].Bass = p.frames[f-first].sounding, p.frames[f-first].bass
	}
	m := k.again.music
	m.Fill(k.heard)
	k.model.net.HearSome(m, m.BeatOf(first), m.BeatOf(end-1)+1, k.piece.weights.heeded(), k.again.logs)
	for f := first; f < end; f++ {
		k.heard[f].Sounding, k.heard[f].Bass = k.piece.frames[f].sounding, k.piece.frames[f].bass
	}
	return k.again
}

// with returns the figures of the lines where some notes have changed.
func (m *melodies) with(t *theory.Texture, changed []Note) *melodies {
	out := &melodies{figures: slices.Clone(m.figures)}
	for _, c := range changed {
		notes := t.Voices[c.Voice].Notes
		figures := slices.Clone(out.figures[c.Voice])
		for n := max(c.Note-1, 0); n <= min(c.Note+1, len(notes)-1); n++ {
			in, on := movesAt(notes, n)
			figures[n] = foreignNotes[in][on].figure
		}
		out.figures[c.Voice] = figures
	}
	return out
}

// compose makes the analysis of an excerpt: what was read anew, and around it what
// was there before.
func (k *kept) compose(changed *theory.Texture, e *theory.Excerpt, r *reading) *Analysis {
	end := e.From + len(e.Moments)
	first := min(k.segmentAt(k.frameOf(e.From)), r.first)
	last := max(k.segmentAt(k.frameOf(end-1))+1, r.last)
	// One chord more on either side: harmonies join, and cadences look back.
	first, last = max(first-2, 0), min(last+1, len(k.path))
	path := slices.Concat(k.path[first:r.first], r.path, k.path[r.last:last])
	harmonies := join(k.piece, path)
	for i := range harmonies {
		h := &harmonies[i]
		from := k.analysis.Harmonies
		if at := k.frameAt(h.Onset); at >= r.from && at < r.to {
			from = r.harmonies
		}
		if old := harmonyAt(from, h.Onset); old != nil {
			h.Confidence, h.Margin, h.RunnerUp = old.Confidence, old.Margin, old.RunnerUp
		}
	}
	a := &Analysis{Harmonies: harmonies, Style: k.analysis.Style, Phrases: k.analysis.Phrases, doubts: k.analysis.doubts}
	a.doubts.rivals = slices.Clone(a.doubts.rivals)
	copy(a.doubts.rivals[r.from:], r.doubts.rivals)
	a.markCadential()
	k.piece.guide.settle(a.Harmonies)
	return a.placeIn(e)
}

// harmonyAt is the harmony that begins at an onset or is held there.
func harmonyAt(harmonies []Harmony, onset theory.Fraction) *Harmony {
	i, found := slices.BinarySearchFunc(harmonies, onset, func(h Harmony, o theory.Fraction) int { return h.Onset.Cmp(o) })
	if !found {
		i--
	}
	if i < 0 {
		return nil
	}
	return &harmonies[i]
}
