package request

import (
	"errors"
	"slices"
	"strings"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
	"partwright/worker/settings"
)

// Bounds on what one voicing can be asked for: the ways to voice it, the bytes of a
// progression as text, and the sheets from plain to florid.
const (
	mostVoicings       = 20
	mostLevels         = 6
	MaxProgressionText = 64 << 10
	longestDegrees     = 40
)

// What a score gives that is to be voiced, and what an exercise shows of it. Auto
// looks at the score.
const (
	Auto         = "auto"
	GivesChords  = "chords"
	GivesBass    = "bass"
	GivesSoprano = "soprano"
	// GivesUnfigured is a bass whose chords are to be chosen.
	GivesUnfigured = "unfigured"
	GivesOuter     = "outer"
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

// costsField is the field of a teacher's own weights.
func costsField(to *Source) Field {
	return file(to, settings.MaxBytes, "costs", "a .yaml or .json `file` with what moves cost, such as \"leap: 1\" (see theory/voicing/README.md)")
}

// styleOf is the texture of a name that is one of the choices, with a teacher's own
// weights, if there are some.
func styleOf(name string, costs Source) (voicing.Style, error) {
	style := voicing.Chorale()
	for _, s := range styles {
		if s.name == name {
			style = s.style()
		}
	}
	if costs.Text == "" {
		return style, nil
	}
	own, err := settings.ReadCosts(costs.Name, []byte(costs.Text))
	if err != nil {
		return style, &Error{"costs", err}
	}
	own.Apply(&style.Weights)
	return style, nil
}

// Voicing is what can be asked of a voicing, of one task or of many.
type Voicing struct {
	// Gives says what a score gives, Key the key in which its chords are counted, ""
	// for those of its signatures.
	Gives, Key string
	// Title stands at the head of the sheet.
	Title string
	// Style names a texture; Costs is a file with what its moves cost, "" for the
	// costs that it has.
	Style string
	Costs Source
	// Contour is the shape of the top line, Position how wide the upper voices stand.
	Contour, Position string
	// Harmony is which chords a melody may be given.
	Harmony string
	// Start and End are degrees of the scale that the top voice may begin and end on,
	// nil for any.
	Start, End []string
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
		costsField(&v.Costs),
		text(&v.Contour, "contour", "shape of the top line over a phrase: arch, rising, falling, steady, free").
			or(voicing.Arch.String()).oneOf("contour", voicing.ContourNames()),
		text(&v.Harmony, "harmony", "chords for a melody or a bass without figures: primary, diatonic, applied (dominants of other degrees too), chromatic").
			or(voicing.Applied.String()).oneOf("choice of chords", voicing.PaletteNames()),
		list(&v.Start, "start", "degree of the scale that the top voice begins on, such as 3; with commas between several").upTo(longestDegrees),
		list(&v.End, "end", "degree that the top voice ends on, such as 1 or #7").upTo(longestDegrees),
		text(&v.Position, "position", "how wide the upper voices stand: any, close, open").
			or(voicing.AnyPosition.String()).oneOf("position", voicing.PositionNames()),
		text(&v.Bass, "bass", "given (inversions as written), roots, or free (as makes a good line)").
			or("given").oneOf("way to choose the bass", []string{"given", "roots", "free"}),
		text(&v.Gives, "gives", "what a score gives: auto, chords, bass, unfigured (a bass whose chords are to be chosen), soprano, outer").
			or(Auto).oneOf("thing that a score gives", []string{Auto, GivesChords, GivesBass, GivesUnfigured, GivesSoprano, GivesOuter}),
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
	// IDs gives every note and measure of the sheets an id; Notes puts the notes of every
	// voice into the report.
	IDs, Notes bool
	// Decorations are the kinds of notes that may be added where it is florid, nil for all.
	Decorations []string
}

// decorations are the kinds of notes that can be added, by name.
var decorations = []harmony.NoteClass{harmony.Passing, harmony.Suspension, harmony.Neighbor, harmony.Anticipation, harmony.ChordTone}

func decorationNames() (names []string) {
	for _, kind := range decorations {
		names = append(names, kind.String())
	}
	return names
}

// kinds are the notes that may be added, nil for all.
func (v *Voice) kinds() (all []harmony.NoteClass) {
	for _, kind := range decorations {
		if slices.Contains(v.Decorations, kind.String()) {
			all = append(all, kind)
		}
	}
	return all
}

// Fields implements [Request].
func (v *Voice) Fields() []Field {
	fields := append([]Field{text(&v.Progression, "progression", "").flag("").upTo(MaxProgressionText).passing()}, v.sets()...)
	fields = append(append(fields, v.Words.fields()...), v.Voicing.fields()...)
	return append(fields, yes(&v.IDs, "ids", "").flag(""), yes(&v.Notes, "notes", "").flag(""),
		list(&v.Decorations, "decorations", "kinds of notes that may be added where it is florid, with commas between several: "+strings.Join(decorationNames(), ", ")+" (default: all)").
			oneOf("kind of decoration", decorationNames()))
}

// VoicePlan is what the engine does when it voices.
type VoicePlan struct {
	// Progression is the text to voice; "" with a score.
	Progression string
	Gives       string
	// Key is nil for the keys of the score.
	Key      *theory.Key
	Title    string
	Style    voicing.Style
	Contour  voicing.Contour
	Harmony  voicing.Palette
	Position voicing.Position
	// Start and End are what the top voice may begin and end on, nil for anything.
	Start, End []voicing.Degree
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
	// IDs and Notes are as in [Voice].
	IDs, Notes bool
	// Decorations are the kinds of notes that may be added, nil for all.
	Decorations []harmony.NoteClass
	// RuleSet judges the result; Catalog has the sentences.
	RuleSet *partwriting.RuleSet
	Catalog *partwriting.Catalog

	asked asked
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
		p.Progression, p.IDs, p.Notes, p.Decorations = v.Progression, v.IDs, v.Notes, v.kinds()
		own := *v
		p.asked.request = &own
	}
	return p, err
}

func (v *Voicing) plan(set *partwriting.RuleSet, catalog *partwriting.Catalog) (*VoicePlan, error) {
	// These are among the choices.
	ending, _ := voicing.ParseEnding(v.Ending)
	contour, _ := voicing.ParseContour(v.Contour)
	position, _ := voicing.ParsePosition(v.Position)
	harmony, _ := voicing.ParsePalette(v.Harmony)
	p := &VoicePlan{
		Gives: v.Gives, Title: v.Title, Contour: contour, Position: position, Harmony: harmony, Bass: v.Bass, Ending: ending, SixFour: v.SixFour,
		Alternatives: v.Alternatives, Density: v.Density, Seed: v.Seed, Layout: v.Layout, Exercise: v.Exercise,
		Compare: v.Compare, Levels: v.Levels, Reasons: v.Reasons, RuleSet: set, Catalog: catalog,
	}
	var err error
	if p.Style, err = styleOf(v.Style, v.Costs); err != nil {
		return nil, err
	}
	if p.Start, err = degrees("start", v.Start); err != nil {
		return nil, err
	}
	if p.End, err = degrees("end", v.End); err != nil {
		return nil, err
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

func degrees(field string, words []string) ([]voicing.Degree, error) {
	var out []voicing.Degree
	for _, w := range words {
		d, err := voicing.ParseDegree(w)
		if err != nil {
			return nil, &Error{field, err}
		}
		out = append(out, d)
	}
	return out, nil
}
