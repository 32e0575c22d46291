package partwriting

import (
	"fmt"
	"slices"
	"strings"

	"partwright/theory/harmony"
)

// What an exercise asks for at the ends of its phrases.
var askedCadences = []*Rule{
	{
		ID: "cadence-not-as-asked", Family: Progression, Severity: Fault,
		Source: Source{"Wieland, Part-writing quiz rubrics (Northern State University)", "", "silent unless the rule set says which cadences are asked for, phrase by phrase, as far as the document marks their ends"},
		Check:  (*Passage).otherCadences,
	},
}

// askable are the cadences that can be asked for: AC is any authentic one, and a
// hyphen asks for nothing.
var askable = []string{"PAC", "IAC", "AC", "HC", "PC", "DC", "-"}

// parseCadences reads "HC PAC".
func parseCadences(text string) ([]string, error) {
	asked := strings.Fields(text)
	for _, word := range asked {
		if !slices.Contains(askable, word) {
			return nil, fmt.Errorf("%q is no cadence; write %s", word, strings.Join(askable, ", "))
		}
	}
	return asked, nil
}

func (p *Passage) otherCadences() []Finding {
	if p.Harmony == nil || len(p.Limits.Cadences) == 0 {
		return nil
	}
	var found []Finding
	phrase := 0
	for i := range p.Harmony.Cadences {
		c := &p.Harmony.Cadences[i]
		h := &p.chords[c.Final]
		if !p.isCadence(h.EndMoment - 1) {
			continue
		}
		if phrase == len(p.Limits.Cadences) {
			break
		}
		asked := p.Limits.Cadences[phrase]
		phrase++
		if !p.trusted(h) || answers(c.Kind, asked) {
			continue
		}
		f := p.atChord(h.FirstMoment, h)
		f.Args = append(f.Args, Arg{"found", Word("cadence-" + c.Kind.String())}, Arg{"asked", Word("cadence-" + asked)})
		found = append(found, f)
	}
	return found
}

func answers(kind harmony.CadenceKind, asked string) bool {
	switch asked {
	case "-":
		return true
	case "AC":
		return kind == harmony.PerfectAuthentic || kind == harmony.ImperfectAuthentic
	}
	return kind.String() == asked
}
