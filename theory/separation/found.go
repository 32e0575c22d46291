package separation

import (
	"strconv"

	"partwright/theory"
)

// shape counts what the staves of a score are like.
type shape struct {
	staves, parts int
	// split counts the staves whose chords are split by rank, layered those whose
	// voices have a layer each.
	split, layered int
	// grand counts the parts on two staves or more, joined those of them whose two
	// staves are taken as one.
	grand, joined int
}

func shapeOf(staves []staff) shape {
	s := shape{staves: len(staves), parts: 1}
	for i := range staves {
		st := &staves[i]
		if st.voices > 1 {
			if st.layered {
				s.layered++
			} else {
				s.split++
			}
		}
		switch {
		case i > 0 && st.part != staves[i-1].part:
			s.parts++
		case i > 0 && staves[i-1].top:
			s.grand++
		}
		if st.joined {
			s.grand++
			s.joined++
		}
	}
	return s
}

// layouts tells the layout by the first line that fits; where none does, the
// score is mixed.
var layouts = []struct {
	layout theory.Layout
	fits   func(shape) bool
}{
	// A song with accompaniment: lines beside a keyboard.
	{theory.MixedLayout, func(s shape) bool { return s.grand > 0 && s.grand < s.parts }},
	{theory.OpenScore, func(s shape) bool { return s.split == 0 && s.layered == 0 }},
	{theory.ClosedScore, func(s shape) bool { return s.split == 0 && 2*s.layered >= s.staves }},
	{theory.BlockChords, func(s shape) bool { return s.split > 0 && s.staves == 1 && s.joined == 0 }},
	{theory.KeyboardScore, func(s shape) bool { return s.split > 0 && (s.staves == 2 || s.parts == 1) }},
}

func layoutOf(staves []staff) theory.Layout {
	s := shapeOf(staves)
	for i := range layouts {
		if layouts[i].fits(s) {
			return layouts[i].layout
		}
	}
	return theory.MixedLayout
}

// found says in one sentence how the voices of the score were found.
func (a *arrangement) found() string {
	own, extra, shared := 0, 0, 0
	for i := range a.ranked {
		if a.ranked[i].extra {
			extra++
		} else {
			own++
		}
		shared += a.ranked[i].shared
	}
	count := len(a.staves)
	for i := range a.staves {
		if a.staves[i].joined {
			count++
		}
	}
	voices, staves := plural(own, "voice"), plural(count, "staff")
	text := ""
	switch layout := layoutOf(a.staves); layout {
	case theory.OpenScore:
		if text = "open score: " + voices + ", each on a staff of its own"; own == 1 {
			text = "open score: one voice on one staff"
		}
	case theory.ClosedScore:
		text = "closed score: " + voices + " on " + staves + ", told apart by the document's own layers"
	case theory.KeyboardScore, theory.BlockChords:
		text = layout.String() + ": " + voices + " on " + staves + ", chords split by rank from the top"
	default:
		text = "mixed score: " + voices + " on " + staves + ", told apart by staff, by layer and by rank in chords"
	}
	if a.byName {
		text += ", ordered by the names of the parts"
	}
	if extra > 0 {
		text += "; " + plural(extra, "extra voice") + " where a staff has more notes than voices"
	}
	if shared > 0 {
		text += "; " + plural(shared, "note") + " shared by two voices in unison"
	}
	return text
}

// foundLine says how one voice was found.
func (a *arrangement) foundLine(r *rankedLine) string {
	part := "part " + a.sel.score.Parts[r.st.part].ID
	staff := "staff " + strconv.Itoa(r.st.number+1) + " of " + part
	if r.st.joined {
		staff = "both staves of " + part
	}
	text := ""
	switch {
	case r.extra:
		return "notes beyond the " + plural(r.st.voices, "voice") + " on " + staff
	case r.st.voices == 1 && r.st.top && r.st.bottom:
		text = "the one line of " + part
	case r.st.voices == 1:
		text = "the one line on " + staff
	case r.st.layered:
		text = "layer " + r.st.labelOf(r.place) + " on " + staff
	default:
		text = "note " + strconv.Itoa(r.place+1) + " from the top on " + staff
	}
	if r.shared > 0 {
		text += ", with " + plural(r.shared, "note") + " shared in unison"
	}
	return text
}

// labelOf returns the document's label of the layer that holds a voice of a
// staff whose voices are its main layers.
func (st *staff) labelOf(voice int) string {
	for i := range st.lanes {
		if !st.lanes[i].main {
			continue
		}
		if voice == 0 {
			if st.lanes[i].label != "" {
				return st.lanes[i].label
			}
			return strconv.Itoa(i + 1)
		}
		voice--
	}
	return ""
}

func plural(n int, noun string) string {
	switch {
	case n == 1:
		return "1 " + noun
	case noun == "staff":
		return strconv.Itoa(n) + " staves"
	}
	return strconv.Itoa(n) + " " + noun + "s"
}
