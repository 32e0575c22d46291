package harmony

import "partwright/theory"

// vocabulary holds the numerals that a key of one mode offers, without their
// inversions. It says what can be heard, not how often: see counts.tsv.
type vocabulary struct {
	mode     theory.Mode
	numerals []Numeral
	// plain marks numerals that belong to the key itself, so that a chord may
	// be read so in two keys at once and join them.
	plain []bool
	index map[Numeral]int
	// byRoot lists the numerals of each quality by their offset, from -maxOffset up.
	byRoot [numQualities][2*maxOffset + 1][]int16
}

// maxOffset is further than the root of any numeral lies from the tonic, in fifths.
const maxOffset = 24

// on returns the numerals of a quality whose root lies some fifths above the tonic.
func (v *vocabulary) on(q Quality, offset int) []int16 {
	if offset < -maxOffset || offset > maxOffset {
		return nil
	}
	return v.byRoot[q][offset+maxOffset]
}

// diatonic numerals by mode; alter counts against the natural scale.
type degreeQuality struct {
	degree, alter int8
	quality       Quality
}

var scaleChords = [2][]degreeQuality{
	theory.MajorMode: {
		{1, 0, MajorTriad}, {2, 0, MinorTriad}, {3, 0, MinorTriad}, {4, 0, MajorTriad},
		{5, 0, MajorTriad}, {6, 0, MinorTriad}, {7, 0, DiminishedTriad},
		{1, 0, MajorSeventh}, {2, 0, MinorSeventh}, {3, 0, MinorSeventh}, {4, 0, MajorSeventh},
		{5, 0, DominantSeventh}, {6, 0, MinorSeventh}, {7, 0, HalfDiminishedSeventh},
	},
	// Minor has its sixth and seventh degrees in two forms each.
	theory.MinorMode: {
		{1, 0, MinorTriad}, {2, 0, DiminishedTriad}, {3, 0, MajorTriad}, {4, 0, MinorTriad},
		{5, 0, MajorTriad}, {5, 0, MinorTriad}, {6, 0, MajorTriad}, {7, 0, MajorTriad},
		{7, 1, DiminishedTriad}, {3, 0, AugmentedTriad},
		{2, 0, MinorTriad}, {4, 0, MajorTriad}, {6, 1, DiminishedTriad},
		{1, 0, MinorSeventh}, {2, 0, HalfDiminishedSeventh}, {3, 0, MajorSeventh},
		{4, 0, MinorSeventh}, {5, 0, DominantSeventh}, {5, 0, MinorSeventh},
		{6, 0, MajorSeventh}, {7, 0, DominantSeventh}, {7, 1, DiminishedSeventh},
		{2, 0, MinorSeventh}, {4, 0, DominantSeventh}, {6, 1, HalfDiminishedSeventh},
		{7, 1, HalfDiminishedSeventh}, {1, 0, MinorMajorSeventh}, {3, 0, AugmentedMajorSeventh},
	},
}

// chromaticChords are mixture, the Neapolitan, augmented chords and the
// common-tone diminished sevenths.
var chromaticChords = [2][]degreeQuality{
	theory.MajorMode: {
		{1, 0, MinorTriad}, {2, 0, DiminishedTriad}, {2, 0, HalfDiminishedSeventh},
		{3, -1, MajorTriad}, {4, 0, MinorTriad}, {4, 0, MinorSeventh}, {5, 0, MinorTriad},
		{6, -1, MajorTriad}, {6, -1, MajorSeventh}, {7, -1, MajorTriad},
		{7, 0, DiminishedSeventh}, {5, 0, AugmentedTriad}, {1, 0, AugmentedTriad},
		{2, -1, MajorTriad}, {2, 1, DiminishedSeventh}, {6, 1, DiminishedSeventh},
		{3, 0, MajorTriad}, {5, 0, MinorSeventh},
	},
	theory.MinorMode: {
		{1, 0, MajorTriad}, {2, -1, MajorTriad}, {5, 0, AugmentedTriad},
		{6, 1, DiminishedSeventh}, {3, 0, MinorTriad}, {7, 0, MinorTriad},
	},
}

var sixthChords = []degreeQuality{{4, 1, ItalianSixth}, {2, 0, FrenchSixth}, {4, 1, GermanSixth}}

// appliedTargets are the degrees that may be treated as a key for the moment.
var appliedTargets = [2][]Target{
	theory.MajorMode: {
		{2, 0, theory.MinorMode}, {3, 0, theory.MinorMode}, {4, 0, theory.MajorMode},
		{5, 0, theory.MajorMode}, {6, 0, theory.MinorMode}, {2, -1, theory.MajorMode},
		{3, -1, theory.MajorMode}, {6, -1, theory.MajorMode}, {7, 0, theory.MinorMode},
	},
	theory.MinorMode: {
		{3, 0, theory.MajorMode}, {4, 0, theory.MinorMode}, {5, 0, theory.MajorMode},
		{6, 0, theory.MajorMode}, {7, 0, theory.MajorMode}, {2, -1, theory.MajorMode},
		{2, 0, theory.MinorMode},
	},
}

// dominantsOf lists the chords that lead to a target. The half-diminished one
// leads to major only.
var dominantsOf = [2][]degreeQuality{
	theory.MajorMode: {
		{5, 0, MajorTriad}, {5, 0, DominantSeventh}, {7, 0, DiminishedTriad},
		{7, 0, HalfDiminishedSeventh}, {7, 0, DiminishedSeventh}, {4, 0, MajorTriad},
	},
	theory.MinorMode: {
		{5, 0, MajorTriad}, {5, 0, DominantSeventh}, {7, 1, DiminishedTriad},
		{7, 1, DiminishedSeventh}, {2, 0, HalfDiminishedSeventh},
	},
}

func newVocabulary(mode theory.Mode) *vocabulary {
	v := &vocabulary{mode: mode, index: map[Numeral]int{}}
	add := func(d degreeQuality, of Target, plain bool) {
		n := Numeral{Degree: d.degree, Alter: d.alter, Quality: d.quality, Of: of}
		if _, double := v.index[n]; double {
			return
		}
		key := theory.Key{Tonic: theory.PitchClass{Step: theory.C}, Mode: mode}
		v.index[n] = len(v.numerals)
		offset := n.Root(key).Fifths()
		same := &v.byRoot[n.Quality][offset+maxOffset]
		*same = append(*same, int16(len(v.numerals)))
		v.numerals = append(v.numerals, n)
		v.plain = append(v.plain, plain)
	}
	for _, d := range scaleChords[mode] {
		add(d, Target{}, true)
	}
	for _, d := range chromaticChords[mode] {
		add(d, Target{}, true)
	}
	for _, d := range sixthChords {
		add(d, Target{}, false)
	}
	for _, of := range appliedTargets[mode] {
		for _, d := range dominantsOf[of.Mode] {
			add(d, of, false)
		}
	}
	return v
}

// find returns the index of a numeral whatever its inversion, or -1. Chords
// applied to the same degree in the other mode count as the same.
func (v *vocabulary) find(n Numeral) int {
	n.Inversion, n.Cadential = 0, false
	if i, ok := v.index[n]; ok {
		return i
	}
	if n.IsApplied() {
		c := theory.Key{Tonic: theory.PitchClass{Step: theory.C}, Mode: v.mode}
		root := n.Root(c)
		n.Of.Mode = 1 - n.Of.Mode
		degree, alter := n.In(c).Degree(root)
		n.Degree, n.Alter = int8(degree), int8(alter)
		if i, ok := v.index[n]; ok {
			return i
		}
	}
	return -1
}

// states counts numerals with inversions; a state is 4 × numeral + inversion.
func (v *vocabulary) states() int { return 4 * len(v.numerals) }
