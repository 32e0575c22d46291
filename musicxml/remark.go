package musicxml

import (
	"partwright/musicxml/markup"
	"partwright/theory"
)

// Remark is what a person has to say at a place of a score.
type Remark struct {
	// Measure is the label that is printed; of measures with one label it is the first.
	Measure string
	// Beat counts the beats of the metre from 1, exactly as in 5/2; zero is the start.
	Beat theory.Fraction
	// Text is put above the music as it is, in bold.
	Text string
}

// Remark returns the document with remarks above its first part, each in front of the first
// note at or after its place, or of the last one of the measure; what names no measure of
// the score stands at its start, with the measure that it names. They are directions like an
// author's own, in no color of [Document.Mark]: [Document.Clean] leaves them. Nothing else
// changes. A score without notes comes back as it is.
func (d *Document) Remark(all []Remark) ([]byte, error) {
	d = d.opened()
	marked := newCleaner(d.tree)
	var edits splice
	for i := range all {
		r := &all[i]
		at, found := d.remarkedNote(r)
		if at == markup.None {
			return d.data, nil
		}
		text := r.Text
		if !found {
			text = r.Measure + ": " + text
		}
		e := &d.tree.Elements[at]
		w := words{placement: "above", size: numberSize, voice: d.contentOf(at, markup.NameVoice), staff: d.contentOf(at, markup.NameStaff), in: around(d.tree, at), runs: 1}
		where := e.Start
		if len(marked.texts) > 0 {
			// The record counts the author's directions that look like marks: behind all
			// others of a measure a new one moves none of them.
			where = d.tree.Elements[e.Parent].CloseStart
			w.in = surroundings{}
		}
		edits.insert(where, w.build().fill(ink{runs: []run{{"", "bold", text}}}))
	}
	if len(edits) == 0 {
		return d.data, nil
	}
	return d.pack(edits.apply(d.tree.Text))
}

// remarkedNote is the element of the note in front of which a remark goes, None in a score
// without notes; found tells whether the score has its measure.
func (d *Document) remarkedNote(r *Remark) (at markup.ID, found bool) {
	index := int32(-1)
	for i := range d.Score.Measures {
		if d.Score.Measures[i].Label == r.Measure {
			index = int32(i) //nolint:gosec // measures are bounded
			break
		}
	}
	best := markup.None
	var onset theory.Fraction
	reached := false
	for id := range d.Score.Notes {
		d.tree.Work.Step(1)
		n := &d.Score.Notes[id]
		if n.Part != d.Score.Notes[0].Part {
			break
		}
		if index >= 0 && n.Measure != index || d.tree.Child(d.places[id], markup.NameChord) != markup.None {
			continue
		}
		m := &d.Score.Measures[n.Measure]
		there := index < 0 || !m.Time.BeatAt(n.Onset.Sub(m.Onset)).Less(r.Beat)
		// The earliest at the place or after it; before there is one, the latest.
		if best == markup.None || there && (!reached || n.Onset.Less(onset)) || !there && !reached && onset.Less(n.Onset) {
			best, onset, reached = d.places[id], n.Onset, there
		}
	}
	if best == markup.None && index >= 0 {
		at, _ = d.remarkedNote(&Remark{})
		return at, false
	}
	return best, index >= 0
}

func (d *Document) contentOf(parent markup.ID, name markup.Name) string {
	if c := d.tree.Child(parent, name); c != markup.None {
		return string(d.tree.Content(c))
	}
	return ""
}
