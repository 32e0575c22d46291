package musicxml

import (
	"fmt"
	"slices"
	"strings"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// reader turns a markup tree into a score. It reads part after part. While it
// does, the onsets and durations of notes, keys, metres and labels are whole
// numbers of ticks from the start of their measure, a tick being 1/resolution of
// a quarter note; once every part has been read and the lengths of the measures
// are known, they become fractions from the start of the score.
type reader struct {
	tree     *markup.Tree
	elements []markup.Element
	doc      *Document
	found    found
	sources  []partSource
	frame    []frameMeasure
	notices  notices
	// resolution is the number of ticks in a quarter note, decimals a power of
	// ten that divides it where durations have decimals.
	resolution, decimals int64
	// longest is the largest onset or duration allowed, in ticks.
	longest int64
	keys    []keyChange
	times   []timeChange
	leaps   []leap
	heights heightRange
	// annotations are the labels that marking has put in, once one was met that
	// looks like it.
	annotations      map[markup.ID]bool
	knowsAnnotations bool
	// labelCount counts what maxLabels bounds.
	labelCount int
	// firstTicks is the written length of the first part, firstTimed whether it
	// has a time signature at all.
	firstTicks int64
	firstTimed bool
}

// keyChange and timeChange wait for the onset of their measure.
type keyChange struct {
	theory.KeyChange
	measure int32
}

type timeChange struct {
	theory.TimeChange
	measure int32
}

// finerError asks for a resolution that decimals divides.
type finerError struct{ decimals int64 }

func (e *finerError) Error() string {
	return fmt.Sprintf("durations have decimals to 1/%d", e.decimals)
}

func (r *reader) read() error {
	r.elements = r.tree.Elements
	r.doc.Score.Work = r.tree.Work
	r.survey()
	if err := r.layOut(); err != nil {
		return err
	}
	if err := r.findResolution(); err != nil {
		return err
	}
	if r.doc.packed != nil && r.doc.packed.Unlisted {
		r.notices.add(markup.None, noticePlace{measure: -1}, "container-unlisted",
			"The container does not name its score; the only one in it, %s, is read.", r.doc.packed.Name)
	}
	if e := r.doc.encoding; e.Relabeled() {
		r.notices.add(markup.None, noticePlace{measure: -1}, "encoding-relabeled",
			"The document declares the encoding %q and is read as %s; what is written declares UTF-8.", e.Declared(), e.Name())
	}
	score := r.doc.Score
	r.doc.divisions = nil
	score.Title = r.title()
	score.Composer, score.Rights = r.origin()
	score.Notes = make([]theory.Note, 0, r.found.notes)
	r.doc.places = make([]markup.ID, 0, r.found.notes)
	for i := range r.sources {
		if err := r.readPart(i); err != nil {
			return err
		}
	}
	if err := r.buildFrame(); err != nil {
		return err
	}
	r.placeInTime()
	r.findJumps()
	r.checkTies()
	r.finishCounts()
	r.publishNotices()
	return nil
}

// refuse builds the error for an element: its line, and the part and measure
// that hold it.
func (r *reader) refuse(id markup.ID, code, problem, advice string) error {
	at := r.tree.PositionOf(r.elements[id].Start)
	e := &InputError{Code: code, Line: at.Line, Column: at.Column, Problem: problem, Advice: advice}
	for ; id != markup.None; id = r.elements[id].Parent {
		switch r.elements[id].Name {
		case markup.NamePart:
			e.Part = r.attribute(id, markup.NameId)
		case markup.NameMeasure:
			e.Measure = r.attribute(id, markup.NameNumber)
		}
	}
	return e
}

// title is the work's title, else the movement's, else a credit that says it is
// the title.
func (r *reader) title() string {
	root := r.tree.Root()
	if work := r.tree.Child(root, markup.NameWork); work != markup.None {
		if t := r.childText(work, markup.NameWorkTitle); t != "" {
			return t
		}
	}
	if t := r.childText(root, markup.NameMovementTitle); t != "" {
		return t
	}
	for c := r.elements[root].First; c != markup.None; c = r.elements[c].Next {
		if r.elements[c].Name == markup.NameCredit && r.childText(c, markup.NameCreditType) == "title" {
			return r.childText(c, markup.NameCreditWords)
		}
	}
	return ""
}

// origin is who composed the work, and the rights in it, as the document identifies
// them; where it names several of either, all of them.
func (r *reader) origin() (composer, rights string) {
	who := r.tree.Child(r.tree.Root(), markup.NameIdentification)
	if who == markup.None {
		return "", ""
	}
	var composers, holders []string
	for c := r.elements[who].First; c != markup.None; c = r.elements[c].Next {
		switch name := r.elements[c].Name; {
		case name == markup.NameCreator && r.attribute(c, markup.NameType) == "composer":
			composers = append(composers, r.words(c))
		case name == markup.NameRights:
			holders = append(holders, r.words(c))
		}
	}
	return listed(composers), listed(holders)
}

// words is the text of an element in one line.
func (r *reader) words(id markup.ID) string {
	return strings.Join(strings.Fields(string(r.tree.Content(id))), " ")
}

// listed joins what is not empty.
func listed(texts []string) string {
	return strings.Join(slices.DeleteFunc(texts, func(t string) bool { return t == "" }), "; ")
}

// childText is the text of the first child with a name, "" where there is none.
func (r *reader) childText(id markup.ID, name markup.Name) string {
	c := r.tree.Child(id, name)
	if c == markup.None {
		return ""
	}
	return string(r.tree.Content(c))
}
