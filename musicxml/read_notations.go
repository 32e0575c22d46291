package musicxml

import (
	"bytes"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// tieFlag reads the type of <tie> or <tied>.
func (r *reader) tieFlag(id markup.ID) theory.NoteFlags {
	kind, _ := r.tree.Attr(id, markup.NameType)
	switch string(kind) {
	case "start":
		return theory.TieStart
	case "stop":
		return theory.TieStop
	}
	return 0 // "continue" joins curves, "let-ring" goes nowhere
}

// notations reads ties, fermatas and breath marks. A tie drawn counts like a tie
// that sounds: some programs write only one of the two.
func (p *partReader) notations(id markup.ID, parts *noteParts) {
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameTied:
			parts.ties |= p.tieFlag(c)
		case markup.NameFermata:
			parts.signs |= theory.Fermata
		case markup.NameArticulations:
			for a := p.elements[c].First; a != markup.None; a = p.elements[a].Next {
				switch p.elements[a].Name {
				case markup.NameBreathMark, markup.NameCaesura:
					parts.signs |= theory.Breath
				}
			}
		}
	}
}

// inTremolo reports whether a note belongs to a tremolo on two notes.
func (p *partReader) inTremolo(note markup.ID) bool {
	for n := p.elements[note].First; n != markup.None; n = p.elements[n].Next {
		if p.elements[n].Name != markup.NameNotations {
			continue
		}
		for o := p.elements[n].First; o != markup.None; o = p.elements[o].Next {
			if p.elements[o].Name != markup.NameOrnaments {
				continue
			}
			if t := p.tree.Child(o, markup.NameTremolo); t != markup.None {
				kind, _ := p.tree.Attr(t, markup.NameType)
				return string(kind) == "start" || string(kind) == "stop"
			}
		}
	}
	return false
}

// lyric notes how the first lyric of a note ends that is sung.
func (p *partReader) lyric(id markup.ID, parts *noteParts) {
	if !parts.lyric && !p.isNumeral(id) {
		parts.lyric = true
		parts.signs |= p.lyricEnd(id)
	}
}

// lyricEnd looks at how the syllable of a lyric ends. Quotation marks and
// brackets behind the punctuation are skipped.
func (p *partReader) lyricEnd(id markup.ID) theory.NoteFlags {
	var last []byte
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		if p.elements[c].Name == markup.NameText {
			last = p.tree.Content(c)
		}
	}
	last = bytes.TrimRight(last, " \u00a0\"')]»”’“«")
	if len(last) == 0 {
		return 0
	}
	switch last[len(last)-1] {
	case ',', ';', ':':
		return theory.LyricComma
	case '.', '!', '?':
		return theory.LyricStop
	}
	return 0
}
