package partwriting

import "partwright/theory/harmony"

// Labels that somebody has given against the notes: what the chord symbols,
// figures or numerals of the score, or of an analysis beside it, say otherwise
// than the analysis by the notes alone.
var labels = []*Rule{
	{
		ID: "label-disagrees", Family: ChordTones, Severity: Caution,
		Source: Source{"common practice, no source", "", "the chord, the bass or the key that is labeled is not the one that the analysis hears in the notes alone; a remark where the labeled root does sound, since readings differ; silent where fewer than three voices sound, as under the melody of a lead sheet or over an unrealized bass"},
		Check:  (*Passage).labelsThatDisagree,
	},
}

func (p *Passage) labelsThatDisagree() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	for i := range p.Harmony.Contested {
		c := &p.Harmony.Contested[i]
		if c.Heard == nil || p.sounding(c.Moment) < fewestForChord {
			continue
		}
		f := p.at(c.Moment)
		for v := range p.Voices {
			if n := p.At(c.Moment, v); n >= 0 {
				f.Voices = append(f.Voices, v)
				f.Notes = append(f.Notes, NoteRef{v, n})
			}
		}
		if c.RootSounds {
			f.Severity = Remark
		}
		f.Args = []Arg{{"label", c.Annotation.String()}, {"heard", c.Heard.String() + " (" + c.Heard.Symbol() + ")"}}
		found = append(found, f)
	}
	return found
}

// fewestForChord is how many voices have to sound for notes to name a chord.
const fewestForChord = 3

// givenChords returns the chords that labels name, where the notes can be held
// against them.
func (p *Passage) givenChords() []namedChord {
	var out []namedChord
	for i := range p.Harmony.Given {
		label := &p.Harmony.Given[i]
		n := namedChord{first: p.momentFrom(label.Onset), end: p.momentFrom(label.End), hasBass: !label.OpenBass, text: label.String()}
		if label.More || n.first >= n.end || p.sounding(n.first) < fewestForChord {
			continue // added and altered notes say more than we compare
		}
		n.addMembers(label.Chord)
		for i := 0; label.Pivot != nil && i < label.Pivot.Size(); i++ {
			n.set = n.set.with(label.Pivot.Member(i)) // it may be spelled in either key
		}
		out = append(out, n)
	}
	return out
}

func (n *namedChord) addMembers(c harmony.Chord) {
	for member := range c.Quality.Size() {
		class := c.Quality.Member(c.Root, member)
		n.members, n.set = append(n.members, class), n.set.with(class)
	}
	n.bass = c.Bass()
}
