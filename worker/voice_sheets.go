package worker

import (
	"context"
	"fmt"
	"strings"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
)

// MaxLevels bounds the sheets from plain to florid that can be asked for.
const MaxLevels = 6

// addSheets writes the sheets beyond one for each alternative.
func (v *VoiceResult) addSheets(ctx context.Context, r *VoiceRequest, p *voicing.Progression, problem *voicing.Problem, solutions []*voicing.Solution, explanations []*voicing.Explanation) (err error) {
	if r.Levels != 0 && (r.Levels < 2 || r.Levels > MaxLevels) {
		return &RequestError{fmt.Sprintf("%d levels were asked for; 2 to %d can be had", r.Levels, MaxLevels)}
	}
	if r.Exercise != "" {
		if v.Exercise, err = exercise(r, p, problem, solutions[0]); err != nil {
			return err
		}
	}
	if r.Compare {
		if v.Compared, err = compare(r, p, problem, solutions, explanations); err != nil {
			return err
		}
	}
	for i := range r.Levels {
		if err := ctx.Err(); err != nil {
			return err
		}
		data, err := level(ctx, r, p, problem, solutions[0], float64(i)/float64(r.Levels-1))
		if err != nil {
			return err
		}
		v.Levels = append(v.Levels, data)
	}
	return nil
}

// compare sets the alternatives one above the other, the reasons for each change
// over them and the numerals under them.
func compare(r *VoiceRequest, p *voicing.Progression, problem *voicing.Problem, solutions []*voicing.Solution, explanations []*voicing.Explanation) ([]byte, error) {
	var names []string
	var textures []*theory.Texture
	for i, s := range solutions {
		names = append(names, fmt.Sprint(i+1))
		textures = append(textures, s.Texture(&problem.Style, p.Layout))
	}
	layout := sheet.Closed
	if problem.Style.MaxSpan > 0 {
		layout = sheet.Keyboard
	}
	page := sheet.Sheet{Title: r.Title, Subtitle: "Ways to voice it", Texture: textures[0], Staves: sheet.Beneath(names, textures, layout)}
	page.Below = []sheet.Label{reasonsKey(textures[0].Score)}
	layers, err := r.layers(musicxml.Numerals)
	if err != nil {
		return nil, err
	}
	for i, s := range solutions {
		analysis := s.Harmony(textures[i], p.Layout)
		each := len(page.Staves) / len(solutions)
		page.Staves[i*each].Above = append([]sheet.Label{{
			Onset: analysis.Harmonies[0].Onset, Text: costs(s, explanations[i], explanations[0]),
		}}, reasons(explanations[i], analysis, &problem.Style)...)
		if layers&musicxml.Numerals != 0 {
			page.Staves[(i+1)*each-1].Numerals = analysis.Harmonies
		}
		if layers&musicxml.Symbols != 0 {
			page.Staves[i*each].Symbols = analysis.Harmonies
		}
	}
	return sheet.Write(&page)
}

// tendencySigns say in a sign what became of a note that must move; one that waits
// says nothing.
var tendencySigns = map[voicing.Tendency]string{
	voicing.LeadingToneRises: "lt up", voicing.LeadingToneFalls: "lt down",
	voicing.SeventhFalls: "7 down", voicing.SeventhStays: "7 stays",
}

// reasonsKey explains the signs over the chords, at the foot of the sheet: under
// its last measure, where few numerals stand in the way.
func reasonsKey(s *theory.Score) sheet.Label {
	return sheet.Label{
		Onset: s.Measures[len(s.Measures)-1].Onset,
		Text:  "= common tone kept\ncontr.: all against the bass\nlt: leading tone\n7: seventh of the chord",
	}
}

// reasons says over each chord in few signs why it stands so: the voices that keep
// a common tone, or that all go against the bass where none can, and what became
// of notes that must move.
func reasons(e *voicing.Explanation, a *harmony.Analysis, style *voicing.Style) []sheet.Label {
	var out []sheet.Label
	for k := 0; k < len(e.Changes) && k+1 < len(a.Harmonies); k++ {
		moves := e.Changes[k].Moves
		kept, against, upper := "", 0, len(moves)-1
		var words []string
		for _, m := range moves {
			name := style.Voices[m.Voice].Name
			switch {
			case m.Kept && m.Voice < upper:
				kept += name
			case m.AgainstBass == theory.Contrary:
				against++
			}
			if sign := tendencySigns[m.Tendency]; sign != "" {
				words = append(words, name+" "+sign)
			}
		}
		switch {
		case kept != "":
			words = append(words, kept+" =")
		case against == upper:
			words = append(words, "contr.")
		}
		if len(words) > 0 {
			out = append(out, sheet.Label{Onset: a.Harmonies[k+1].Onset, Text: strings.Join(words, "\n")})
		}
	}
	return out
}

// decorationSigns stand over added notes.
var decorationSigns = map[harmony.NoteClass]string{
	harmony.Passing: "p", harmony.Neighbor: "n", harmony.Suspension: "sus", harmony.Retardation: "ret", harmony.Anticipation: "ant",
}

// level writes one stage from plain to florid, each added note with its sign.
func level(ctx context.Context, r *VoiceRequest, p *voicing.Progression, problem *voicing.Problem, s *voicing.Solution, density float64) ([]byte, error) {
	texture := s.Texture(&problem.Style, p.Layout)
	var added []voicing.Decoration
	if density > 0 {
		texture, added = voicing.Elaborate(problem, s, p.Layout, voicing.Elaboration{
			Voices: led(texture, &p.Layout), Density: density, Seed: r.Seed, RuleSet: r.RuleSet,
			Stop: stopWith(ctx),
		})
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	page := sheet.Sheet{
		Title: r.Title, Subtitle: fmt.Sprintf("Density %.2g", density), Texture: texture,
		Staves: sheet.Open(texture),
	}
	layers, err := r.layers(musicxml.Numerals)
	if err != nil {
		return nil, err
	}
	annotate(&page, layers, s.Harmony(texture, p.Layout))
	for _, d := range added {
		above := &page.Staves[d.Voice].Above
		*above = append(*above, sheet.Label{Onset: d.Onset, Text: decorationSigns[d.Kind]})
	}
	return sheet.Write(&page)
}
