package musicxml

import (
	"bytes"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// found is what a first look at the elements found: how much there is to come,
// and the divisions, repetitions left out.
type found struct {
	notes, measures int
	divisions       []markup.ID
}

func (r *reader) survey() {
	var last []byte
	for id := range r.elements {
		r.tree.Work.Step(1)
		switch r.elements[id].Name {
		case markup.NameNote:
			r.found.notes++
		case markup.NameMeasure:
			r.found.measures++
		case markup.NameDivisions:
			if text := r.tree.Content(markup.ID(id)); last == nil || !bytes.Equal(text, last) {
				r.found.divisions, last = append(r.found.divisions, markup.ID(id)), text
			}
		}
	}
}

// findResolution finds how many ticks a quarter note needs, so that every
// duration is a whole number of them. Divisions that are no positive number are
// left to the reading of their measure to refuse.
func (r *reader) findResolution() error {
	r.resolution = 1
	finer := func(id markup.ID, d decimal) error {
		n, ok := lcm(r.resolution, d.digits/gcd(d.digits, d.scale), theory.MaxResolution/r.decimals)
		if !ok {
			return r.refuse(id, "divisions-too-fine",
				"The divisions of this score have no common unit of workable size.",
				"Export the score again with the same divisions in every part.")
		}
		r.resolution = n
		return nil
	}
	for _, id := range r.found.divisions {
		d, fault := parseDecimal(r.tree.Content(id))
		if fault != numberFine || d.digits <= 0 {
			continue
		}
		if err := finer(id, d); err != nil {
			return err
		}
	}
	for i := range r.sources {
		source := &r.sources[i]
		source.divisions = decimal{1, 1}
		if r.givesDivisions(source) {
			continue
		}
		source.divisions = r.inferDivisions(source)
		if err := finer(source.at, source.divisions); err != nil {
			return err
		}
	}
	r.resolution *= r.decimals
	r.longest = theory.MaxQuarters * r.resolution
	return nil
}

// givesDivisions reports whether a part states its divisions before its first
// duration, or needs none.
func (r *reader) givesDivisions(source *partSource) bool {
	for _, b := range source.bars {
		for c := r.elements[b.holder].First; c != markup.None; c = r.elements[c].Next {
			switch r.elements[c].Name {
			case markup.NameAttributes:
				if r.tree.Child(c, markup.NameDivisions) != markup.None {
					return true
				}
			case markup.NameNote, markup.NameBackup, markup.NameForward:
				if r.tree.Child(c, markup.NameDuration) != markup.None {
					return false
				}
			}
		}
	}
	return true
}

// inferDivisions takes the divisions of a part that states none from its first
// note with a plain type, and says so.
func (r *reader) inferDivisions(source *partSource) decimal {
	for _, b := range source.bars {
		for c := r.elements[b.holder].First; c != markup.None; c = r.elements[c].Next {
			if r.elements[c].Name != markup.NameNote {
				continue
			}
			duration, kind := r.tree.Child(c, markup.NameDuration), r.tree.Child(c, markup.NameType)
			if duration == markup.None || kind == markup.None ||
				r.tree.Child(c, markup.NameDot) != markup.None || r.tree.Child(c, markup.NameTimeModification) != markup.None {
				continue
			}
			n, plain := wholeWithin(r.tree.Content(duration), 1, theory.MaxResolution)
			units := typeLength(r.tree.Content(kind))
			if !plain || units == 0 || n*unitsPerQuarter%units != 0 {
				continue
			}
			d := decimal{n * unitsPerQuarter / units, 1}
			r.notices.add(source.at, noticePlace{part: source.id, measure: -1}, "divisions-missing",
				"Part %s states no divisions; %d to a quarter note are taken from the type of its first notes.", source.id, d.digits)
			return d
		}
	}
	r.notices.add(source.at, noticePlace{part: source.id, measure: -1}, "divisions-missing",
		"Part %s states no divisions; 1 to a quarter note is assumed.", source.id)
	return decimal{1, 1}
}
