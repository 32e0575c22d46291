package separation

import "partwright/theory"

// stream is a layer as the document labels it, on the staff where most of its
// notes stand: a note that crosses to another staff stays with its layer.
type stream struct {
	part, staff int
	label       string
}

// streams sorts the written notes of a score into streams.
type streams struct {
	// base, layers and staves give each part its block of slots, one for each
	// layer and staff.
	base, layers, staves []int
	// slot leads to an index in list, -1 where nothing sounds.
	slot []int32
	list []stream
}

func (ss *streams) index(n *theory.Note) int {
	return ss.layerIndex(n) + max(int(n.Staff)-1, 0)
}

func (ss *streams) layerIndex(n *theory.Note) int {
	return ss.base[n.Part] + max(int(n.Layer), 0)*ss.staves[n.Part]
}

// of returns the stream of a note, -1 for none.
func (ss *streams) of(n *theory.Note) int { return int(ss.slot[ss.index(n)]) }

// findStreams reads the document's layers. A label in use on two staves at once
// (some programs number every staff from 1) means a layer on each of them.
func findStreams(sel *selection) *streams {
	s := sel.score
	parts := make([]int, 3*len(s.Parts))
	ss := &streams{base: parts[:len(s.Parts)], layers: parts[len(s.Parts) : 2*len(s.Parts)], staves: parts[2*len(s.Parts):]}
	for i := range s.Notes {
		n := &s.Notes[i]
		ss.layers[n.Part] = max(ss.layers[n.Part], int(n.Layer)+1, 1)
		ss.staves[n.Part] = max(ss.staves[n.Part], int(n.Staff), 1)
	}
	size := 0
	for p := range s.Parts {
		ss.base[p] = size
		size += ss.layers[p] * ss.staves[p]
	}
	ss.slot = make([]int32, size)
	for i := range s.Notes {
		if sel.opens(i) {
			ss.slot[ss.index(&s.Notes[i])]++ // counts, until open turns them into streams
		}
	}
	apart := ss.usedOnTwoStaves(s)
	for p := range s.Parts {
		for layer := range ss.layers[p] {
			first := ss.base[p] + layer*ss.staves[p]
			label := ""
			if layer < len(s.Parts[p].Layers) {
				label = s.Parts[p].Layers[layer]
			}
			ss.open(p, label, ss.slot[first:first+ss.staves[p]], apart[first])
		}
	}
	return ss
}

// open turns the counts of one layer's notes on each staff into a stream, or
// into one for each staff.
func (ss *streams) open(part int, label string, slots []int32, apart bool) {
	home := 0
	for i, n := range slots {
		if n > slots[home] {
			home = i
		}
	}
	switch {
	case slots[home] == 0:
		home = -1
	case !apart:
		ss.list = append(ss.list, stream{part, home, label})
		home = len(ss.list) - 1
	}
	for i, n := range slots {
		if apart && n > 0 {
			ss.list = append(ss.list, stream{part, i, label})
			slots[i] = int32(len(ss.list) - 1)
		} else if apart {
			slots[i] = -1
		} else {
			slots[i] = int32(home)
		}
	}
}

// usedOnTwoStaves reports, at the first slot of each layer, whether it has notes
// or rests on two staves at the same time that are not one chord.
func (ss *streams) usedOnTwoStaves(s *theory.Score) []bool {
	apart := make([]bool, len(ss.slot))
	type last struct {
		end   theory.Fraction
		staff int16
	}
	var lasts []last
	for i := range s.Notes {
		n := &s.Notes[i]
		if ss.staves[n.Part] < 2 || n.Flags.Any(theory.InChord|theory.Grace|theory.Cue) {
			continue
		}
		if lasts == nil {
			lasts = make([]last, len(ss.slot))
		}
		at := ss.layerIndex(n)
		if l := &lasts[at]; l.staff != 0 && l.staff != n.Staff && n.Onset.Less(l.end) {
			apart[at] = true
		}
		lasts[at] = last{n.End(), n.Staff}
	}
	return apart
}
