package request

import (
	"fmt"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// mostContinuations bounds how many continuations of each group can be asked for.
const mostContinuations = 50

// Continue asks how a sonority can go on to the next chord.
type Continue struct {
	Rules
	Words
	// Chords are a key with a phrase, such as "C: I{E5,G4,C4,C3} V I": chords at its
	// beginning whose notes are all held sound, the next is chosen. One chord alone is the
	// next after From, whose notes name the chord that sounds.
	Chords string
	// From are the notes of the first chord where they are not held, from the top voice
	// down. Without them it stands as in the best voicing.
	From []string
	// Then are chords that might come after the next one; "" asks about those that
	// usually do.
	Then string
	// Style names a texture; Costs is a file with what its moves cost.
	Style string
	Costs Source
	// Best is how many of each group are wanted, of those without a fault, of those
	// with a caution and of those with a fault each.
	Best int
	// IDs gives every note and measure of the sheet of ways an id.
	IDs bool
}

// Fields implements [Request].
func (c *Continue) Fields() []Field {
	return append(append(c.sets(), c.Words.fields()...),
		text(&c.Chords, "chords", "").flag("").upTo(MaxProgressionText),
		parted(&c.From, " ,\t\n", "from", `the notes of the first chord, from the top voice down, such as "E5 G4 C4 C3" (default: those in braces, or of the best voicing)`),
		text(&c.Then, "then", "chords that might come after the next one (default: those that usually do)"),
		styleField(&c.Style),
		costsField(&c.Costs),
		whole(&c.Best, "best", "how many of each group without a fault, with a caution and with a fault, cheapest first").or("3").between(1, mostContinuations),
		yes(&c.IDs, "ids", "").flag(""),
	)
}

// ContinuePlan is what the engine does when it looks for continuations.
type ContinuePlan struct {
	// RuleSet is nil for that of the style.
	RuleSet *partwriting.RuleSet
	Catalog *partwriting.Catalog
	Chords  string
	From    []theory.Pitch
	Then    string
	Style   voicing.Style
	Best    int
	IDs     bool

	asked asked
}

// Plan says what the engine is to do; an error is an [*Error].
func (c *Continue) Plan() (*ContinuePlan, error) {
	set, err := c.set()
	if err != nil {
		return nil, err
	}
	catalog, err := c.catalog()
	if err != nil {
		return nil, err
	}
	style, err := styleOf(c.Style, c.Costs)
	if err != nil {
		return nil, err
	}
	own := *c
	p := &ContinuePlan{asked: asked{request: &own}, RuleSet: set, Catalog: catalog, Chords: c.Chords, Then: c.Then, Style: style, Best: c.Best, IDs: c.IDs}
	for _, word := range c.From {
		pitch, err := theory.ParsePitch(word)
		if err != nil {
			return nil, &Error{"from", fmt.Errorf("%w; write the notes from the top down, such as \"E5 G4 C4 C3\"", err)}
		}
		p.From = append(p.From, pitch)
	}
	return p, nil
}
