package sheet

import (
	"strconv"

	"github.com/beevik/etree"

	"partwright/musicxml/chordlabel"
	"partwright/theory"
)

// tempos writes the tempo marks whose onset falls in a stretch: what is printed, and a sound
// with what is played.
func (w *staffWriter) tempos(e *etree.Element, from, to theory.Fraction) {
	all := w.sheet.Texture.Score.Tempos
	first, end := stretch(all, func(t *theory.Tempo) theory.Fraction { return t.Onset }, from, to)
	for i := first; i < end; i++ {
		w.headWritten()
		t := &all[i]
		sound := etree.NewElement("sound")
		sound.CreateAttr("tempo", decimal(t.Quarters))
		after := t.Onset.Sub(from).Mul(theory.Whole(w.divisions))
		offset := after.Num() / after.Den() // a mark between two divisions stands at the first
		printed := w.tempoMark(t)
		if printed != nil {
			if offset > 0 {
				number(printed, "offset", offset)
			}
			printed.AddChild(sound)
			sound = printed
		} else if offset > 0 {
			number(sound, "offset", offset)
		}
		e.AddChild(sound)
	}
}

// tempoMark is what is printed of a tempo, nil for nothing.
func (w *staffWriter) tempoMark(t *theory.Tempo) *etree.Element {
	d := etree.NewElement("direction")
	d.CreateAttr("placement", "above")
	beat, counted := valueOf(t.Beat)
	if t.Words != "" {
		text := t.Words
		if counted {
			text += " " // Verovio 6.3 sets the mark close to the words
		}
		words := chordlabel.AddText(d.CreateElement("direction-type"), "words", text)
		words.CreateAttr("font-weight", "bold")
	}
	if counted {
		mark := d.CreateElement("direction-type").CreateElement("metronome")
		chordlabel.AddText(mark, "beat-unit", beat.kind)
		for range beat.dots {
			mark.CreateElement("beat-unit-dot")
		}
		chordlabel.AddText(mark, "per-minute", decimal(t.PerMinute))
	}
	if len(d.ChildElements()) == 0 {
		return nil
	}
	return d
}

// valueOf is the note value of a duration, false where it takes more than one.
func valueOf(duration theory.Fraction) (value, bool) {
	for _, v := range values {
		if v.duration == duration {
			return v, true
		}
	}
	return value{}, false
}

func decimal(f theory.Fraction) string {
	return strconv.FormatFloat(f.Float(), 'f', -1, 64)
}
