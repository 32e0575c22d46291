package harmony

import (
	"fmt"
	"strings"

	"partwright/theory"
)

// spellings lists the usual ways to write a quality after the root of a chord
// symbol, longest first so that "maj7" is not read as "m".
var spellings = []struct {
	text    string
	quality Quality
}{
	{"minmaj7", MinorMajorSeventh}, {"m(maj7)", MinorMajorSeventh}, {"mmaj7", MinorMajorSeventh}, {"mM7", MinorMajorSeventh},
	{"+maj7", AugmentedMajorSeventh}, {"maj7#5", AugmentedMajorSeventh},
	{"m7b5", HalfDiminishedSeventh}, {"min7b5", HalfDiminishedSeventh}, {"ø7", HalfDiminishedSeventh}, {"ø", HalfDiminishedSeventh},
	{"dim7", DiminishedSeventh}, {"o7", DiminishedSeventh},
	{"maj7", MajorSeventh}, {"M7", MajorSeventh},
	{"min7", MinorSeventh}, {"-7", MinorSeventh}, {"m7", MinorSeventh},
	{"dim", DiminishedTriad}, {"o", DiminishedTriad},
	{"aug", AugmentedTriad}, {"+", AugmentedTriad},
	{"min", MinorTriad}, {"maj", MajorTriad}, {"-", MinorTriad}, {"m", MinorTriad}, {"M", MajorTriad},
	{"7", DominantSeventh}, {"", MajorTriad},
}

// ParseSymbol reads a chord symbol of triads and sevenths such as "C", "F#m7b5",
// "Bbmaj7/D". What it cannot read is an error that says what it can.
func ParseSymbol(s string) (Chord, error) {
	fail := fmt.Errorf("%q is not a chord symbol of a triad or seventh chord such as C, Am7, F#m7b5, Bbmaj7/D", s)
	head, slash, hasBass := strings.Cut(s, "/")
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
	known := false
	for _, w := range spellings {
		if head[end:] == w.text {
			c.Quality, known = w.quality, true
			break
		}
	}
	if !known {
		if nearest := nearestSymbol(head, end); nearest != "" {
			return Chord{}, fmt.Errorf("%w; the nearest is %s", fail, nearest)
		}
		return Chord{}, fail
	}
	if !hasBass {
		return c, nil
	}
	bass, err := theory.ParsePitchClass(slash)
	if err != nil {
		return Chord{}, fail
	}
	if c.Inversion = memberIndex(c.Root, c.Quality, bass); c.Inversion < 0 {
		return Chord{}, fmt.Errorf("%q has a bass that is no member of its chord", s)
	}
	return c, nil
}

// nearestSymbol is the chord that a longer symbol begins with, "" where that is a triad
// that it may well not mean: ninths and above as their sevenths.
func nearestSymbol(head string, end int) string {
	rest := strings.NewReplacer("13", "7", "11", "7", "9", "7").Replace(head[end:])
	for _, w := range spellings {
		if w.text != "" && strings.HasPrefix(rest, w.text) {
			return head[:end] + w.text
		}
	}
	if strings.HasPrefix(rest, "sus") || strings.HasPrefix(rest, "add") || strings.HasPrefix(rest, "6") || strings.HasPrefix(rest, "5") {
		return head[:end]
	}
	return ""
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
