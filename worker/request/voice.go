package request

import (
	"errors"
	"slices"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// Bounds on what one voicing can be asked for: the ways to voice it, the bytes of a
// progression as text, and the sheets from plain to florid.
const (
	mostVoicings       = 20
	mostLevels         = 6
	MaxProgressionText = 64 << 10
)

// What a score gives that is to be voiced, and what an exercise shows of it. Auto
// looks at the score.
const (
	Auto         = "auto"
	GivesChords  = "chords"
	GivesBass    = "bass"
	GivesSoprano = "soprano"
	GivesOuter   = "outer"
)

// styles are the textures that can be asked for.
var styles = []struct {
	name  string
	style func() voicing.Style
}{
	{"chorale", voicing.Chorale},
	{"keyboard", voicing.Keyboard},
	{"three-voices", voicing.ThreeVoices},
	{"five-voices", voicing.FiveVoices},
}

func styleNames() []string {
	var names []string
	for _, s := range styles {
		names = append(names, s.name)
	}
	return names
}

// styleField is the field of a texture.
func styleField(to *string) Field {
	return text(to, "style", "texture: chorale, keyboard, three-voices, five-voices").or("chorale").oneOf("style", styleNames())
}

// styleOf is the texture of a name that is one of the choices.
func styleOf(name string) voicing.Style {
	for _, s := range styles {
		if s.name == name {
			return s.style()
		}
	}
	return voicing.Chorale()
}

// Voicing is what can be asked of a voicing, of one task or of many.
type Voicing struct {
	// Gives says what a score gives, Key the key in which its chords are counted, ""
	// for those of its signatures.
	Gives, Key string
	// Title stands at the head of the sheet.
	Title string
	// Style names a texture.
	Style string
	// Bass is given (the inversions of the task), roots or free.
	Bass string
	// Ending is how the last phrase closes; SixFour puts a cadential six-four before
	// its dominant.
	Ending  string
	SixFour bool
	// Alternatives is how many voicings are wanted.
	Alternatives int
	// Density is how florid the result is to be, 0 plain to 1; Seed makes the choice
	// of decorations reproducible.
	Density float64
	Seed    uint64
	// Layout is open, closed or keyboard; "" is what suits the style.
	Layout string
	// Exercise asks for a sheet to write on as well, which shows a given line only;
	// "" for none.
	Exercise string
	// Annotate says what the sheets say about their chords.
	Annotate []string
	// Compare asks for all alternatives on one sheet, Levels for so many sheets from
	// plain to florid, 0 for none.
	Compare bool
	Levels  int
	// Reasons marks in the sheet of each voicing why the voices go where they go.
	Reasons bool
}

func (v *Voicing) fields() []Field {
	exercises := []string{Auto, GivesBass, GivesSoprano, GivesOuter}
	return []Field{
		styleField(&v.Style),
		text(&v.Bass, "bass", "given (inversions as written), roots, or free (as makes a good line)").
			or("given").oneOf("way to choose the bass", []string{"given", "roots", "free"}),
		text(&v.Gives, "gives", "what a score gives: auto, chords, bass, soprano, outer").
			or(Auto).oneOf("thing that a score gives", []string{Auto, GivesChords, GivesBass, GivesSoprano, GivesOuter}),
		text(&v.Key, "key", "key in which a score's chords are counted, such as g or Bb (default: those of its signatures)"),
		text(&v.Ending, "ending", "how it closes: given, perfect, imperfect, half, plagal, deceptive").
			or(voicing.AsGiven.String()).oneOf("ending", voicing.EndingNames()),
		yes(&v.SixFour, "six_four", "put a cadential six-four before the last dominant"),
		whole(&v.Alternatives, "alternatives", "how many voicings").or("1").between(1, mostVoicings),
		decimal(&v.Density, "density", "how florid: 0 plain to 1").between(0, 1),
		natural(&v.Seed, "seed", "seed of the decorations").or("1").between(0, 1<<53-1),
		text(&v.Layout, "layout", "open, closed or keyboard staves").oneOf("layout", []string{"open", "closed", "keyboard"}),
		text(&v.Title, "title", "title of the sheet").upTo(200),
		text(&v.Exercise, "exercise", "also write an exercise, which shows one given line and its figures or numerals: auto, bass, soprano, outer").
			oneOf("thing that an exercise shows", exercises),
		list(&v.Annotate, "annotate", "what the sheets say about chords, with commas between several: auto, none, numerals, figures, symbols").
			or(Auto).oneOf("kind of annotation", append([]string{Auto, "none"}, musicxml.LayerNames()...)),
		yes(&v.Compare, "compare", "write all alternatives on one sheet with their reasons, NAME.compared.musicxml (with --out)"),
		yes(&v.Reasons, "reasons", "mark in each sheet why the voices go where they go"),
		whole(&v.Levels, "levels", "write this many sheets from plain to florid, NAME.level-1.musicxml and so on (with --out)").between(2, mostLevels),
	}
}

// Voice asks for one progression to be voiced: a text, or a score that comes with it.
type Voice struct {
	// Progression is the text that [voicing.ReadProgression] reads; "" with a score.
	Progression string
	Rules
	Words
	Voicing
}

// Fields implements [Request].
func (v *Voice) Fields() []Field {
	fields := append([]Field{text(&v.Progression, "progression", "").flag("").upTo(MaxProgressionText).passing()}, v.sets()...)
	return append(append(fields, v.Words.fields()...), v.Voicing.fields()...)
}

// VoicePlan is what the engine does when it voices.
type VoicePlan struct {
	// Progression is the text to voice; "" with a score.
	Progression string
	Gives       string
	// Key is nil for the keys of the score.
	Key   *theory.Key
	Title string
	Style voicing.Style
	// Bass is given, roots or free.
	Bass    string
	Ending  voicing.Ending
	SixFour bool
	// Alternatives is at least 1.
	Alternatives int
	Density      float64
	Seed         uint64
	Layout       string
	// Exercise is what it shows, "" for none.
	Exercise string
	// Annotate is nil for what a sheet says by itself.
	Annotate *musicxml.Layers
	Compare  bool
	// Levels is 0 for none.
	Levels  int
	Reasons bool
	// RuleSet judges the result; Catalog has the sentences.
	RuleSet *partwriting.RuleSet
	Catalog *partwriting.Catalog
}

// Plan says what the engine is to do; an error is an [*Error].
func (v *Voice) Plan() (*VoicePlan, error) {
	set, err := v.set()
	if err != nil {
		return nil, err
	}
	catalog, err := v.catalog()
	if err != nil {
		return nil, err
	}
	p, err := v.Voicing.plan(set, catalog)
	if err == nil {
		p.Progression = v.Progression
	}
	return p, err
}

func (v *Voicing) plan(set *partwriting.RuleSet, catalog *partwriting.Catalog) (*VoicePlan, error) {
	ending, _ := voicing.ParseEnding(v.Ending) // one of the choices
	p := &VoicePlan{
		Gives: v.Gives, Title: v.Title, Style: styleOf(v.Style), Bass: v.Bass, Ending: ending, SixFour: v.SixFour,
		Alternatives: v.Alternatives, Density: v.Density, Seed: v.Seed, Layout: v.Layout, Exercise: v.Exercise,
		Compare: v.Compare, Levels: v.Levels, Reasons: v.Reasons, RuleSet: set, Catalog: catalog,
	}
	if v.Key != "" {
		key, err := theory.ParseKey(v.Key)
		if err != nil {
			return nil, &Error{"key", err}
		}
		p.Key = &key
	}
	if !slices.Equal(v.Annotate, []string{Auto}) {
		if len(v.Annotate) > 1 && (slices.Contains(v.Annotate, Auto) || slices.Contains(v.Annotate, "none")) {
			return nil, &Error{"annotate", errors.New("auto and none stand alone")}
		}
		chosen := layers(slices.DeleteFunc(slices.Clone(v.Annotate), func(s string) bool { return s == "none" }))
		p.Annotate = &chosen
	}
	if p.RuleSet == nil {
		p.RuleSet = partwriting.RuleSetByName(partwriting.DefaultRuleSet)
		if v.Style == "keyboard" {
			p.RuleSet = partwriting.RuleSetByName("keyboard")
		}
	}
	return p, nil
}
