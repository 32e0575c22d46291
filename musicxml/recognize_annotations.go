package musicxml

import "partwright/musicxml/markup"

// looksAnnotated tells whether a label has the look of an annotation.
func looksAnnotated(t *markup.Tree, id markup.ID) bool {
	color, ok := t.Attr(id, markup.NameColor)
	return ok && sameColor(color, labelColor)
}

// eachLabel calls visit for every <harmony> and <figured-bass>, with its place
// among them in its measure.
func eachLabel(t *markup.Tree, visit func(at place, holder, id markup.ID)) {
	eachMeasure(t, func(at place, holder markup.ID) {
		for c := t.Elements[holder].First; c != markup.None; c = t.Elements[c].Next {
			if name := t.Elements[c].Name; name == markup.NameHarmony || name == markup.NameFiguredBass {
				at.index++
				visit(at, holder, c)
			}
		}
	})
}

// annotations are the elements that marking has put into a marked score: those in
// its color. Where a program has dropped the colors they are all that the record
// does not call the author's own, provided that there are as many as were put in:
// somebody may have added labels since.
func (c *cleaner) annotations() map[markup.ID]bool {
	kept := map[place]bool{}
	for _, p := range c.record.labels {
		kept[p] = true
	}
	colored, others := map[markup.ID]bool{}, map[markup.ID]bool{}
	eachLabel(c.t, func(at place, _, id markup.ID) {
		switch {
		case kept[at]:
		case looksAnnotated(c.t, id):
			colored[id] = true
		default:
			others[id] = true
		}
	})
	if len(colored) == 0 && len(others) == c.record.annotations {
		c.faded = c.record.worded
		return others
	}
	return colored
}

// isAnnotation tells whether a label that is read was written by marking: then it
// is nobody's own reading.
func (r *reader) isAnnotation(id markup.ID) bool {
	if !r.knowsAnnotations {
		r.knowsAnnotations = true
		if c := newCleaner(r.tree); c.isMarked() {
			r.annotations = c.annotations()
		}
	}
	return r.annotations[id]
}

// noteOwnLabels writes down which labels are the author's, where there are
// annotations beside them or they look like some.
func (mk *marker) noteOwnLabels() {
	t := mk.t
	mk.record.annotations = len(mk.annotated)
	eachLabel(t, func(at place, holder, id markup.ID) {
		if len(mk.annotated) > 0 || looksAnnotated(t, id) {
			at.index += insertedIn(t, mk.annotated, holder, id)
			mk.record.labels = append(mk.record.labels, at)
		}
	})
}
