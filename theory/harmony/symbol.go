package harmony

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"partwright/theory"
)

// spellings lists the usual ways to write a quality after the root of a chord symbol, as
// [plainSpelling] makes them; what no table of symbols agrees on is left out (W3C MusicXML
// 4.0, kind-value, for the names; the signs are common practice, no source). The spelling
// that [Quality.Symbol] writes is read as well.
var spellings = map[string]Quality{
	"": MajorTriad, "maj": MajorTriad, "m": MinorTriad, "dim": DiminishedTriad, "mb5": DiminishedTriad,
	"aug": AugmentedTriad, "#5": AugmentedTriad, "b3": MinorTriad,
	"7": DominantSeventh, "add7": DominantSeventh, "maj7": MajorSeventh, "add#7": MajorSeventh, "m7": MinorSeventh, "madd7": MinorSeventh,
	"m7b5": HalfDiminishedSeventh, "halfdim": HalfDiminishedSeventh, "halfdim7": HalfDiminishedSeventh, "dim7": DiminishedSeventh,
	"mmaj7": MinorMajorSeventh, "madd#7": MinorMajorSeventh, "augmaj7": AugmentedMajorSeventh, "maj7#5": AugmentedMajorSeventh,
	"sus4": SuspendedFourth, "sus": SuspendedFourth, "4": SuspendedFourth, "sus2": SuspendedSecond,
	"7sus4": SeventhSuspendedFourth, "7sus": SeventhSuspendedFourth, "sus4add7": SeventhSuspendedFourth, "7add4no3": SeventhSuspendedFourth,
	"6": MajorSixth, "add6": MajorSixth, "m6": MinorSixth, "madd6": MinorSixth, "69": MajorSixthNinth, "6add9": MajorSixthNinth,
	"add9": MajorAddedNinth, "add2": MajorAddedNinth, "2": MajorAddedNinth, "madd9": MinorAddedNinth, "madd2": MinorAddedNinth,
	"9": DominantNinth, "7add9": DominantNinth, "maj9": MajorNinth, "maj7add9": MajorNinth, "m9": MinorNinth, "m7add9": MinorNinth,
	"7b9": DominantLoweredNinth, "7addb9": DominantLoweredNinth, "7#9": DominantRaisedNinth, "7add#9": DominantRaisedNinth,
	"11": DominantEleventh, "9sus4": DominantEleventh, "9sus": DominantEleventh, "m11": MinorEleventh,
	"13": DominantThirteenth, "7add13": DominantThirteenth, "maj13": MajorThirteenth, "m13": MinorThirteenth,
	"7#5": AugmentedSeventh, "aug7": AugmentedSeventh, "7aug": AugmentedSeventh, "7b5": DominantLoweredFifth,
}

// plainer brings signs and abbreviations to one spelling, longer ones first.
var plainer = strings.NewReplacer(
	"7-5", "7b5", "7+5", "7#5", "7-9", "7b9", "7+9", "7#9", "dom7", "7", "madd", "madd",
	"minor", "m", "Minor", "m", "MIN", "m", "Min", "m", "min", "m", "MI", "m", "Mi", "m", "mi", "m",
	"major", "maj", "Major", "maj", "MAJ", "maj", "Maj", "maj", "maj", "maj", "MA", "maj", "Ma", "maj", "ma", "maj", "M", "maj",
	"-", "m", "−", "m",
	"dim", "dim", "°", "dim", "º", "dim", "o", "dim", "ø", "halfdim", "Ø", "halfdim",
	"augmented", "aug", "aug", "aug", "+", "aug", "sus", "sus", "add", "add", "no", "no",
	"△7", "maj7", "Δ7", "maj7", "△", "maj7", "Δ", "maj7", "♯", "#", "♭", "b",
	"6/9", "69", "(", "", ")", "", ",", "", " ", "",
)

// plainSpelling is what follows the root of a chord symbol with one spelling for each sign.
func plainSpelling(rest string) string { return plainer.Replace(rest) }

// noChord are the usual ways to say that no chord sounds.
var noChord = []string{"N.C.", "NC", "N.C", "n.c."}

// IsNoChord reports whether a chord symbol says that no chord sounds.
func IsNoChord(symbol string) bool { return slices.Contains(noChord, symbol) }

// ParseSymbol reads a chord symbol such as "C", "F#m7b5", "Bbmaj7/D", "Gsus4", "C6", "D9".
// A bass that is no member is read as part of a chord that four voices can sing, where
// there is one: F/G is G11. What it cannot read is an error that says what it can.
func ParseSymbol(s string) (Chord, error) {
	fail := fmt.Errorf("%q is not a chord symbol such as C, Am7, F#m7b5, Gsus4, C6, D9 or Bbmaj7/D", s)
	text := strings.NewReplacer("♯", "#", "♭", "b").Replace(s)
	head, slash, hasBass := cutBass(text)
	end := 1
	for end < len(head) && (head[end] == '#' || head[end] == 'b') {
		end++
	}
	if head == "" {
		return Chord{}, fail
	}
	root, err := theory.ParsePitchClass(head[:end])
	if err != nil {
		return Chord{}, fail
	}
	c := Chord{Root: root}
	quality, known := spellings[plainSpelling(head[end:])]
	if !known {
		if nearest := nearestSymbol(head, end); nearest != "" {
			return Chord{}, fmt.Errorf("%w; the nearest is %s", fail, nearest)
		}
		return Chord{}, fail
	}
	c.Quality = quality
	if !hasBass {
		return c, nil
	}
	bass, err := theory.ParsePitchClass(slash)
	if err != nil {
		return Chord{}, fail
	}
	over, ok := c.over(bass)
	if !ok {
		return Chord{}, fmt.Errorf("%q has a bass that is no member of its chord; write %s, or a symbol for all that sounds", s, head)
	}
	return over, nil
}

// cutBass parts a symbol from its bass; the stroke of 6/9 is none.
func cutBass(s string) (head, bass string, found bool) {
	i := strings.LastIndexByte(s, '/')
	if i < 0 || i+1 < len(s) && s[i+1] == '9' {
		return s, "", false
	}
	return s[:i], s[i+1:], true
}

// over is the chord over a bass: an inversion, or a chord of four members that holds both
// the chord and the bass, on the root or else on the bass, where it may do without a fifth.
func (c Chord) over(bass theory.PitchClass) (Chord, bool) {
	if c.Inversion = memberIndex(c.Root, c.Quality, bass); c.Inversion >= 0 {
		return c, true
	}
	sounding := []theory.PitchClass{bass}
	for i := range c.Quality.Size() {
		sounding = append(sounding, c.Quality.Member(c.Root, i))
	}
	for _, way := range []struct {
		root  theory.PitchClass
		below int
	}{{c.Root, numQualities}, {bass, allQualities}, {c.Root, allQualities}} {
		for q := range Quality(way.below) {
			if q.Size() != 4 || q.IsAugmentedSixth() || !q.holds(way.root, sounding) {
				continue
			}
			if i := memberIndex(way.root, q, bass); i >= 0 {
				return Chord{way.root, q, i}, true
			}
		}
	}
	return Chord{}, false
}

// fifthFor are the chords that hold the fifth which a ninth, eleventh or thirteenth leaves
// out among four voices, in the place of their highest note.
var fifthFor = map[Quality]Quality{
	DominantNinth: DominantSeventh, DominantLoweredNinth: DominantSeventh, DominantRaisedNinth: DominantSeventh, DominantThirteenth: DominantSeventh,
	MajorNinth: MajorSeventh, MajorThirteenth: MajorSeventh,
	MinorNinth: MinorSeventh, MinorEleventh: MinorSeventh, MinorThirteenth: MinorSeventh,
	DominantEleventh: SeventhSuspendedFourth, MajorSixthNinth: MajorSixth,
}

// WithFifth is the chord of four notes for a chord to whose fifth a note is given: C9 with G
// in the melody is C7, since the ninth would be a fifth note. It reports false where the
// note is another, or where the bass is what would be left out.
func (c Chord) WithFifth(note theory.PitchClass) (Chord, bool) {
	q, ok := fifthFor[c.Quality]
	if !ok || memberIndex(c.Root, c.Quality, note) >= 0 || memberIndex(c.Root, q, note) < 0 {
		return Chord{}, false
	}
	i := memberIndex(c.Root, q, c.Bass())
	return Chord{c.Root, q, i}, i >= 0
}

// With is the chord on the same root, over the same bass, that holds a further note.
func (c Chord) With(note theory.PitchClass) (Chord, bool) {
	sounding := []theory.PitchClass{note}
	for i := range c.Quality.Size() {
		sounding = append(sounding, c.Quality.Member(c.Root, i))
	}
	for q := range Quality(allQualities) {
		if q.Size() != 4 || q.IsAugmentedSixth() || !q.holds(c.Root, sounding) {
			continue
		}
		if i := memberIndex(c.Root, q, c.Bass()); i >= 0 && memberIndex(c.Root, q, note) >= 0 {
			return Chord{c.Root, q, i}, true
		}
	}
	return Chord{}, false
}

// holds reports whether the members of a quality are among what sounds, which holds
// nothing else but a fifth.
func (q Quality) holds(root theory.PitchClass, sounding []theory.PitchClass) bool {
	for i := range q.Size() {
		if !slices.Contains(sounding, q.Member(root, i)) {
			return false
		}
	}
	fifth := root.Transpose(theory.PerfectFifth)
	for _, c := range sounding {
		if c != fifth && memberIndex(root, q, c) < 0 {
			return false
		}
	}
	return true
}

// nearestSymbol is the chord that a longer symbol begins with, "" for none.
func nearestSymbol(head string, end int) string {
	rest := plainSpelling(head[end:])
	for n := len(rest) - 1; n >= 0; n-- {
		if q, ok := spellings[rest[:n]]; ok {
			return head[:end] + q.Symbol()
		}
	}
	return ""
}

// suffixes are what chord symbols write for the kind-values of W3C MusicXML 4.0 that name
// a chord on a root.
var suffixes = map[string]string{
	"major": "", "minor": "m", "augmented": "aug", "diminished": "dim", "dominant": "7", "major-seventh": "maj7",
	"minor-seventh": "m7", "diminished-seventh": "dim7", "augmented-seventh": "7#5", "half-diminished": "m7b5",
	"major-minor": "mmaj7", "major-sixth": "6", "minor-sixth": "m6", "dominant-ninth": "9", "major-ninth": "maj9",
	"minor-ninth": "m9", "dominant-11th": "11", "minor-11th": "m11", "dominant-13th": "13", "major-13th": "maj13",
	"minor-13th": "m13", "suspended-second": "sus2", "suspended-fourth": "sus4", "Neapolitan": "",
}

// instead are the symbols nearest to kind-values of W3C MusicXML 4.0 that are not voiced. The
// standard does not say which note of an augmented sixth its root is; where it is the bass, the
// chord sounds as a seventh (Hutchinson, Music Theory for the 21st-Century Classroom, ch. 29).
var instead = map[string]struct{ suffix, why string }{
	"power":      {"", "which has a third too"},
	"major-11th": {"maj9", "since the eleventh stands a semitone above the third"},
	"Italian":    {"7", "which sounds the same over that bass; or name it by its numeral, It6"},
	"German":     {"7", "which sounds the same over that bass; or name it by its numeral, Ger65"},
	"French":     {"7b5", "which sounds the same over that bass; or name it by its numeral, Fr43"},
	"Tristan":    {"m7b5", "which sounds the same"},
	"pedal":      {"", "over which further symbols name the chords"},
}

// FullChord returns the chord of a chord symbol in a score with all that it asks for, unlike
// an analysis, which reads ninths as their sevenths. What cannot be sung by four voices is
// an error that names the symbol.
func FullChord(g *theory.GivenChord) (Chord, error) {
	name := g.Root.String() + symbolText(g)
	suffix, known := suffixes[g.Kind]
	if g.Kind == "other" && g.Text != "" {
		suffix, known = plainSpelling(g.Text), true
	}
	if !known {
		if near, ok := instead[g.Kind]; ok {
			return Chord{}, fmt.Errorf("the chord symbol %s (%s) is not voiced; the nearest is %s%s, %s", name, g.Kind, g.Root, near.suffix, near.why)
		}
		return Chord{}, fmt.Errorf("the chord symbol %s (%s) is not voiced; write a triad, a seventh, or one of sus4, sus2, 6, add9, 9, 11 and 13", name, g.Kind)
	}
	if g.Kind != "other" {
		for _, d := range g.Degrees {
			suffix += degreeSpelling(d)
		}
	}
	quality, known := spellings[suffix]
	if !known {
		return Chord{}, fmt.Errorf("the chord symbol %s (%s) is not voiced; the nearest is %s", name, suffix, nearestSymbol(g.Root.String()+suffix, len(g.Root.String())))
	}
	c := Chord{Root: g.Root, Quality: quality, Inversion: g.Inversion}
	switch over, ok := c.over(g.Bass); {
	case g.HasBass && !ok:
		return Chord{}, fmt.Errorf("the chord symbol %s has the bass %v, which is no member of its chord; take the bass away, or name all that sounds", name, g.Bass)
	case g.HasBass:
		c = over
	case c.Inversion >= c.Quality.Size():
		return Chord{}, fmt.Errorf("the chord symbol %s has no inversion %d", name, g.Inversion)
	}
	return c, nil
}

// symbolText is what stands behind the root of a symbol.
func symbolText(g *theory.GivenChord) string {
	if g.Text != "" {
		return g.Text
	}
	return suffixes[g.Kind]
}

// degreeSpelling is a degree as a symbol writes it: "add9", "b5", "no3".
func degreeSpelling(d theory.GivenDegree) string {
	sign := strings.Repeat("#", max(d.Alter, 0)) + strings.Repeat("b", max(-d.Alter, 0))
	if d.Alter > 2 || d.Alter < -2 {
		sign = "?"
	}
	switch d.Type {
	case "add":
		return "add" + sign + strconv.Itoa(d.Value)
	case "subtract":
		return "no" + strconv.Itoa(d.Value)
	}
	return sign + strconv.Itoa(d.Value)
}

// fromKind returns the chord of a MusicXML harmony element: a root, a kind-value
// of W3C MusicXML 4.0, and a bass or an inversion. Ninths and above are read as
// their sevenths. It reports false for kinds that are no stack of thirds.
func fromKind(g *theory.GivenChord) (Chord, bool) {
	if !g.HasRoot {
		return Chord{}, false
	}
	c := Chord{Root: g.Root, Inversion: g.Inversion}
	quality, known := qualityOfKind(g.Kind)
	if !known || quality.IsAugmentedSixth() || g.Kind == "other" {
		return Chord{}, false
	}
	c.Quality, _ = quality.with(g.Degrees)
	if g.HasBass {
		if i := memberIndex(c.Root, c.Quality, g.Bass); i >= 0 {
			c.Inversion = i
		}
	}
	if c.Inversion >= c.Quality.Size() {
		return Chord{}, false
	}
	return c, true
}

// saysMore reports whether a chord label asks for notes that the quality of its chord
// does not have: those of a ninth and above, added or missing ones.
func saysMore(g *theory.GivenChord) bool {
	quality, ok := qualityOfKind(g.Kind)
	if !ok {
		return true
	}
	_, more := quality.with(g.Degrees)
	return more || quality.Kind() != g.Kind && g.Kind != "Neapolitan"
}

// with alters the members of a quality, or adds a seventh, as the degree elements of
// W3C MusicXML 4.0 do: an alteration is relative to the member, an added degree to a
// dominant seventh. What makes no quality of ours is left out, and more says so.
func (q Quality) with(degrees []theory.GivenDegree) (altered Quality, more bool) {
	if len(degrees) == 0 {
		return q, false
	}
	const semitone = 7 // on the line of fifths
	fifths := append([]int(nil), qualities[q].fifths...)
	for _, d := range degrees {
		switch i := (d.Value - 1) / 2; {
		case d.Type == "alter" && d.Value%2 == 1 && i > 0 && i < len(fifths):
			fifths[i] += semitone * d.Alter
		case d.Type == "add" && d.Value == 7 && len(fifths) == 3:
			fifths = append(fifths, -2+semitone*d.Alter)
		default:
			more = true
		}
	}
	for other := range ItalianSixth {
		if equal(qualities[other].fifths, fifths) {
			return other, more
		}
	}
	return q, true
}

// qualityOfKind returns the quality of a kind-value of W3C MusicXML 4.0, that of
// the seventh for ninths and above.
func qualityOfKind(kind string) (Quality, bool) {
	kind = strings.NewReplacer("-ninth", "-seventh", "-11th", "-seventh", "-13th", "-seventh").Replace(kind)
	kind = strings.Replace(kind, "dominant-seventh", "dominant", 1)
	if kind == "Neapolitan" {
		return MajorTriad, true
	}
	for q := range Quality(numQualities) {
		if q.Kind() == kind {
			return q, true
		}
	}
	return 0, false
}
