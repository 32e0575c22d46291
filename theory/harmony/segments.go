package harmony

import "slices"

// segment is one harmony that might be heard from frame start up to frame end.
type segment struct {
	start, end int32
	chord      int16
	inversion  int8
	// group indexes lattice.groups, next the segment of the same group before, -1
	// at the first.
	group, next int32
	score       float32
	// keys are those that the chord may be heard in.
	keys keySet
}

// Limits of the search. A harmony that lasts longer is made of several segments
// that say the same.
const (
	maxSegmentFrames = 12
	maxSegmentBeats  = 8
)

// segmenter finds the segments that begin at one frame.
type segmenter struct {
	p     *piece
	table *chordTable
	// width is how much worse than the best chord of the same frames another may
	// explain them and still be looked at, in log probability.
	width float32
	// foreign[f*len(chords)+c] is the cost of chord c in frame f.
	foreign []float32
	live    []liveChord
	// lacks is by quality and the bits of the members that are missing.
	lacks [numQualities][16]float32
	// spared is what a beat costs less where the bass has risen, see weights.bassRises.
	spared float32
	// member[bit*len(chords)+c] is the member of chord c that a bit is, -1 for none, for
	// the bits that sound.
	member []int8
}

// liveChord is a chord that is being followed from a start frame.
type liveChord struct {
	chord  int16
	cost   float32
	bassAt [4]float32 // beats of each member in the bass
	moved  float32    // beats of all of them
	bass   int8       // first member in the bass, -1 none yet
	low    int8       // lowest member in the bass, -1 none yet
	// raised are the beats in which another member than the first is the bass and lies
	// higher than the first did, risen those in which one lies higher than the lowest.
	raised, risen float32
	// height is that of the first bass at its lowest, depth that of the lowest.
	height, depth int16
	late          float32 // what beginning costs, and members that come late
	foreign       bool
}

// prepare makes the segmenter ready for a piece.
func (s *segmenter) prepare(p *piece, table *chordTable, width float32) {
	s.p, s.table, s.width = p, table, width
	s.spared = p.weights.bassMoves - p.weights.bassRises
	for q := range Quality(numQualities) {
		s.lack(q)
	}
	n := len(table.chords)
	s.findMembers()
	p.texture.Score.Work.Hold(4 * len(p.frames) * n)
	s.foreign = slices.Grow(s.foreign[:0], len(p.frames)*n)[:len(p.frames)*n]
	for f := range p.frames {
		p.texture.Score.Work.Step(4)
		s.frameCosts(f, s.foreign[f*n:(f+1)*n])
	}
}

// findMembers fills in what each pitch class that sounds is to each chord.
func (s *segmenter) findMembers() {
	n := len(s.table.chords)
	s.member = slices.Grow(s.member[:0], 64*n)[:64*n]
	for rest := s.p.present; rest != 0; rest &= rest - 1 {
		bit := trailing(rest)
		row := s.member[bit*n:][:n]
		for c := range row {
			row[c] = s.table.chords[c].memberAt(int8(bit))
		}
	}
}

// frameCosts fills in what each chord leaves unexplained in a frame.
func (s *segmenter) frameCosts(f int, out []float32) {
	frame := &s.p.frames[f]
	var cost [64]float32
	for _, note := range s.p.notes[frame.notes:frame.notesEnd] {
		cost[note.bit] += note.cost
	}
	for c := range out {
		sum := float32(0)
		for rest := frame.sounding &^ s.table.chords[c].mask; rest != 0; rest &= rest - 1 {
			sum += cost[trailing(rest)]
		}
		out[c] = sum
	}
	s.p.weighRoots(f, s.table.chords, out)
	s.p.guide.weighChords(f, s.table.chords, out)
}

// from appends to out the segments that begin at frame start.
func (s *segmenter) from(start int, out []segment) []segment {
	frames := s.p.frames
	width := s.width + s.p.guide.slack(start)
	if start+s.p.first <= openingFrames {
		width *= 3
	}
	s.begin(start)
	sounding, beats := uint64(0), float32(0)
	for end := start + 1; end <= len(frames) && end-start <= maxSegmentFrames; end++ {
		f := &frames[end-1]
		if end-1 > start && (frames[end-2].phraseEnd || beats >= maxSegmentBeats || s.p.guide.parts(end-1)) {
			break
		}
		sounding |= f.sounding
		beats += f.beats
		first := len(out)
		var floor float32
		out, floor = s.extend(start, end, sounding, width, out)
		out = keepAbove(floor, out, first)
		s.narrow(floor)
	}
	return out
}

// begin follows every chord that has a note in frame start.
func (s *segmenter) begin(start int) {
	first := &s.p.frames[start]
	w := s.p.weights
	begin := w.begin[first.level] + s.p.weighBegin(start)
	s.live = s.live[:0]
	for c := range s.table.chords {
		ch := &s.table.chords[c]
		if ch.mask&first.sounding == 0 {
			continue
		}
		l := liveChord{chord: int16(c), bass: -1, low: -1, late: begin}
		absent := ch.mask &^ first.sounding
		if ch.quality.IsSeventh() && absent>>uint(ch.members[3])&1 == 1 {
			l.late += w.lateSeventh
		}
		if absent>>uint(ch.members[0])&1 == 1 {
			l.late += w.lateRoot
		}
		if absent>>uint(ch.members[1])&1 == 1 {
			l.late += w.lateThird
		}
		s.live = append(s.live, l)
	}
}

// extend takes the frame before end into every chord that is followed and
// appends the segments that end there, without most of those that are further
// than width behind the best. It returns what a segment must say to be kept.
func (s *segmenter) extend(start, end int, sounding uint64, width float32, out []segment) ([]segment, float32) {
	floor := float32(-1e30)
	n := len(s.table.chords)
	f := &s.p.frames[end-1]
	w := s.p.weights
	foreign := s.foreign[(end-1)*n:][:n]
	var member []int8
	if f.bass >= 0 {
		member = s.member[int(f.bass)*n:][:n]
	}
	for i := range s.live {
		l := &s.live[i]
		ch := &s.table.chords[l.chord]
		l.cost += foreign[l.chord]
		if member != nil {
			if m := member[l.chord]; m >= 0 {
				l.bassAt[m] += f.beats
				l.moved += f.beats
				if l.bass < 0 {
					l.bass = m
				}
				if s.spared != 0 {
					l.hearBass(m, f)
				}
			} else if end-1 == start {
				l.foreign = true
			}
		}
		// What follows only adds to the cost.
		if -(l.cost + l.late) < floor {
			continue
		}
		missing := s.missing(ch, sounding)
		if missing > 50 {
			continue
		}
		total := l.cost + l.late + missing
		if l.foreign {
			total += w.bassForeign
		}
		if l.bass < 0 {
			if l.bass = s.p.guide.inversion(start, ch); l.bass < 0 {
				continue
			}
		}
		score := -(total + s.bassCost(l, l.bass, start, ch))
		if score >= floor {
			out = append(out, segment{int32(start), int32(end), l.chord, l.bass, -1, -1, score, keySet{}})
			floor = higher(floor, score-width)
		}
		if l.moved <= l.bassAt[l.bass] {
			continue
		}
		for _, other := range l.otherBasses() {
			if other == l.bass {
				continue
			}
			score = -(total + s.bassCost(l, other, start, ch))
			if score >= floor {
				out = append(out, segment{int32(start), int32(end), l.chord, other, -1, -1, score, keySet{}})
				floor = higher(floor, score-width)
			}
		}
	}
	return out, floor
}

// hearBass takes note of how high a member lies that is the bass of a frame.
func (l *liveChord) hearBass(m int8, f *frame) {
	switch {
	case l.low < 0:
		l.low, l.depth, l.height = m, f.height, f.height
		return
	case f.height < l.depth:
		if m != l.low {
			l.low, l.risen = m, 0
		}
		l.depth = f.height
	case m != l.low:
		l.risen += f.beats
	}
	switch {
	case m == l.bass:
		l.height = min(l.height, f.height)
	case f.height > l.height:
		l.raised += f.beats
	}
}

// otherBasses are the members that may be the chord's bass in place of the first: that
// which is longest in the bass, and the lowest.
func (l *liveChord) otherBasses() [2]int8 {
	longest := l.bass
	for m := range l.bassAt {
		if l.bassAt[m] > l.bassAt[longest] {
			longest = int8(m)
		}
	}
	if l.low < 0 || l.low == longest {
		return [2]int8{longest, l.bass}
	}
	return [2]int8{longest, l.low}
}

// laterBass is what it costs that the bass of a chord is not the first one, in beats.
const laterBass = 0.5

// bassCost is what it costs a chord to have a member for its bass.
func (s *segmenter) bassCost(l *liveChord, bass int8, start int, ch *chord) float32 {
	moves := l.moved - l.bassAt[bass]
	if bass != l.bass {
		moves += laterBass
	}
	cost := s.p.weights.bassMoves*moves + s.p.guide.bassCost(start, ch, bass)
	switch bass {
	case l.bass:
		cost -= s.spared * l.raised
	case l.low:
		cost -= s.spared * l.risen
	}
	return cost
}

// higher is max for numbers that are none of the odd ones, for which the built-in one has
// to look.
func higher(a, b float32) float32 {
	if a > b {
		return a
	}
	return b
}

// keepAbove drops, of the segments from index first on, those below a floor.
func keepAbove(floor float32, all []segment, first int) []segment {
	kept := all[:first]
	for _, seg := range all[first:] {
		if seg.score >= floor {
			kept = append(kept, seg)
		}
	}
	return kept
}

// narrow gives up chords that would still be below a floor if all their members
// were to come yet.
func (s *segmenter) narrow(floor float32) {
	kept := s.live[:0]
	for _, l := range s.live {
		if -(l.cost + l.late) >= floor {
			kept = append(kept, l)
		}
	}
	s.live = kept
}

// missing is the cost of members that do not sound; beyond 50 it rules out.
func (s *segmenter) missing(ch *chord, sounding uint64) float32 {
	absent := ch.mask &^ sounding
	if absent == 0 {
		return 0
	}
	which := 0
	for m, bit := range ch.members {
		if bit >= 0 && absent>>uint(bit)&1 == 1 {
			which |= 1 << m
		}
	}
	return s.lacks[ch.quality][which]
}

// lack fills in what it costs that members of a chord do not sound, by the set of those
// that are missing.
func (s *segmenter) lack(q Quality) {
	w := s.p.weights
	row := &w.missing[0]
	if q.IsSeventh() {
		row = &w.missing[1]
	}
	for which := range s.lacks[q] {
		if q.IsAugmentedSixth() {
			s.lacks[q][which] = 100
			continue
		}
		cost := float32(0)
		for m := range row {
			if which>>m&1 == 1 {
				cost += row[m]
			}
		}
		if which&4 != 0 && (q != MajorTriad && q != MinorTriad && q < DominantSeventh || q == HalfDiminishedSeventh || q == DiminishedSeventh) {
			cost += w.missingDim
		}
		if q.Size()-maskCount(uint64(which)) < 2 {
			cost++
		}
		s.lacks[q][which] = cost
	}
}
