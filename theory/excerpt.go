package theory

// Excerpt is some moments of a texture as a texture of their own. Its score,
// measures and onsets are those of the whole.
type Excerpt struct {
	*Texture
	// From is the moment of the whole that is the first one here.
	From int
	// First holds, for each voice, the index in the whole of its first note here: a
	// note that still sounds from before is one of them.
	First []int
}

// Excerpt returns the moments from one up to another one. The notes are those of t,
// not copies.
func (t *Texture) Excerpt(from, to int) *Excerpt {
	n := len(t.Voices)
	e := &Excerpt{Texture: &Texture{Score: t.Score, Layout: t.Layout, Found: t.Found}, From: from, First: make([]int, n)}
	e.Voices = append([]Voice(nil), t.Voices...)
	e.Moments = t.Moments[from:to:to]
	e.cells = append([]int32(nil), t.cells[from*n:to*n]...)
	for v := range n {
		first, end := -1, -1
		for m := range e.Moments {
			if at := e.cells[m*n+v]; at >= 0 {
				if first < 0 {
					first = int(at)
				}
				end = int(at) + 1
			}
		}
		first, end = max(first, 0), max(end, 0)
		e.First[v], e.Voices[v].Notes = first, t.Voices[v].Notes[first:end:end]
		for m := range e.Moments {
			if at := &e.cells[m*n+v]; *at >= 0 {
				*at -= int32(first)
			}
		}
	}
	return e
}
