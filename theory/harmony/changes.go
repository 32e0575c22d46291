package harmony

import "partwright/theory"

// Change is a stretch that labels make the analysis read otherwise than the notes alone
// would be read: where a label says so, and around it, where the reading follows.
type Change struct {
	Onset, End theory.Fraction
	// ByNotes is what the notes alone are read as, Read what the analysis says; nil where
	// one of them has no harmony.
	ByNotes, Read *Reading
}

// Changes lists, in order, where labels change the reading; there are none without labels.
func (a *Analysis) Changes() []Change {
	if a.byNotes == nil {
		return nil
	}
	var out []Change
	was, is := a.byNotes.Harmonies, a.Harmonies
	for at := (theory.Fraction{}); ; {
		was, is = remaining(was, at), remaining(is, at)
		if len(was) == 0 && len(is) == 0 {
			return out
		}
		before, beforeUntil := soundsAt(was, at)
		now, nowUntil := soundsAt(is, at)
		next := nowUntil
		if len(is) == 0 || len(was) > 0 && beforeUntil.Less(next) {
			next = beforeUntil
		}
		out = joined(out, Change{at, next, before, now})
		at = next
	}
}

// remaining drops the harmonies that have ended by an onset.
func remaining(harmonies []Harmony, onset theory.Fraction) []Harmony {
	for len(harmonies) > 0 && !onset.Less(harmonies[0].End) {
		harmonies = harmonies[1:]
	}
	return harmonies
}

// soundsAt returns the reading at an onset, nil before the first harmony, and until when
// that holds.
func soundsAt(harmonies []Harmony, onset theory.Fraction) (*Reading, theory.Fraction) {
	switch {
	case len(harmonies) == 0:
		return nil, theory.Fraction{}
	case onset.Less(harmonies[0].Onset):
		return nil, harmonies[0].Onset
	}
	return &harmonies[0].Reading, harmonies[0].End
}

// joined appends a change, if it is one, or lets the last one go on.
func joined(changes []Change, c Change) []Change {
	if same(c.ByNotes, c.Read) {
		return changes
	}
	if n := len(changes); n > 0 && changes[n-1].End == c.Onset && same(changes[n-1].ByNotes, c.ByNotes) && same(changes[n-1].Read, c.Read) {
		changes[n-1].End = c.End
		return changes
	}
	return append(changes, c)
}

// same reports whether two readings are one; a cadential six-four is the tonic's.
func same(a, b *Reading) bool {
	if a == nil || b == nil {
		return a == b
	}
	x, y := *a, *b
	x.Numeral.Cadential, y.Numeral.Cadential = false, false
	return x == y
}
