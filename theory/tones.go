package theory

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
