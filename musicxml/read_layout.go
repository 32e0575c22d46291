package musicxml

import (
	"fmt"
	"unicode/utf8"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// bar is one measure of one part: the element whose children are the music, and
// the <measure> element that carries number and implicit. They are the same in
// score-partwise; in score-timewise the holder is a <part>. index is the place
// in the frame of measures that all parts share.
type bar struct {
	holder, measure markup.ID
	index           int32
}

// partSource is one part and where its music stands.
type partSource struct {
	id   string
	at   markup.ID
	bars []bar
	// divisions hold until the part states its own.
	divisions decimal
}

// span is how many measures of the frame the part reaches over.
func (s *partSource) span() int {
	if len(s.bars) == 0 {
		return 0
	}
	return int(s.bars[len(s.bars)-1].index) + 1
}

// layOut finds the parts and their measures, whichever way round the document
// nests them.
func (r *reader) layOut() error {
	root := r.tree.Root()
	var err error
	switch r.elements[root].Name {
	case markup.NameScorePartwise:
		err = r.layOutPartwise(root)
	case markup.NameScoreTimewise:
		err = r.layOutTimewise(root)
	default:
		return r.refuse(root, "wrong-root",
			fmt.Sprintf("The root element is <%s>, which is not a score in MusicXML.", r.tree.NameOf(root)),
			"Send a document whose root is <score-partwise> or <score-timewise>.")
	}
	if err != nil {
		return err
	}
	longest := -1
	for i := range r.sources {
		if longest < 0 || r.sources[i].span() > r.sources[longest].span() {
			longest = i
		}
	}
	if longest < 0 || r.sources[longest].span() == 0 {
		return r.refuse(root, "no-measures", "The score has no part with a measure.",
			"Export the score again, with its music.")
	}
	if r.sources[longest].span() > maxMeasures {
		return r.tooMany(r.sources[longest].at, "measures", maxMeasures)
	}
	r.nameParts(root)
	r.alignParts(longest)
	return nil
}

func (r *reader) layOutPartwise(root markup.ID) error {
	bars := make([]bar, 0, r.found.measures)
	for part := r.elements[root].First; part != markup.None; part = r.elements[part].Next {
		if r.elements[part].Name != markup.NamePart {
			continue
		}
		if len(r.sources) == maxParts {
			return r.tooMany(part, "parts", maxParts)
		}
		first := len(bars)
		for m := r.elements[part].First; m != markup.None; m = r.elements[m].Next {
			if r.elements[m].Name == markup.NameMeasure {
				bars = append(bars, bar{m, m, int32(len(bars) - first)})
			}
		}
		r.sources = append(r.sources, partSource{
			id: r.attribute(part, markup.NameId), at: part, bars: bars[first:len(bars):len(bars)],
		})
	}
	return nil
}

// layOutTimewise gathers each part from the measures. Parts come in order of
// appearance; a measure may leave a part out.
func (r *reader) layOutTimewise(root markup.ID) error {
	index := map[string][]int{} // several where documents use one id twice
	seen := map[string]int{}
	measures := int32(0)
	for m := r.elements[root].First; m != markup.None; m = r.elements[m].Next {
		if r.elements[m].Name != markup.NameMeasure {
			continue
		}
		clear(seen)
		for part := r.elements[m].First; part != markup.None; part = r.elements[part].Next {
			if r.elements[part].Name != markup.NamePart {
				continue
			}
			id := r.attribute(part, markup.NameId)
			same := seen[id]
			seen[id]++
			if same == len(index[id]) {
				if len(r.sources) == maxParts {
					return r.tooMany(part, "parts", maxParts)
				}
				index[id] = append(index[id], len(r.sources))
				r.sources = append(r.sources, partSource{id: id, at: part})
			}
			source := &r.sources[index[id][same]]
			source.bars = append(source.bars, bar{part, m, measures})
		}
		measures++
	}
	return nil
}

// nameParts takes the names from the part-list and says where list and parts
// disagree.
func (r *reader) nameParts(root markup.ID) {
	names := map[string]string{}
	if list := r.tree.Child(root, markup.NamePartList); list != markup.None {
		used := make(map[string]bool, len(r.sources))
		for i := range r.sources {
			used[r.sources[i].id] = true
		}
		for p := r.elements[list].First; p != markup.None; p = r.elements[p].Next {
			if r.elements[p].Name != markup.NameScorePart {
				continue
			}
			id := r.attribute(p, markup.NameId)
			if used[id] {
				names[id] = r.childText(p, markup.NamePartName)
				continue
			}
			r.notices.add(p, noticePlace{part: id, measure: -1}, "part-without-music",
				"The part-list names part %s, but the score has no music for it.", id)
		}
	}
	times := make(map[string]int, len(r.sources))
	r.doc.Score.Parts = make([]theory.Part, len(r.sources))
	for i := range r.sources {
		source := &r.sources[i]
		if !isID(source.id) {
			r.notices.add(source.at, noticePlace{part: source.id, measure: -1}, "part-id",
				"The part in place %d has the id %q, which is empty or no name in XML; it is read all the same.", i+1, excerpt([]byte(source.id)))
		}
		name, listed := names[source.id]
		r.doc.Score.Parts[i] = theory.Part{ID: source.id, Name: name, Staves: 1}
		if !listed {
			r.notices.add(source.at, noticePlace{part: source.id, measure: -1}, "part-not-listed",
				"Part %s is not in the part-list; its music is read all the same.", source.id)
		}
		if times[source.id]++; times[source.id] == 2 {
			r.notices.add(source.at, noticePlace{part: source.id, measure: -1}, "part-id-repeated",
				"More than one part has the id %s; each is read as a part of its own.", source.id)
		}
	}
}

// alignParts lays the measures of all parts over those of the longest one. A
// part that begins one measure later, as its labels tell, lacks the pickup.
func (r *reader) alignParts(longest int) {
	frame := &r.sources[longest]
	r.frame = make([]frameMeasure, frame.span())
	for i := range r.frame {
		r.frame[i].at = markup.None
	}
	for _, b := range frame.bars {
		r.frame[b.index].at = b.measure
	}
	for i := range r.sources {
		source := &r.sources[i]
		if r.isLate(source, frame) {
			for j := range source.bars {
				source.bars[j].index++
			}
		}
		for _, b := range source.bars {
			if m := &r.frame[b.index]; m.at == markup.None {
				m.at = b.measure
			}
		}
		r.checkNumbers(source, frame)
		if len(source.bars) < len(r.frame) {
			r.notices.add(source.at, noticePlace{part: source.id, measure: -1}, "part-shorter",
				"Part %s has %s and the score %s; what is missing is read as silence.",
				source.id, counted(len(source.bars), "measure"), counted(len(r.frame), "measure"))
		}
	}
}

// isLate reports whether the labels of a part fit the frame from its second
// measure on and not from its first.
func (r *reader) isLate(source, frame *partSource) bool {
	fits := func(late int) bool {
		for i, b := range source.bars {
			if r.label(b.measure) != r.label(frame.bars[i+late].measure) {
				return false
			}
		}
		return true
	}
	gaps := source.span() > len(source.bars) || frame.span() > len(frame.bars)
	return !gaps && 0 < len(source.bars) && len(source.bars) < len(frame.bars) && !fits(0) && fits(1)
}

// checkNumbers says which measures of a part have no number, and where the numbers of
// two parts begin to differ: measures are taken by their place, and a teacher may look
// for the wrong one.
func (r *reader) checkNumbers(source, frame *partSource) {
	same := true
	for _, b := range source.bars {
		other := r.frame[b.index].at
		_, numbered := r.tree.Attr(b.measure, markup.NameNumber)
		if !numbered && (source == frame || other != b.measure) {
			r.notices.add(b.measure, noticePlace{source.id, int(b.index)}, "measure-number-missing",
				"A measure has no number; it is the one in place %d.", b.index+1)
		}
		if label := r.label(b.measure); same && numbered && source != frame && label != r.label(other) {
			same = false
			r.notices.add(b.measure, noticePlace{source.id, int(b.index)}, "measure-numbers-differ",
				"The measure in place %d has the number %q in part %s and %q in part %s; measures are taken by their place.",
				b.index+1, excerpt([]byte(label)), source.id, excerpt([]byte(r.label(other))), frame.id)
		}
	}
}

// isID reports whether a text can be an id: a name without a colon (W3C, Namespaces in
// XML 1.0, NCName), of which signs outside ASCII are all taken.
func isID(id string) bool {
	for i, c := range id {
		letter := c == '_' || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c >= utf8.RuneSelf
		if !letter && (i == 0 || c != '-' && c != '.' && (c < '0' || c > '9')) {
			return false
		}
	}
	return id != ""
}

func (r *reader) label(measure markup.ID) string {
	if measure == markup.None {
		return ""
	}
	return r.attribute(measure, markup.NameNumber)
}

// attribute returns an attribute as text, "" where it is missing.
func (r *reader) attribute(id markup.ID, name markup.Name) string {
	value, _ := r.tree.Attr(id, name)
	return string(value)
}
