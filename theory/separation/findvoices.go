package separation

import "partwright/theory"

// FindVoices finds the voices of a score. [theory.Texture.Found] and
// [theory.Voice.Found] say how, in words; the rules are these.
//
// A part that is percussion, tablature or without notes is set aside, and so are
// grace, cue, unpitched and microtonal notes. Every other note is in exactly one
// voice, or in two where they share its head. Ties are joined, across layers
// too, if the second note has the same spelling and begins where the first ends.
//
// A voice lives on one staff. The document's layers tell the voices of a staff
// apart: a layer keeps its voice when its notes cross to another staff, and is
// followed where its number changes from measure to measure. Where a staff has
// fewer layers than notes that sound together for half of the time, its chords
// are split into voices by rank from the top, and where chords pass notes from
// hand to hand the two staves of a keyboard count as one. A chord with fewer
// notes than voices leaves those voices silent, and a chord with more gives its
// surplus to an extra voice, such that the other lines move least; see
// [theory.Voice.Extra] for choirs that divide. A voice that is silent without a
// rest while its neighbor sings one pitch within a fifth of its own line, and no
// longer, shares it.
//
// Staves stand in order of their mean pitch, unless the parts are named as
// voices (soprano, alto, …), or the score is short and the document's order is
// within a major third of the pitches. So the order of parts in a file does not
// matter. Four voices are named S, A, T and B, others V1, V2, … from the top;
// extra voices come last and go on counting. Voices beyond [theory.MaxVoices] are
// set aside, those with the fewest notes first.
//
// The rules of this comment are common practice, no source.
func FindVoices(s *theory.Score) *theory.Texture {
	sel := selectNotes(s)
	staves := joinStaves(findStaves(sel))
	if len(staves) == 0 {
		t := theory.NewTexture(s, theory.NoVoices, "nothing in the score is a voice", nil)
		t.SetAside = sel.aside
		return t
	}
	lines := make([][]line, len(staves))
	for i := range staves {
		lines[i] = staves[i].lines()
	}
	a := arrange(sel, staves, lines)
	t := theory.NewTexture(s, layoutOf(staves), a.found(), a.voices())
	t.SetAside = sel.aside
	return t
}
