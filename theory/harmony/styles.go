package harmony

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"partwright/theory"
	"partwright/theory/harmony/beatnet"
	"partwright/theory/texture"
)

// Style is the kind of music that a model knows. Each has tables, weights and a
// net of its own: what helps to read a chorale leads astray in a song.
type Style int8

// Styles.
const (
	// ByTexture chooses by the texture, see [StyleOf].
	ByTexture Style = iota
	// ChoraleStyle is for a fixed number of voices that move together: chorales,
	// hymns, harmony exercises.
	ChoraleStyle
	// FreeStyle is for everything else: piano, songs with accompaniment,
	// ensembles, with doublings, figures and broken chords.
	FreeStyle
)

var styleNames = [...]string{ByTexture: "texture", ChoraleStyle: "chorale", FreeStyle: "free"}

// String returns "texture", "chorale" or "free".
func (s Style) String() string { return styleNames[s] }

// ParseStyle reads the name of a style; "" is [ByTexture].
func ParseStyle(name string) (Style, error) {
	if name == "" {
		return ByTexture, nil
	}
	i := slices.Index(styleNames[:], name)
	if i < 0 {
		return ByTexture, fmt.Errorf("%q is no style: say %s", name, strings.Join(styleNames[:], ", "))
	}
	return Style(i), nil
}

// StyleOf chooses the style that suits a texture: chorale where a fixed number of
// voices move together, free where they do not.
func StyleOf(t *theory.Texture) Style {
	s, _ := styleFound(t)
	return s
}

// styleFound chooses a style and says why, as a clause.
func styleFound(t *theory.Texture) (Style, string) {
	homophonic := texture.Of(t).Homophonic
	switch {
	case len(t.Moments) == 0 && homophonic:
		return ChoraleStyle, "no voice sounds"
	case len(t.Moments) == 0:
		return FreeStyle, "no voice sounds"
	case homophonic:
		return ChoraleStyle, "the voices move together"
	case t.Layout == theory.MixedLayout:
		return FreeStyle, "lines and chords stand side by side"
	}
	return FreeStyle, "the voices do not move together"
}

// The tables and nets of the styles. counts-free.tsv and net-*.bin are
// derivatives of the dataset "When in Rome" under CC BY-SA 4.0, as counts.tsv is;
// README.md says what each was made of.
var (
	//go:embed counts-free.tsv
	freeCounts string
	//go:embed weights-free.tsv
	freeWeights string
	//go:embed net-chorale.bin
	choraleNet string
	//go:embed net-free.bin
	freeNet string
)

// modelFor returns the model of a style, or of the one that suits a texture.
func modelFor(t *theory.Texture, s Style) *Model {
	found := "it was asked for"
	if s == ByTexture {
		s, found = styleFound(t)
	}
	m := *models[s]()
	m.styleFound = found
	return &m
}

var models = [...]func() *Model{
	ChoraleStyle: sync.OnceValue(func() *Model { return load(ChoraleStyle, countsTable, weightsTable, choraleNet) }),
	FreeStyle:    sync.OnceValue(func() *Model { return load(FreeStyle, freeCounts, freeWeights, freeNet) }),
}

// load makes a model of tables of our own; a net that cannot be read is a mistake
// in the build and shows in TestTables.
func load(s Style, counts, weights, net string) *Model {
	m := NewModel(ParseTable(counts), ParseTable(weights)).WithStyle(s)
	if n, err := beatnet.Read(net); err == nil {
		m = m.WithNet(n)
	}
	return m
}

// BuiltInWeights returns the weights of a style by name.
func BuiltInWeights(s Style) map[string]float64 {
	if s == FreeStyle {
		return ParseTable(freeWeights)
	}
	return ParseTable(weightsTable)
}
