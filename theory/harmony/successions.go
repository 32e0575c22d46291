package harmony

import (
	"strings"
	"sync"

	"partwright/theory"
)

// Successions are how often one chord follows another in human analyses of chorales and
// textbook examples (counts.tsv), by how they sound: a chord counts the same whichever
// numeral names it.
type Successions struct {
	key    theory.Key
	pairs  map[[2]Chord]float64
	chords map[Chord]float64
	// roots are successions of roots, onward how often any other root follows one.
	roots  map[[2]theory.PitchClass]float64
	onward map[theory.PitchClass]float64
}

var successions = [2]func() *Successions{
	theory.MajorMode: sync.OnceValue(func() *Successions { return newSuccessions(theory.MajorMode) }),
	theory.MinorMode: sync.OnceValue(func() *Successions { return newSuccessions(theory.MinorMode) }),
}

// SuccessionsIn are those counted in a mode.
func SuccessionsIn(mode theory.Mode) *Successions { return successions[mode]() }

func newSuccessions(mode theory.Mode) *Successions {
	s := &Successions{
		key: theory.MajorKey(theory.PitchClass{Step: theory.C}), pairs: map[[2]Chord]float64{}, chords: map[Chord]float64{},
		roots: map[[2]theory.PitchClass]float64{}, onward: map[theory.PitchClass]float64{},
	}
	if mode == theory.MinorMode {
		s.key = theory.MinorKey(theory.PitchClass{Step: theory.C})
	}
	for name, count := range ParseTable(countsTable) {
		f := strings.Fields(name)
		if len(f) < 3 || f[1] != modeLetter[mode] || f[0] != "pair" && f[0] != "uni" {
			continue
		}
		from, err := ParseNumeral(f[2], mode)
		if err != nil {
			continue
		}
		if f[0] == "uni" {
			s.chords[s.chord(from)] += count
			continue
		}
		to, err := ParseNumeral(f[3], mode)
		if err != nil {
			continue
		}
		a, b := s.chord(from), s.chord(to)
		s.pairs[[2]Chord{a, b}] += count
		if a.Root != b.Root {
			s.roots[[2]theory.PitchClass{a.Root, b.Root}] += count
			s.onward[a.Root] += count
		}
	}
	return s
}

func (s *Successions) chord(n Numeral) Chord {
	r := Reading{Key: s.key, Numeral: n}
	return Chord{Root: r.Root(), Quality: r.Quality(), Inversion: r.Inversion()}
}

// Times is how often a chord follows another, in these inversions.
func (s *Successions) Times(from, to Numeral) float64 {
	return s.pairs[[2]Chord{s.chord(from), s.chord(to)}]
}

// Seen is how often a chord occurs in its inversion.
func (s *Successions) Seen(n Numeral) float64 { return s.chords[s.chord(n)] }

// RootShare is in which share of the changes from the root of one chord to another root
// that is the root of a second.
func (s *Successions) RootShare(from, to Numeral) float64 {
	a, b := s.chord(from).Root, s.chord(to).Root
	if s.onward[a] == 0 {
		return 0
	}
	return s.roots[[2]theory.PitchClass{a, b}] / s.onward[a]
}
