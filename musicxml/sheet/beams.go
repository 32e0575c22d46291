package sheet

import (
	"strconv"

	"github.com/beevik/etree"

	"partwright/theory"
)

// flags are how many beams a note value takes.
var flags = map[string]int{"eighth": 1, "16th": 2, "32nd": 3, "64th": 4}

// head is one written note value of a layer; beams is 0 for rests.
type head struct {
	onset, duration theory.Fraction
	beat            int64
	beams           int
	triplet         bool
}

// beams are, by onset, the words of a layer's beams from the first one on, as in the
// beam-value list of W3C MusicXML 4.0. Notes of one beat are beamed together.
func beams(work *theory.Work, layer []event, m *theory.Measure) map[theory.Fraction][]string {
	heads := headsOf(work, layer, m)
	out := map[theory.Fraction][]string{}
	for first := 0; first < len(heads); {
		end := first + 1
		for end < len(heads) && heads[first].beams > 0 && heads[end].beams > 0 && heads[end].beat == heads[first].beat {
			end++
		}
		if group := heads[first:end]; len(group) > 1 {
			for i := range group {
				out[group[i].onset] = beamWords(group, i)
			}
		}
		first = end
	}
	return out
}

func headsOf(work *theory.Work, layer []event, m *theory.Measure) []head {
	var out []head
	for i := range layer {
		parts, err := layer[i].values(work, m)
		if err != nil {
			return nil // said where the note is written
		}
		at := layer[i].onset
		for _, v := range parts {
			into := at.Sub(m.Onset).Add(m.Into).Div(m.Time.Beat())
			h := head{onset: at, duration: v.duration, beat: into.Num() / into.Den(), triplet: v.triplet}
			if len(layer[i].pitches) > 0 {
				h.beams = flags[v.kind]
			}
			out = append(out, h)
			at = at.Add(v.duration)
		}
	}
	return out
}

// beamWords says what each beam does at one note of a group.
func beamWords(group []head, i int) []string {
	var out []string
	for number := 1; number <= group[i].beams; number++ {
		before, after := i > 0 && group[i-1].beams >= number, i+1 < len(group) && group[i+1].beams >= number
		word := "backward hook"
		switch {
		case before && after:
			word = "continue"
		case before:
			word = "end"
		case after:
			word = "begin"
		case i == 0:
			word = "forward hook"
		}
		out = append(out, word)
	}
	return out
}

func beamElements(n *etree.Element, words []string) {
	for i, word := range words {
		e := n.CreateElement("beam")
		e.CreateAttr("number", strconv.Itoa(i+1))
		e.SetText(word)
	}
}
