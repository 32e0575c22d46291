package theory

import "slices"

// tone is one sounding note with its ties joined: what a voice sings.
type tone struct {
	// onset and end are in units of 1/resolution quarter notes.
	onset, end int64
	ids        []NoteID
	// height is in semitones above C0.
	height int16
	// lane indexes the lanes of the tone's staff.
	lane int16
	// voice indexes the voices of the tone's staff once it is placed.
	voice int16
	// shared is set where a neighboring voice sings the same written note.
	shared bool
}

// gathering is a score sorted into what sounds and what does not.
type gathering struct {
	score      *Score
	resolution int64
	// skip is set for notes that open no tone: rests, notes set aside, and those
	// tied to one before them.
	skip []bool
	// follows holds the note that a tie leads to, NoNote where none does; nil
	// where nothing is tied.
	follows []NoteID
	aside   []SetAside
}

// gather decides for every note whether it opens a tone.
func gather(s *Score) *gathering {
	g := &gathering{score: s, resolution: s.commonResolution(), skip: make([]bool, len(s.Notes))}
	var starts, stops []NoteID
	sounding := make([]bool, len(s.Parts))
	var reasons []partReason
	for i := range s.Notes {
		n, id := &s.Notes[i], NoteID(i)
		if s.Parts[n.Part].Kind != PitchedPart {
			g.skip[i] = true
			continue
		}
		if reason := whyNoTone(n); reason != sounds {
			g.skip[i] = true
			if reason != asRest {
				reasons = append(reasons, partReason{n.Part, reason, id})
			}
			continue
		}
		sounding[n.Part] = true
		if n.Flags.Has(TieStart) {
			starts = append(starts, id)
		}
		if n.Flags.Has(TieStop) {
			stops = append(stops, id)
		}
	}
	g.joinTies(starts, stops)
	g.setAside(reasons, sounding)
	return g
}

// noTone is why a written note opens no tone.
type noTone int8

const (
	sounds noTone = iota
	asRest
	asGrace
	asCue
	asUnpitched
	asMicrotone
	asInstant
)

var noToneReasons = [...]string{
	asGrace:     "grace notes, which have no duration of their own",
	asCue:       "cue notes, which are not performed",
	asUnpitched: "unpitched notes",
	asMicrotone: "microtones and pitches out of range, which are not analyzed",
	asInstant:   "notes without a duration",
}

func whyNoTone(n *Note) noTone {
	switch {
	case n.Flags.Has(Rest):
		return asRest
	case n.Flags.Has(Grace):
		return asGrace
	case n.Flags.Has(Cue):
		return asCue
	case n.Flags.Has(Unpitched):
		return asUnpitched
	case n.Flags.Has(Microtone):
		return asMicrotone
	case n.Duration.Sign() <= 0:
		return asInstant
	}
	return sounds
}

type partReason struct {
	part   int32
	reason noTone
	id     NoteID
}

// setAside lists whole parts first, then single notes, by part and reason.
func (g *gathering) setAside(reasons []partReason, sounding []bool) {
	for p := range g.score.Parts {
		switch kind := g.score.Parts[p].Kind; {
		case kind == PercussionPart:
			g.aside = append(g.aside, SetAside{Part: p, Reason: "percussion"})
		case kind == TablaturePart:
			g.aside = append(g.aside, SetAside{Part: p, Reason: "tablature"})
		case kind == EmptyPart, !sounding[p]:
			g.aside = append(g.aside, SetAside{Part: p, Reason: "no note that sounds: rests, chord symbols or figures only"})
		}
	}
	slices.SortStableFunc(reasons, func(a, b partReason) int {
		if a.part != b.part {
			return int(a.part - b.part)
		}
		return int(a.reason - b.reason)
	})
	for i := 0; i < len(reasons); {
		first := reasons[i]
		var notes []NoteID
		for ; i < len(reasons) && reasons[i].part == first.part && reasons[i].reason == first.reason; i++ {
			notes = append(notes, reasons[i].id)
		}
		g.aside = append(g.aside, SetAside{Part: int(first.part), Notes: notes, Reason: noToneReasons[first.reason]})
	}
}

// joinTies pairs each note that starts a tie with the one that it leads to: of
// the same part and pitch, beginning where the first ends, by preference in the
// same layer, then on the same staff. A tie that leads nowhere is left as it is.
func (g *gathering) joinTies(starts, stops []NoteID) {
	if len(starts) == 0 || len(stops) == 0 {
		return
	}
	notes := g.score.Notes
	g.follows = make([]NoteID, len(notes))
	for i := range g.follows {
		g.follows[i] = NoNote
	}
	byPlace := func(part int32, onset Fraction, n *Note) int {
		if part != n.Part {
			return int(n.Part - part)
		}
		return n.Onset.Cmp(onset)
	}
	slices.SortStableFunc(stops, func(a, b NoteID) int { return byPlace(notes[b].Part, notes[b].Onset, &notes[a]) })
	for _, from := range starts {
		a := &notes[from]
		end := a.End()
		at, _ := slices.BinarySearchFunc(stops, end, func(id NoteID, end Fraction) int {
			return byPlace(a.Part, end, &notes[id])
		})
		best, nearness := NoNote, -1
		for ; at < len(stops); at++ {
			b := &notes[stops[at]]
			if b.Part != a.Part || b.Onset != end {
				break
			}
			if b.Pitch != a.Pitch || g.skip[stops[at]] {
				continue
			}
			near := 0
			if b.Staff == a.Staff {
				near++
			}
			if b.Layer == a.Layer {
				near += 2
			}
			if near > nearness {
				best, nearness = stops[at], near
			}
		}
		if best != NoNote && notes[best].Layer != a.Layer {
			from = g.crossingTie(from, best)
		}
		if best != NoNote && from != NoNote {
			g.follows[from] = best
			g.skip[best] = true
		}
	}
}

// crossingTie returns the note that a tie between two layers comes from. Where
// the first layer goes on with a note of its own, the tie cannot be that
// layer's: it comes from the same pitch in the second layer, if two layers meet
// in a unison there, and from nowhere otherwise.
func (g *gathering) crossingTie(from, to NoteID) NoteID {
	notes := g.score.Notes
	a, b := &notes[from], &notes[to]
	first, last := min(from, to), max(from, to)
	inMeasure := func(id NoteID, m int32) bool {
		return id >= 0 && int(id) < len(notes) && notes[id].Part == a.Part && notes[id].Measure == m
	}
	for inMeasure(first-1, notes[first].Measure) {
		first--
	}
	for inMeasure(last+1, notes[last].Measure) {
		last++
	}
	goesOn, twin := false, NoNote
	for id := first; id <= last; id++ {
		n := &notes[id]
		if whyNoTone(n) != sounds {
			continue
		}
		goesOn = goesOn || (n.Layer == a.Layer && n.Onset == b.Onset)
		if n.Layer == b.Layer && n.Pitch == b.Pitch && n.End() == b.Onset && g.follows[id] == NoNote {
			twin = id
		}
	}
	if goesOn {
		return twin
	}
	return from
}

// opens reports whether a note is the first of a tone.
func (g *gathering) opens(id int) bool { return !g.skip[id] }

// isVisibleRest reports whether a reader sees that a layer is silent.
func (g *gathering) isVisibleRest(n *Note) bool {
	return n.Flags.Has(Rest) && !n.Flags.Any(Hidden|Cue) && g.score.Parts[n.Part].Kind == PitchedPart
}

// tone returns the tone that a note opens, its ids cut from the front of spare.
func (g *gathering) tone(id NoteID, spare []NoteID) (tone, []NoteID) {
	n := &g.score.Notes[id]
	t := tone{onset: n.Onset.In(g.resolution), height: int16(n.Pitch.Semitones()), voice: -1}
	t.end = t.onset + n.Duration.In(g.resolution)
	count := 0
	for at := id; at != NoNote; at = g.next(at) {
		spare[count] = at
		if count++; count > 1 {
			t.end += g.score.Notes[at].Duration.In(g.resolution)
		}
	}
	t.ids = spare[:count:count]
	return t, spare[count:]
}

func (g *gathering) next(id NoteID) NoteID {
	if g.follows == nil {
		return NoNote
	}
	return g.follows[id]
}

// commonResolution returns Resolution, or, where a score was built by hand
// without it, the least common denominator of its notes and measures.
func (s *Score) commonResolution() int64 {
	if s.Resolution > 0 {
		return s.Resolution
	}
	common := int64(1)
	include := func(f Fraction) {
		if d := f.Den(); common%d != 0 && common <= MaxResolution {
			common = common / gcd(common, d) * d
		}
	}
	for i := range s.Measures {
		include(s.Measures[i].Onset)
	}
	for i := range s.Notes {
		include(s.Notes[i].Onset)
		include(s.Notes[i].Duration)
	}
	return common
}
