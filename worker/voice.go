package worker

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
	"partwright/worker/report"
)

// VoiceRequest asks for a progression to be voiced.
type VoiceRequest struct {
	// Progression is the text that [voicing.ReadProgression] reads. A Score takes
	// its place: block chords, a bass line with figures, a melody with or without
	// chords named beside it.
	Progression string
	Score       *Input
	// Gives says what the score gives, see [ScoresGive]; "" is auto. Key is the key
	// in which its chords are counted, "" for those of its signatures.
	Gives string
	Key   string
	// Title stands at the head of the sheet.
	Title string
	// Style is the name of a texture, see [VoicingStyles]; "" is chorale.
	Style string
	// Bass is "given" (the inversions of the text), "roots" or "free"; "" is given.
	Bass string
	// Ending is how the last phrase closes, see [voicing.EndingNames]; "" is given.
	// SixFour puts a cadential six-four before its dominant.
	Ending  string
	SixFour bool
	// Alternatives is how many voicings are wanted, 1 to [MaxAlternatives]; 0 is 1.
	Alternatives int
	// Density is how florid the result is to be, 0 plain to 1; Seed makes the
	// choice of decorations reproducible.
	Density float64
	Seed    uint64
	// Layout is "open", "closed" or "keyboard"; "" is what suits the style.
	Layout string
	// Exercise asks for a sheet to write on as well, which shows a given line only,
	// see [ExerciseVoices]; "" for none.
	Exercise string
	// Annotate says what the sheets say about their chords, see [SheetAnnotations],
	// with commas between several layers; "" is auto.
	Annotate string
	// Compare asks for all alternatives on one sheet, Levels for so many sheets
	// from plain to florid, 2 to [MaxLevels]; 0 for none.
	Compare bool
	Levels  int
	// Reasons marks in the sheet of each voicing why the voices go where they go.
	Reasons bool
	// RuleSet judges the result; nil is that of the style: keyboard for the
	// keyboard, else the default set.
	RuleSet *partwriting.RuleSet
	// symbols is set where the score names its chords with symbols.
	symbols bool
}

// MaxAlternatives bounds what one request may ask for; MaxProgression the chords
// of one progression, MaxProgressionText its bytes as text.
const (
	MaxAlternatives    = 20
	MaxProgression     = 500
	MaxProgressionText = 64 << 10
)

// VoiceResult is the answer to a [VoiceRequest].
type VoiceResult struct {
	Report *report.Voicing
	// Sheets holds a MusicXML document for each alternative, Textures its music.
	Sheets   [][]byte
	Textures []*theory.Texture
	// Exercise is the sheet to write on; nil unless asked for.
	Exercise []byte
	// Compared holds all alternatives one above the other, with the reasons for
	// every change; nil unless asked for.
	Compared []byte
	// Levels are sheets of the first alternative from plain to florid, as many as
	// were asked for.
	Levels [][]byte
}

// Sheet is the one document that answers a request: the exercise or the sheet that
// compares where one was asked for, else the first voicing.
func (v *VoiceResult) Sheet() []byte {
	switch {
	case v.Exercise != nil:
		return v.Exercise
	case v.Compared != nil:
		return v.Compared
	}
	return v.Sheets[0]
}

// RequestError says what is wrong with a request; it is the caller's to mend.
type RequestError struct{ Problem string }

// Error returns the problem.
func (e *RequestError) Error() string { return e.Problem }

var styles = map[string]func() voicing.Style{
	"chorale":      voicing.Chorale,
	"keyboard":     voicing.Keyboard,
	"three-voices": voicing.ThreeVoices,
	"five-voices":  voicing.FiveVoices,
}

// VoicingStyles lists the names of the textures that can be asked for.
func VoicingStyles() []string { return []string{"chorale", "keyboard", "three-voices", "five-voices"} }

// styleNamed returns the texture of that name, the chorale for "".
func styleNamed(name string) (voicing.Style, error) {
	if name == "" {
		name = "chorale"
	}
	style, ok := styles[name]
	if !ok {
		return voicing.Style{}, &RequestError{fmt.Sprintf("%q is no style; choose one of %s", name, strings.Join(VoicingStyles(), ", "))}
	}
	return style(), nil
}

// Voice voices a progression. A request that cannot be met is a
// [*RequestError], a [*voicing.ProgressionError] or a
// [*voicing.ImpossibleError]; once ctx is done the work ends with its error.
func (e *Engine) Voice(ctx context.Context, r VoiceRequest) (*VoiceResult, error) {
	progression, problem, err := e.problem(&r)
	if err != nil {
		return nil, err
	}
	if r.RuleSet == nil && r.Style == "keyboard" {
		r.RuleSet = partwriting.RuleSetByName("keyboard")
	}
	search, err := voicing.NewSearch(ctx, problem)
	if err != nil {
		return nil, err
	}
	solutions, err := search.Alternatives(ctx, max(r.Alternatives, 1))
	broken := 0
	var impossible *voicing.ImpossibleError
	if errors.As(err, &impossible) {
		var least *voicing.Solution
		least, broken = search.LeastBad()
		solutions, err = []*voicing.Solution{least}, nil
	}
	if err != nil {
		return nil, err
	}
	result := &VoiceResult{Report: report.NewVoicing(e.Version, progression, problem, impossible, broken)}
	var explanations []*voicing.Explanation
	for _, s := range solutions {
		explanation, err := search.Explain(ctx, s)
		if err != nil {
			return nil, err
		}
		explanations = append(explanations, explanation)
		if err := result.add(ctx, &r, progression, problem, s, explanation); err != nil {
			return nil, err
		}
	}
	return result, result.addSheets(ctx, &r, progression, problem, solutions, explanations)
}

func (e *Engine) problem(r *VoiceRequest) (*voicing.Progression, *voicing.Problem, error) {
	if r.Alternatives < 0 || r.Alternatives > MaxAlternatives {
		return nil, nil, &RequestError{fmt.Sprintf("%d alternatives were asked for; 1 to %d can be had", r.Alternatives, MaxAlternatives)}
	}
	if !(r.Density >= 0 && r.Density <= 1) {
		return nil, nil, &RequestError{"the density must lie between 0 (plain) and 1 (florid)"}
	}
	if r.Exercise != "" && !slices.Contains(ExerciseVoices(), r.Exercise) {
		return nil, nil, &RequestError{fmt.Sprintf("%q is nothing that an exercise shows; choose one of %s", r.Exercise, strings.Join(ExerciseVoices(), ", "))}
	}
	style, err := styleNamed(r.Style)
	if err != nil {
		return nil, nil, err
	}
	p, err := e.readProgression(r)
	if err != nil {
		return nil, nil, err
	}
	if len(p.Chords) > MaxProgression {
		return nil, nil, &RequestError{fmt.Sprintf("the progression has %d chords; at most %d are voiced at once", len(p.Chords), MaxProgression)}
	}
	if err := r.close(p); err != nil {
		return nil, nil, err
	}
	problem := p.Problem(style)
	return p, problem, chooseBass(problem, r.Bass)
}

// readProgression reads the text, or the score in its place.
func (e *Engine) readProgression(r *VoiceRequest) (*voicing.Progression, error) {
	switch {
	case r.Score != nil:
		return e.readTask(r)
	case r.Gives != "" || r.Key != "":
		return nil, &RequestError{"a text says itself what it gives and in which key; leave these options to scores"}
	case len(r.Progression) > MaxProgressionText:
		return nil, &RequestError{fmt.Sprintf("the progression has %d bytes; at most %d are read", len(r.Progression), MaxProgressionText)}
	}
	return voicing.ReadProgression(r.Progression)
}

// close gives the progression its ending.
func (r *VoiceRequest) close(p *voicing.Progression) error {
	ending, ok := voicing.ParseEnding(r.Ending)
	if !ok {
		return &RequestError{fmt.Sprintf("%q is no ending; choose one of %s", r.Ending, strings.Join(voicing.EndingNames(), ", "))}
	}
	err := p.End(ending)
	if err == nil && r.SixFour {
		err = p.SixFour()
	}
	var cannot *voicing.EndingError
	if errors.As(err, &cannot) {
		return &RequestError{cannot.Problem}
	}
	return err
}

// chooseBass settles the inversions: as they are given, all roots, or free. What
// its bass note makes it (a cadential six-four, an augmented sixth) stays so, a free
// line still ends its phrases as they are given, and given notes stay.
func chooseBass(p *voicing.Problem, way string) error {
	switch way {
	case "", "given":
		return nil
	case "roots", "free":
	default:
		return &RequestError{fmt.Sprintf("%q is no way to choose the bass; use %s", way, strings.Join(BassWays(), ", "))}
	}
	for k := range p.Slots {
		slot := &p.Slots[k]
		reading := slot.Choices[0].Reading
		switch {
		case bassGiven(slot, p), len(slot.Choices) > 1:
		case reading.Numeral.Cadential, reading.Quality().IsAugmentedSixth():
		case way == "roots":
			slot.Choices[0].Reading.Numeral.Inversion = 0
		case k < len(p.Slots)-1 && !slot.PhraseEnd:
			slot.Choices = voicing.Inversions(reading).Choices
		}
	}
	return nil
}

// bassGiven reports whether the note of the lowest voice is given.
func bassGiven(slot *voicing.Slot, p *voicing.Problem) bool {
	n := len(p.Style.Voices)
	return len(slot.Fixed) >= n && slot.Fixed[n-1] != nil
}

// BassWays lists the ways to choose the bass.
func BassWays() []string { return []string{"given", "roots", "free"} }

// stopWith says when work that asks between its tries is to end.
func stopWith(ctx context.Context) func() bool {
	return func() bool { return ctx.Err() != nil }
}

// add writes one solution into the result.
func (v *VoiceResult) add(ctx context.Context, r *VoiceRequest, p *voicing.Progression, problem *voicing.Problem, s *voicing.Solution, explanation *voicing.Explanation) error {
	texture := s.Texture(&problem.Style, p.Layout)
	var added []voicing.Decoration
	if r.Density > 0 {
		texture, added = voicing.Elaborate(problem, s, p.Layout, voicing.Elaboration{
			Voices: led(texture, &p.Layout), Density: r.Density, Seed: r.Seed, RuleSet: r.RuleSet,
			Stop: stopWith(ctx),
		})
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	analysis := s.Harmony(texture, p.Layout)
	page := sheet.Sheet{Title: r.Title, Texture: texture}
	var err error
	if page.Staves, err = staves(r, texture); err != nil {
		return err
	}
	layers, err := r.layers(musicxml.Numerals)
	if err != nil {
		return err
	}
	annotate(&page, layers, analysis)
	if r.Reasons {
		page.Above = reasons(explanation, analysis, &problem.Style)
		page.Below = append(page.Below, reasonsKey(texture.Score))
	}
	data, err := sheet.Write(&page)
	if err != nil {
		return err
	}
	v.Report.Alternatives = append(v.Report.Alternatives, report.NewAlternative(problem, s, explanation, texture, analysis, added, r.RuleSet))
	v.Sheets, v.Textures = append(v.Sheets, data), append(v.Textures, texture)
	return nil
}

// led are the voices that the chords lead: all but lines that are given.
func led(t *theory.Texture, l *voicing.Layout) []int {
	out := []int{}
	for v := range t.Voices {
		if !(v == 0 && l.Top != nil || v == len(t.Voices)-1 && l.Bass != nil) {
			out = append(out, v)
		}
	}
	return out
}
