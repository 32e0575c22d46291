package report

import (
	"slices"
	"strconv"

	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// endsOn says on which member of its chord the top voice ends, by member.
var endsOn = [...]partwriting.Phrase{partwriting.EndsOnRoot, partwriting.EndsOnThird, partwriting.EndsOnFifth, partwriting.EndsOnSeventh}

var positionPhrases = map[voicing.Position]partwriting.Phrase{
	voicing.ClosePosition: partwriting.MostlyClose, voicing.OpenPosition: partwriting.MostlyOpen, voicing.AnyPosition: partwriting.CloseAndOpen,
}

// Character says in words what a voicing is like; of one that is not the first itself,
// only what distinguishes it from the first.
func Character(s, first *voicing.Solution, catalog *partwriting.Catalog) []string {
	own, other := s.Character(), first.Character()
	itself := s == first
	var words []string
	say := func(differs bool, p partwriting.Phrase, pairs ...any) {
		if itself || differs {
			words = append(words, catalog.Phrase(p, pairs...))
		}
	}
	if own.Ends >= 0 && own.Ends < len(endsOn) {
		say(own.Ends != other.Ends, endsOn[own.Ends])
	}
	say(own.Position != other.Position, positionPhrases[own.Position])
	if len(s.Chords) > 1 {
		say(own.Contrary != other.Contrary, partwriting.ContraryOuter, "number", own.Contrary, "all", len(s.Chords)-1)
	}
	from, to := s.Chords[0].Pitches[0], s.Chords[len(s.Chords)-1].Pitches[0]
	say(from != first.Chords[0].Pitches[0], partwriting.TopLine, "from", from, "to", to)
	if len(words) == 0 {
		words = append(words, firstDifference(s, first, catalog))
	}
	return words
}

// firstDifference names the first chord that is heard otherwise.
func firstDifference(s, first *voicing.Solution, catalog *partwriting.Catalog) string {
	for k := range s.Chords {
		if to, from := s.Chords[k].Pitches[0], first.Chords[k].Pitches[0]; to != from {
			return catalog.Phrase(partwriting.TopNote, "to", to, "from", from, "chord", k+1)
		}
	}
	k := 0
	for k+1 < len(s.Chords) && slices.Equal(s.Chords[k].Pitches, first.Chords[k].Pitches) {
		k++
	}
	return catalog.Phrase(partwriting.OtherChord, "chord", k+1)
}

// Harmonizes says how the chords of a harmonization differ from those of the first.
func Harmonizes(own, first voicing.Coloring, catalog *partwriting.Catalog) []string {
	var words []string
	if own.Roots > 0 {
		words = append(words, catalog.Phrase(partwriting.OtherRoots, "number", own.Roots, "all", own.Open))
	}
	if own.Primary == own.Open && first.Primary < own.Open {
		words = append(words, catalog.Phrase(partwriting.PrimaryOnly))
	}
	for _, c := range []struct {
		p          partwriting.Phrase
		own, first int
	}{{partwriting.ForeignChords, own.Foreign, first.Foreign}, {partwriting.InvertedChords, own.Inverted, first.Inverted}} {
		if c.own != c.first {
			words = append(words, catalog.Phrase(c.p, "number", c.own, "first", c.first))
		}
	}
	return words
}

// CostsMore says how much more a voicing costs than the first.
func CostsMore(s, first *voicing.Solution, catalog *partwriting.Catalog) string {
	return catalog.Phrase(partwriting.CostsMore, "cost", strconv.FormatFloat(Semitones(s.Cost-first.Cost), 'f', -1, 64))
}
