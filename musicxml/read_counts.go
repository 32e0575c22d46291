package musicxml

import (
	"partwright/musicxml/markup"
	"partwright/theory"
)

// count takes a note into the figures of the document.
func (p *partReader) count(n *theory.Note) {
	c := &p.doc.Counts
	if n.Flags.Has(theory.Grace) {
		c.Grace++
	}
	if !n.Flags.Any(theory.Rest | theory.Grace | theory.Cue) {
		c.Notes++
	}
	if !n.Flags.Has(theory.Rest) && !p.layers.sounding[n.Layer] {
		p.layers.sounding[n.Layer] = true
		c.Layers++
	}
}

// firstPartTicks adds a measure to the written length of the first part.
func (p *partReader) firstPartTicks(id markup.ID, ticks int64) error {
	if p.firstTicks += ticks; p.firstTicks > p.longest {
		return p.tooLong(id)
	}
	return nil
}

func (r *reader) finishCounts() {
	c := &r.doc.Counts
	c.Parts, c.Measures = len(r.sources), len(r.sources[0].bars)
	c.Quarters = r.fraction(r.firstTicks)
	c.Pitched = r.heights.any
	c.High = float64(r.heights.high) / perSemitone
	c.Low = float64(r.heights.low) / perSemitone
}
