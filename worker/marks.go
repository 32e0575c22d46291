package worker

import (
	"fmt"

	"partwright/musicxml"
	"partwright/theory/partwriting"
)

// marksFor turns findings into marks: the same numbers, the same sentences.
func marksFor(r *Result, o Options, catalog *partwriting.Catalog) musicxml.Marks {
	m := musicxml.Marks{
		Heading: catalog.KeyHeading(len(r.Findings)), Items: make([]musicxml.Mark, 0, len(r.Findings)),
		Legend:  musicxml.Legend{Families: catalog.Families, Severities: catalog.Severities},
		Upgrade: o.Upgrade, Annotations: annotationsFor(r, o.Annotate),
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		mark := musicxml.Mark{
			Number: i + 1, Family: f.Family, Severity: f.Severity,
			Sentence: fmt.Sprintf("%s: %s", catalog.Place(f, r.Texture), catalog.Message(f, r.Texture)),
		}
		for _, ref := range f.Notes {
			mark.Notes = append(mark.Notes, r.Texture.Voices[ref.Voice].Notes[ref.Note].IDs...)
		}
		m.Items = append(m.Items, mark)
	}
	return m
}

// annotationsFor puts the analysis above the highest and below the lowest voice.
func annotationsFor(r *Result, layers musicxml.Layers) musicxml.Annotations {
	voices := r.Texture.WithoutExtra().Voices
	if layers == 0 || len(voices) == 0 {
		return musicxml.Annotations{}
	}
	top, bass := &voices[0], &voices[len(voices)-1]
	return musicxml.Annotations{
		Layers: layers, Harmonies: r.Harmony.Harmonies, Delays: r.Harmony.Delays(),
		Top: musicxml.Staff{Part: top.Part, Number: top.Staff}, Bass: musicxml.Staff{Part: bass.Part, Number: bass.Staff},
	}
}
