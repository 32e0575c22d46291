package partwriting

import (
	"partwright/theory"
	"partwright/theory/texture"
)

// SetFor returns the name of the rule set that suits a texture: strict-chorale for
// voices, keyboard for keyboard style, free where parts may double one another and
// for a melody with chord symbols (common practice, no source).
func SetFor(kind texture.Kind) string {
	switch {
	case kind == texture.KeyboardStyle:
		return "keyboard"
	case kind.Doubles(), kind == texture.LeadSheet:
		return "free"
	}
	return DefaultRuleSet
}

// Kind returns what the passage was taken for, and whether somebody has named it.
func (p *Passage) Kind() (kind texture.Kind, named bool) { return p.kind.Kind, p.kind.Named }

// applying leaves of what a rule found what means something in the texture. Where
// parts may double one another, the notes inside a part are no voices: rules about
// two voices and about notes that must move hold for the outermost of each part,
// and rules about the order of voices and about singing for lines that have a part
// to themselves.
func (p *Passage) applying(r *Rule, found []Finding) []Finding {
	if !p.kind.Kind.Doubles() {
		return found
	}
	kept := found[:0]
	for i := range found {
		if p.applies(r, found[i].Voices) && !(r.Family == Tendency && p.resolvedInPart(r.ID, &found[i])) {
			kept = append(kept, found[i])
		}
	}
	return kept
}

func (p *Passage) applies(r *Rule, voices []int) bool {
	switch r.Family {
	case Placement, Line:
		return p.all(voices, p.alone)
	case Consecutives:
		return r.ID == "octave-doubling" || p.all(voices, p.kind.IsLine) && !(octaveRules[r.ID] && p.onePart(voices))
	case ChordTones:
		return !doublingRules[r.ID] || p.all(voices, p.alone)
	case Tendency, Embellishment:
		return p.all(voices, p.kind.IsLine)
	}
	return true
}

// resolvedInPart reports whether a part of several voices resolves a note that must
// move in another of its voices or in another octave: hands go on where they lie, and
// the ear follows the part.
func (p *Passage) resolvedInPart(rule RuleID, f *Finding) bool {
	if len(f.Notes) < 2 || p.alone(f.Notes[0].Voice) {
		return false
	}
	var up bool
	switch rule {
	case "leading-tone-unresolved", "inner-leading-tone-unresolved", "applied-leading-tone-unresolved":
		up = true
	case "seventh-unresolved":
	default:
		return false
	}
	voice, from := f.Notes[0].Voice, p.Note(f.Notes[0]).Pitch
	m := p.momentOf(f.Notes[len(f.Notes)-1])
	for v := range p.Voices {
		n := p.Sounding(m, v)
		if n == nil || p.Voices[v].Part != p.Voices[voice].Part {
			continue
		}
		switch goal := n.Pitch.Class(); {
		case up && from.Class().Transpose(theory.MinorSecond) == goal:
			return true
		case !up && (goal.Transpose(theory.MinorSecond) == from.Class() || goal.Transpose(theory.MajorSecond) == from.Class()):
			return true
		}
	}
	return false
}

// doublesSong reports whether octaves of a solo line with an accompaniment lie above
// its bass: the hand plays the tune along.
func (p *Passage) doublesSong(m *pairMove) bool {
	if p.kind.Kind != texture.Song {
		return false
	}
	for _, pair := range [][2]int{{m.Upper, m.Lower}, {m.Lower, m.Upper}} {
		if solo, other := pair[0], pair[1]; p.alone(solo) && !p.alone(other) && !p.lowestOfPart(other) {
			return true
		}
	}
	return false
}

func (p *Passage) lowestOfPart(voice int) bool {
	for v := voice + 1; v < len(p.Voices); v++ {
		if p.Voices[v].Part == p.Voices[voice].Part {
			return false
		}
	}
	return true
}

// octaveRules find octaves and unisons of two voices, doublingRules a note that two
// voices have.
var (
	octaveRules = map[RuleID]bool{
		"parallel-octaves": true, "parallel-unisons": true, "contrary-octaves": true, "masked-octaves": true,
		"direct-octaves": true, "direct-perfects-other-pairs": true, "consecutives-at-repeat": true,
	}
	doublingRules = map[RuleID]bool{
		"leading-tone-doubled": true, "seventh-doubled": true, "altered-tone-doubled": true, "third-doubled": true,
		"bass-doubled-in-six": true, "six-four-doubling": true, "diminished-triad-doubling": true, "chromatic-doubling": true,
	}
)

func (p *Passage) all(voices []int, is func(int) bool) bool {
	for _, v := range voices {
		if !is(v) {
			return false
		}
	}
	return true
}

// alone reports whether a voice has its part to itself.
func (p *Passage) alone(voice int) bool {
	for v := range p.Voices {
		if v != voice && p.Voices[v].Part == p.Voices[voice].Part {
			return false
		}
	}
	return true
}

func (p *Passage) onePart(voices []int) bool {
	for _, v := range voices {
		if p.Voices[v].Part != p.Voices[voices[0]].Part {
			return false
		}
	}
	return true
}

// A voice doubles another on and off where a quarter of the moves that they make
// together, and four at least, go in octaves (our own measure: between lines of their
// own that is a few in a hundred).
const (
	oftenInOctaves = 0.25
	leastInOctaves = 4
)

// findDoublings tells the moves in which one voice only doubles another: octaves
// and unisons inside one part, with filling notes, in unison, for three notes
// and more in a row, or on and off.
func (p *Passage) findDoublings() {
	if !p.kind.Kind.Doubles() {
		return
	}
	onAndOff := p.doubledOnAndOff()
	for i := range p.pairs {
		m := &p.pairs[i]
		if !goesInOctaves(m) {
			continue
		}
		goesOn := func(j int) bool {
			if j < 0 || j >= len(p.pairs) {
				return false
			}
			n := &p.pairs[j]
			return n.Upper == m.Upper && n.Lower == m.Lower && (n.To == m.From || n.From == m.To) && goesInOctaves(n)
		}
		voices := []int{m.Upper, m.Lower}
		m.doubles = m.stretch.After == UnisonApart || p.onePart(voices) || !p.all(voices, p.kind.IsLine) || goesOn(i-1) || goesOn(i+1) || onAndOff[[2]int{m.Upper, m.Lower}] || p.doublesSong(m)
	}
}

// doubledOnAndOff are the pairs of voices, the upper first, that often go in octaves.
func (p *Passage) doubledOnAndOff() map[[2]int]bool {
	together, inOctaves := map[[2]int]int{}, map[[2]int]int{}
	for i := range p.pairs {
		m := &p.pairs[i]
		if m.UpperMove.Steps == 0 || m.LowerMove.Steps == 0 {
			continue
		}
		together[[2]int{m.Upper, m.Lower}]++
		if goesInOctaves(m) {
			inOctaves[[2]int{m.Upper, m.Lower}]++
		}
	}
	often := map[[2]int]bool{}
	for pair, n := range inOctaves {
		often[pair] = n >= leastInOctaves && share(n, together[pair]) >= oftenInOctaves
	}
	return often
}

func goesInOctaves(m *pairMove) bool {
	s := &m.stretch
	return s.Before.isOctave() && s.After.isOctave() && !s.Kept && s.sameWay()
}

// doubledLines names once for each part, and for each two parts, that they go in
// octaves or unisons, at the first place, with how often.
func (p *Passage) doubledLines() []Finding {
	type parts [2]int
	first, count := map[parts]int{}, map[parts]int{}
	var order []parts
	for i := range p.pairs {
		m := &p.pairs[i]
		if !m.doubles {
			continue
		}
		pair := parts{p.Voices[m.Upper].Part, p.Voices[m.Lower].Part}
		if count[pair]++; count[pair] == 1 {
			order, first[pair] = append(order, pair), i
		} else if m.To < p.pairs[first[pair]].To {
			first[pair] = i
		}
	}
	var found []Finding
	for _, pair := range order {
		f := p.atPair(&p.pairs[first[pair]])
		f.Severity, f.Licence = Remark, ""
		f.Args = append(f.Args, Arg{"count", count[pair]})
		found = append(found, f)
	}
	return found
}
