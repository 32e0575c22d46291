package musicxml

import (
	"cmp"
	"slices"

	"partwright/theory"
)

// tieEnd is one end of a tie: where it must meet the other.
type tieEnd struct {
	part  int32
	pitch theory.Pitch
	at    theory.Fraction
	id    theory.NoteID
}

func (a tieEnd) compare(b tieEnd) int {
	return cmp.Or(cmp.Compare(a.part, b.part), a.at.Cmp(b.at),
		cmp.Compare(a.pitch.Diatonic(), b.pitch.Diatonic()), cmp.Compare(a.pitch.Alter, b.pitch.Alter))
}

// checkTies says which ties start or stop with nothing on the other side. A tie
// may cross voices and staves of a part, measures, and the jump of a repeat, and
// it may come from a grace note.
func (r *reader) checkTies() {
	var starts, stops []tieEnd
	notes := r.doc.Score.Notes
	for i := range notes {
		n := &notes[i]
		if n.Flags.Any(theory.Cue|theory.Rest|theory.Unpitched) || !n.Flags.Any(theory.TieStart|theory.TieStop) {
			continue
		}
		end := tieEnd{part: n.Part, pitch: n.Written, id: theory.NoteID(i)}
		if n.Flags.Has(theory.TieStart) {
			end.at = n.End()
			starts = append(starts, end)
		}
		if n.Flags.Has(theory.TieStop) && !n.Flags.Has(theory.Grace) {
			end.at = n.Onset
			stops = append(stops, end)
		}
	}
	if len(starts)+len(stops) == 0 {
		return
	}
	slices.SortStableFunc(starts, tieEnd.compare)
	slices.SortStableFunc(stops, tieEnd.compare)
	onward, backward := r.crossings()
	r.looseEnds(starts, stops, onward)
	r.looseEnds(stops, starts, backward)
}

// looseEnds reports the ends that have no counterpart, neither where they are
// nor where a jump leads.
func (r *reader) looseEnds(ends, others []tieEnd, across crossings) {
	has := func(e tieEnd) bool {
		_, found := slices.BinarySearchFunc(others, e, tieEnd.compare)
		return found
	}
	for _, e := range ends {
		if has(e) {
			continue
		}
		joined := false
		for _, at := range across[e.at] {
			there := e
			there.at = at
			joined = joined || has(there)
		}
		if !joined {
			r.looseTie(e)
		}
	}
}

func (r *reader) looseTie(e tieEnd) {
	n := &r.doc.Score.Notes[e.id]
	what := "starts and no note takes it up"
	if e.at == n.Onset {
		what = "ends here and no note began it"
	}
	r.notices.add(r.doc.places[e.id], noticePlace{r.sources[e.part].id, int(n.Measure)}, "tie-loose",
		"A tie on %s %s.", n.Written, what)
}

// crossings are the places that jumps join: for the end of a measure where the
// music goes on, and for the start of one where it comes from.
type crossings map[theory.Fraction][]theory.Fraction

// maxCrossings bounds how many jumps from or to one place are tried.
const maxCrossings = 8

func (c crossings) join(from, to theory.Fraction) {
	if len(c[from]) < maxCrossings {
		c[from] = append(c[from], to)
	}
}

func (r *reader) crossings() (onward, backward crossings) {
	score := r.doc.Score
	onward, backward = crossings{}, crossings{}
	for _, j := range score.Jumps {
		last := &score.Measures[j.From]
		end, start := last.Onset.Add(last.Length), score.Measures[j.To].Onset
		onward.join(end, start)
		backward.join(start, end)
	}
	return onward, backward
}
