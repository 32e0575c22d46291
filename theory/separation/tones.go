package separation

import "partwright/theory"

// tone is one sounding note with its ties joined: what a voice sings.
type tone struct {
	// onset and end are in units of 1/resolution quarter notes.
	onset, end int64
	ids        []theory.NoteID
	// height is in semitones above C0.
	height int16
	// lane indexes the lanes of the tone's staff.
	lane int16
	// voice indexes the voices of the tone's staff once it is placed.
	voice int16
	// shared is set where a neighboring voice sings the same written note.
	shared bool
}

// selection is a score sorted into what sounds and what does not.
type selection struct {
	score      *theory.Score
	resolution int64
	// skip is set for notes that open no tone: rests, notes set aside, and those
	// tied to one before them.
	skip []bool
	// follows holds the note that a tie leads to, NoNote where none does; nil
	// where nothing is tied.
	follows []theory.NoteID
	aside   []theory.SetAside
}

// selectNotes decides for every note whether it opens a tone.
func selectNotes(s *theory.Score) *selection {
	sel := &selection{score: s, resolution: s.CommonResolution(), skip: make([]bool, len(s.Notes))}
	var starts, stops []theory.NoteID
	sounding := make([]bool, len(s.Parts))
	var reasons []partReason
	for i := range s.Notes {
		s.Work.Step(1)
		n, id := &s.Notes[i], theory.NoteID(i)
		if s.Parts[n.Part].Kind != theory.PitchedPart {
			sel.skip[i] = true
			continue
		}
		if reason := whyNoTone(n); reason != sounds {
			sel.skip[i] = true
			if reason != asRest {
				reasons = append(reasons, partReason{n.Part, reason, id})
			}
			continue
		}
		sounding[n.Part] = true
		if n.Flags.Has(theory.TieStart) {
			starts = append(starts, id)
		}
		if n.Flags.Has(theory.TieStop) {
			stops = append(stops, id)
		}
	}
	sel.joinTies(starts, stops)
	sel.setAside(reasons, sounding)
	return sel
}

// opens reports whether a note is the first of a tone.
func (sel *selection) opens(id int) bool { return !sel.skip[id] }

// isVisibleRest reports whether a reader sees that a layer is silent.
func (sel *selection) isVisibleRest(n *theory.Note) bool {
	return n.Flags.Has(theory.Rest) && !n.Flags.Any(theory.Hidden|theory.Cue) && sel.score.Parts[n.Part].Kind == theory.PitchedPart
}

// tone returns the tone that a note opens, its ids cut from the front of spare.
func (sel *selection) tone(id theory.NoteID, spare []theory.NoteID) (tone, []theory.NoteID) {
	n := &sel.score.Notes[id]
	t := tone{onset: n.Onset.In(sel.resolution), height: int16(n.Pitch.Semitones()), voice: -1}
	t.end = t.onset + n.Duration.In(sel.resolution)
	count := 0
	for at := id; at != theory.NoNote; at = sel.next(at) {
		spare[count] = at
		if count++; count > 1 {
			t.end += sel.score.Notes[at].Duration.In(sel.resolution)
		}
	}
	t.ids = spare[:count:count]
	return t, spare[count:]
}

func (sel *selection) next(id theory.NoteID) theory.NoteID {
	if sel.follows == nil {
		return theory.NoNote
	}
	return sel.follows[id]
}
