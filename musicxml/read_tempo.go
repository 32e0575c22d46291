package musicxml

import (
	"strings"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// Tempos outside of these, in quarters a minute, are no tempos: they are not read.
const slowest, fastest = 4, 1000

// tempo keeps a direction that says how fast to play: a metronome mark that counts notes a
// minute, or a sound with a tempo, and the words beside either (W3C MusicXML 4.0, metronome,
// sound: its tempo counts quarters).
func (p *partReader) tempo(id markup.ID) error {
	tempo := theory.Tempo{Measure: int(p.measure)}
	var words []string
	for d := range named(p.tree, id, markup.NameDirectionType) {
		for c := p.elements[d].First; c != markup.None; c = p.elements[c].Next {
			switch p.elements[c].Name {
			case markup.NameMetronome:
				tempo.Beat, tempo.PerMinute = p.metronome(c)
			case markup.NameWords:
				if text := strings.TrimSpace(string(p.tree.Content(c))); len(text) <= longestText {
					words = append(words, text)
				}
			}
		}
	}
	if s := p.tree.Child(id, markup.NameSound); s != markup.None {
		tempo.Quarters = p.played(s)
	}
	if tempo.Quarters.Sign() == 0 {
		tempo.Quarters = tempo.Beat.Mul(tempo.PerMinute)
	}
	if tempo.Quarters.Sign() == 0 {
		return nil
	}
	tempo.Words = strings.Join(words, " ")
	return p.keepTempo(id, tempo)
}

// soundTempo keeps the tempo of a sound that stands by itself, which prints nothing.
func (p *partReader) soundTempo(id markup.ID) error {
	if quarters := p.played(id); quarters.Sign() > 0 {
		return p.keepTempo(id, theory.Tempo{Measure: int(p.measure), Quarters: quarters})
	}
	return nil
}

func (p *partReader) keepTempo(id markup.ID, tempo theory.Tempo) error {
	offset, err := p.offset(id)
	if err != nil {
		return err
	}
	tempo.Onset = theory.Whole(max(p.cursor+offset, 0))
	p.doc.Score.Tempos = append(p.doc.Score.Tempos, tempo)
	return p.countLabel(id)
}

// played is the tempo of a sound in quarters a minute, 0 where there is none.
func (p *partReader) played(sound markup.ID) theory.Fraction {
	raw, ok := p.tree.Attr(sound, markup.NameTempo)
	if !ok {
		return theory.Fraction{}
	}
	return perMinute(raw, theory.Whole(1))
}

// metronome is the note value that a mark counts, in quarters, and how many there are a
// minute; 0 where it says something else, as that one value lasts as long as another. Each dot
// adds half of what the one before adds.
func (p *partReader) metronome(id markup.ID) (beat, count theory.Fraction) {
	var units, dots int64
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameBeatUnit:
			if units > 0 {
				return theory.Fraction{}, theory.Fraction{}
			}
			units = typeLength(p.tree.Content(c))
			beat = theory.Frac(units, typeLength([]byte("quarter")))
		case markup.NameBeatUnitDot:
			dots = min(dots+1, 4)
			beat = theory.Frac(units*(2<<dots-1), typeLength([]byte("quarter"))<<dots)
		case markup.NamePerMinute:
			count = perMinute(p.tree.Content(c), beat)
		}
	}
	if units == 0 || count.Sign() == 0 {
		return theory.Fraction{}, theory.Fraction{}
	}
	return beat, count
}

// perMinute reads how many beats a minute has, 0 where that is no number or no tempo.
func perMinute(raw []byte, beat theory.Fraction) theory.Fraction {
	d, fault := parseDecimal(raw)
	if fault != numberFine || d.digits <= 0 || d.digits/d.scale > fastest*int64(256) {
		return theory.Fraction{}
	}
	n := theory.Frac(d.digits, d.scale)
	if quarters := n.Mul(beat); quarters.Less(theory.Whole(slowest)) || theory.Whole(fastest).Less(quarters) {
		return theory.Fraction{}
	}
	return n
}
