package musicxml

import (
	"bytes"
	"strings"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// acceptedWord begins the texts by which a teacher lets something stand; longestText
// bounds what is read of one.
const (
	acceptedWord = "accepted"
	longestText  = 1 << 10
)

// acceptedText keeps a direction whose words begin with "accepted": alone, or with a
// colon and more after it.
func (p *partReader) acceptedText(id markup.ID) error {
	var text []byte
	for d := range named(p.tree, id, markup.NameDirectionType) {
		for w := range named(p.tree, d, markup.NameWords) {
			text = append(append(text, p.tree.Content(w)...), ' ')
		}
		if len(text) > longestText {
			return nil
		}
	}
	first, rest, _ := strings.Cut(string(bytes.TrimSpace(text)), ":")
	if !strings.EqualFold(strings.TrimSpace(first), acceptedWord) {
		return nil
	}
	offset, err := p.offset(id)
	if err != nil {
		return err
	}
	if err := p.countLabel(id); err != nil {
		return err
	}
	p.doc.Score.Accepted = append(p.doc.Score.Accepted, theory.AcceptedText{
		Onset: theory.Whole(max(p.cursor+offset, 0)), Measure: int(p.measure), Words: strings.TrimSpace(rest),
	})
	return nil
}
