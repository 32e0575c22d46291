package sheet

import (
	"strconv"

	"github.com/beevik/etree"

	"partwright/theory"
)

// event writes one event as tied note values.
func (w *staffWriter) event(parent *etree.Element, e *event, layer, layers int) error {
	if len(e.pitches) == 0 && e.wholeOfBar {
		w.wholeRest(parent, e, layer)
		return nil
	}
	parts, err := e.values(w.work, w.measureNow)
	if err != nil {
		return err
	}
	at := e.onset
	for i, v := range parts {
		onset := at
		at = at.Add(v.duration)
		stop := e.tieStop && i == 0 || i > 0
		start := e.tieStart && i == len(parts)-1 || i < len(parts)-1
		if len(e.pitches) == 0 {
			n := w.note(parent, nil)
			n.CreateElement("rest")
			w.finish(n, v, layer)
			notations(n, mark{triplet: w.triplets[onset]})
			continue
		}
		of := mark{stop: stop, start: start, below: layer > 0, fermata: e.fermata && i == 0, triplet: w.triplets[onset]}
		w.heads(parent, e, v, onset, of, layer, layers)
	}
	return nil
}

// heads writes the notes of an event for one of its values, which begins at an onset. What its stem
// has once, first of all what is sung, stands at the first of them.
func (w *staffWriter) heads(parent *etree.Element, e *event, v value, onset theory.Fraction, of mark, layer, layers int) {
	var numeral *etree.Element
	if w.sung && layer == layers-1 {
		numeral = w.sungAt(parent, onset)
	}
	for j, p := range e.pitches {
		n := w.note(parent, &e.sources[j])
		if j > 0 {
			n.CreateElement("chord")
		}
		pitch(n, p)
		number(n, "duration", v.duration.Mul(theory.Whole(w.divisions)).Num())
		ties(n, "tie", of.stop, of.start)
		w.tail(n, v, layer, &p, stem(layer, layers))
		if j > 0 {
			notations(n, mark{stop: of.stop, start: of.start, below: of.below})
			continue
		}
		beamElements(n, w.beams[onset])
		notations(n, of)
		if !of.stop {
			w.sing(n, e)
		}
		if numeral != nil {
			n.AddChild(numeral)
		}
	}
}

func (w *staffWriter) wholeRest(parent *etree.Element, e *event, layer int) {
	n := w.note(parent, nil)
	if w.staff.Blank {
		n.CreateAttr("print-object", "no") // room to write in
	}
	n.CreateElement("rest").CreateAttr("measure", "yes")
	number(n, "duration", e.duration.Mul(theory.Whole(w.divisions)).Num())
	n.CreateElement("voice").SetText(strconv.Itoa(layer + 1))
}

func (w *staffWriter) finish(n *etree.Element, v value, layer int) {
	number(n, "duration", v.duration.Mul(theory.Whole(w.divisions)).Num())
	w.tail(n, v, layer, nil, "")
}

// tail writes what follows the duration, in the order the schema wants.
func (w *staffWriter) tail(n *etree.Element, v value, layer int, p *theory.Pitch, stem string) {
	n.CreateElement("voice").SetText(strconv.Itoa(layer + 1))
	n.CreateElement("type").SetText(v.kind)
	for range v.dots {
		n.CreateElement("dot")
	}
	if p != nil {
		if a := w.accidental(*p); a != "" {
			n.CreateElement("accidental").SetText(a)
		}
	}
	if v.triplet {
		modification(n)
	}
	if stem != "" {
		n.CreateElement("stem").SetText(stem)
	}
}

func pitch(n *etree.Element, p theory.Pitch) {
	e := n.CreateElement("pitch")
	e.CreateElement("step").SetText(p.Step.String())
	if p.Alter != 0 {
		number(e, "alter", int64(p.Alter))
	}
	number(e, "octave", int64(p.Octave))
}

func ties(n *etree.Element, name string, stop, start bool) {
	if stop {
		n.CreateElement(name).CreateAttr("type", "stop")
	}
	if start {
		n.CreateElement(name).CreateAttr("type", "start")
	}
}

// mark is what stands at a note: ties, a fermata, below it or above, and the word for the
// bracket of a triplet, "" for none.
type mark struct {
	stop, start, fermata, below bool
	triplet                     string
}

func notations(n *etree.Element, of mark) {
	if !of.stop && !of.start && !of.fermata && of.triplet == "" {
		return
	}
	e := n.CreateElement("notations")
	ties(e, "tied", of.stop, of.start)
	if of.triplet != "" {
		e.CreateElement("tuplet").CreateAttr("type", of.triplet)
	}
	if of.fermata {
		sign := e.CreateElement("fermata")
		if of.below {
			sign.CreateAttr("type", "inverted")
		}
	}
}

// stem parts two layers of a staff; a single layer leaves it to the program.
func stem(layer, layers int) string {
	switch {
	case layers == 1:
		return ""
	case layer == 0:
		return "up"
	case layer == layers-1:
		return "down"
	}
	return ""
}

// accidental returns the sign a pitch needs against the key and what the measure
// has had so far, as a W3C MusicXML 4.0 accidental-value, "" for none.
func (w *staffWriter) accidental(p theory.Pitch) string {
	at := [2]int8{int8(p.Step), p.Octave}
	now, ok := w.alters[at]
	if !ok {
		now = w.key.Alter(p.Step)
	}
	if p.Alter == now {
		return ""
	}
	w.alters[at] = p.Alter
	return map[int8]string{-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}[p.Alter]
}
