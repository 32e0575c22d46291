package worker

import (
	"fmt"
	"slices"

	"partwright/musicxml"
)

// marksFor turns findings into marks: the same numbers, the same sentences.
func marksFor(c *checked) musicxml.Marks {
	catalog := c.plan.Catalog
	m := musicxml.Marks{
		Heading: catalog.KeyHeading(len(c.findings)), Items: make([]musicxml.Mark, 0, len(c.findings)),
		Legend:  musicxml.Legend{Families: catalog.Families, Severities: catalog.Severities, More: catalog.KeyMore},
		Upgrade: c.plan.Upgrade, IDs: c.plan.IDs, Annotations: annotationsFor(c),
	}
	shown := c.shown()
	m.Left = len(c.findings) - len(shown)
	for _, i := range shown {
		f := &c.findings[i]
		mark := musicxml.Mark{
			Number: i + 1, Family: f.Family, Severity: f.Severity,
			Sentence: fmt.Sprintf("%s: %s", catalog.Place(f, c.texture), catalog.Message(f, c.texture)),
		}
		for _, ref := range f.Notes {
			mark.Notes = append(mark.Notes, c.texture.Voices[ref.Voice].Notes[ref.Note].IDs...)
		}
		m.Items = append(m.Items, mark)
	}
	return m
}

// shown are the indexes of the findings that the marked score shows: all, or those that
// a pupil is to mend first, in the order of their numbers.
func (c *checked) shown() []int {
	if c.plan.Pupil {
		return slices.Sorted(slices.Values(c.first))
	}
	all := make([]int, len(c.findings))
	for i := range all {
		all[i] = i
	}
	return all
}

// annotationsFor puts the analysis above the highest and below the lowest voice.
func annotationsFor(c *checked) musicxml.Annotations {
	layers := c.plan.Annotate
	voices := c.texture.WithoutExtra().Voices
	if layers == 0 || len(voices) == 0 {
		return musicxml.Annotations{}
	}
	top, bass := &voices[0], &voices[len(voices)-1]
	return musicxml.Annotations{
		Layers: layers, Harmonies: c.harmony.Harmonies, Delays: c.harmony.Delays(),
		Top: musicxml.Staff{Part: top.Part, Number: top.Staff}, Bass: musicxml.Staff{Part: bass.Part, Number: bass.Staff}, Lowest: bass.Notes,
	}
}
