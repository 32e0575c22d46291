package voicing

import (
	"slices"
	"sort"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// draft is a mending in the making.
type draft struct {
	texture *theory.Texture
	// reading is what is found in it, read from scratch.
	reading *judged
	// given holds the faults that were given up.
	given map[faultKey]bool
	// rounds guards against mending in circles.
	rounds int
	// size is how many faults are left, notes changed and what the changes ask for.
	size [3]int
}

// takeBack undoes changes, the largest first, where nothing wanted comes back and
// nothing new comes.
func (m *mender) takeBack(d *draft) {
	edits := m.edits(d)
	sort.SliceStable(edits, func(i, j int) bool { return m.distance(edits[i]) > m.distance(edits[j]) })
	if len(edits) < 2 {
		return
	}
	for _, e := range edits {
		if m.stopped() {
			return
		}
		original := m.original.Voices[e.Note.Voice].Notes[e.Note.Note].Pitch
		texture := partwriting.Apply(d.texture, partwriting.Fix{Edits: []partwriting.Edit{{Note: e.Note, To: original}}})
		if back := m.tryDraft(d, texture, nil); back != nil {
			d.texture, d.reading = back.texture, back.reading
		}
	}
}

// best orders drafts by how many faults they leave, how many notes they change and
// how far, and keeps the first n that sound different.
func (m *mender) best(drafts []*draft, n int) []*draft {
	if len(drafts) == 1 {
		return drafts
	}
	for _, d := range drafts {
		edits := m.edits(d)
		d.size = [3]int{len(m.left(d)), len(edits), m.effortOf(d, edits)}
	}
	slices.SortStableFunc(drafts, func(a, b *draft) int { return slices.Compare(a.size[:], b.size[:]) })
	var out []*draft
	for _, d := range drafts {
		if len(out) < n && !slices.ContainsFunc(out, func(other *draft) bool { return soundAlike(d.texture, other.texture) }) {
			out = append(out, d)
		}
	}
	return out
}

// soundAlike reports whether two versions of a texture have the same pitches at
// every moment, in whatever voices.
func soundAlike(a, b *theory.Texture) bool {
	for i := range a.Moments {
		if !slices.Equal(pitchesAt(a, i), pitchesAt(b, i)) {
			return false
		}
	}
	return true
}

func pitchesAt(t *theory.Texture, moment int) []int {
	var out []int
	for v := range t.Voices {
		if n := t.Sounding(moment, v); n != nil {
			out = append(out, n.Pitch.Semitones())
		}
	}
	slices.Sort(out)
	return out
}

// left returns the findings that were to go and are still there.
func (m *mender) left(d *draft) []partwriting.Finding {
	var out []partwriting.Finding
	for i := range d.reading.grave {
		if m.wanted(&d.reading.grave[i]) {
			out = append(out, d.reading.grave[i])
		}
	}
	return out
}

// effortOf is what all edits of a draft ask for.
func (m *mender) effortOf(d *draft, edits []partwriting.Edit) int {
	whole := &window{texture: m.original.Texture, written: m.original.labels, first: make([]int, len(d.texture.Voices))}
	changes := make([]change, 0, len(edits))
	for _, e := range edits {
		changes = append(changes, change{ref: e.Note, to: e.To})
	}
	return m.effort(d.texture, whole, changes)
}

// edits compares a draft with the original.
func (m *mender) edits(d *draft) []partwriting.Edit {
	var out []partwriting.Edit
	for v := range d.texture.Voices {
		for n := range d.texture.Voices[v].Notes {
			if to := d.texture.Voices[v].Notes[n].Pitch; to != m.original.Voices[v].Notes[n].Pitch {
				out = append(out, partwriting.Edit{Note: partwriting.NoteRef{Voice: v, Note: n}, To: to})
			}
		}
	}
	return out
}

func (m *mender) distance(e partwriting.Edit) int {
	return abs(e.To.Semitones() - m.original.Voices[e.Note.Voice].Notes[e.Note.Note].Pitch.Semitones())
}

func (m *mender) result(d *draft) *Mending {
	if len(d.texture.Moments) > wholeReading {
		d.reading = m.read(d.texture, m.again(d.texture))
	}
	r := &Mending{Texture: d.texture, Edits: m.edits(d), Left: m.left(d), New: m.original.reading.newIn(d.reading)}
	for i := range m.original.reading.grave {
		if m.wanted(&m.original.reading.grave[i]) {
			r.Before++
		}
	}
	for _, e := range r.Edits {
		r.Distance += m.distance(e)
	}
	onset := func(e partwriting.Edit) theory.Fraction {
		return d.texture.Voices[e.Note.Voice].Notes[e.Note.Note].Onset
	}
	sort.SliceStable(r.Edits, func(i, j int) bool { return onset(r.Edits[i]).Less(onset(r.Edits[j])) })
	return r
}
