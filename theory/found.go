package theory

import "strconv"

// layoutOf tells the layout from what was found on each staff.
func layoutOf(staves []staff) Layout {
	split, layered, parts, grand, hands := 0, 0, 1, 0, false
	for i := range staves {
		switch st := &staves[i]; {
		case st.voices > 1 && !st.layered:
			split++
		case st.voices > 1:
			layered++
		}
		switch {
		case i > 0 && staves[i].part != staves[i-1].part:
			parts++
		case i > 0 && staves[i-1].top:
			grand++
		}
		if staves[i].hands {
			grand++
			hands = true
		}
	}
	switch {
	case grand > 0 && grand < parts:
		return MixedLayout // a song with accompaniment: lines beside a keyboard
	case split == 0 && layered == 0:
		return OpenScore
	case split == 0 && 2*layered >= len(staves):
		return ClosedScore
	case split > 0 && len(staves) == 1 && !hands:
		return BlockChords
	case split > 0 && (len(staves) == 2 || parts == 1):
		return KeyboardScore
	}
	return MixedLayout
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
		if a.staves[i].hands {
			count++
		}
	}
	voices, staves := plural(own, "voice"), plural(count, "staff")
	text := ""
	switch layout := layoutOf(a.staves); layout {
	case OpenScore:
		if text = "open score: " + voices + ", each on a staff of its own"; own == 1 {
			text = "open score: one voice on one staff"
		}
	case ClosedScore:
		text = "closed score: " + voices + " on " + staves + ", told apart by the document's own layers"
	case KeyboardScore, BlockChords:
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
	part := "part " + a.g.score.Parts[r.st.part].ID
	staff := "staff " + strconv.Itoa(r.st.number+1) + " of " + part
	if r.st.hands {
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
