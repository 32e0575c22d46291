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
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/report"
)

// addSheets writes the sheets beyond one for each voicing.
func (j *voicingJob) addSheets(ctx context.Context) error {
	if j.Exercise != "" {
		score, err := j.exercise()
		if err != nil {
			return err
		}
		j.answer.AddScore(answer.Exercise, 0, score)
	}
	if j.Compare {
		score, err := j.compare()
		if err != nil {
			return err
		}
		j.answer.AddScore(answer.Compared, 0, score)
	}
	if j.Levels > 0 {
		return j.addLevels(ctx)
	}
	return nil
}

// addLevels writes the stages from plain to florid, fewer where the phrase has room for
// fewer that differ.
func (j *voicingJob) addLevels(ctx context.Context) error {
	florid, err := j.decorate(ctx, 0, 1)
	if err != nil {
		return err
	}
	levels := j.Levels
	if most := florid.Steps() + 1; levels > most {
		levels = max(most, 1)
		j.report.Notices = append(j.report.Notices, j.Catalog.Phrase(partwriting.FewerLevels, "number", levels, "all", j.Levels))
	}
	for i := range levels {
		texture, added := florid.At(float64(i) / float64(max(levels-1, 1)))
		score, err := j.level(texture, added, j.Catalog.Phrase(partwriting.LevelOf, "number", i+1, "all", levels))
		if err != nil {
			return err
		}
		j.answer.AddScore(answer.Level, i, score)
	}
	return nil
}

// compare sets the alternatives one above the other with their numbers, the reasons for each
// change over them and the numerals under them. What distinguishes each stands in a key below
// the first measure, which begins at the left of the page in every layout.
func (j *voicingJob) compare() ([]byte, error) {
	var names, key []string
	var textures []*theory.Texture
	for i, s := range j.solutions {
		name := fmt.Sprint(i + 1)
		names = append(names, name)
		if said := j.distinction(s); said != "" {
			key = append(key, name+": "+said)
		}
		textures = append(textures, j.plain(i))
	}
	layout := sheet.Closed
	if j.keyboard() {
		layout = sheet.Keyboard
	}
	ways := partwriting.WaysToVoice
	if len(j.ways) > 0 {
		ways = partwriting.WaysToHarmonize
	}
	page := sheet.Sheet{Work: j.work, Title: j.title, Subtitle: j.subtitle(j.Catalog.Phrase(ways)), Texture: textures[0], Staves: sheet.Beneath(names, textures, layout), Sung: j.sung, IDs: j.ids()}
	reasons := j.reasonsKey(textures[0].Score)
	page.Below = []sheet.Label{{Text: strings.Join(append(key, reasons.Text), "\n")}}
	layers := j.layers(musicxml.Numerals)
	for i, s := range j.solutions {
		analysis := s.Harmony(textures[i], j.progression.Layout)
		each := len(page.Staves) / len(j.solutions)
		page.Staves[i*each].Above = j.reasons(j.explanations[i], analysis)
		if layers&musicxml.Numerals != 0 {
			page.Staves[(i+1)*each-1].Numerals = analysis.Harmonies
		}
		if layers&musicxml.Symbols != 0 {
			page.Staves[i*each].Symbols = analysis.Harmonies
		}
	}
	return writeSheet(&page)
}

// distinction says what distinguishes a voicing from the first, and what more it costs.
func (j *voicingJob) distinction(s *voicing.Solution) string {
	words := j.character(s)
	words = words[:min(len(words), mostDistinctions)]
	if s != j.solutions[0] && len(j.ways) == 0 { // what other chords cost says little
		words = append(words, report.CostsMore(s, j.solutions[0], j.Catalog))
	}
	return strings.Join(words, "; ")
}

// mostDistinctions keeps the lines few.
const mostDistinctions = 2

// tendencySigns say in signs what became of a note that must move; one that waits says
// nothing.
var tendencySigns = map[voicing.Tendency]struct {
	seventh bool
	moves   partwriting.Phrase
}{
	voicing.LeadingToneRises: {false, partwriting.GoesUp}, voicing.LeadingToneFalls: {false, partwriting.GoesDown},
	voicing.SeventhFalls: {true, partwriting.GoesDown}, voicing.SeventhStays: {true, partwriting.Stays},
}

// tendencySign is the sign of a tendency, "" for none.
func (j *voicingJob) tendencySign(t voicing.Tendency) string {
	sign, ok := tendencySigns[t]
	switch {
	case !ok:
		return ""
	case sign.seventh:
		return "7 " + j.Catalog.Phrase(sign.moves)
	}
	return j.Catalog.Phrase(partwriting.LeadingToneSign) + " " + j.Catalog.Phrase(sign.moves)
}

// reasonsKey explains the signs over the chords, at the foot of the sheet: under
// its last measure, where few numerals stand in the way.
func (j *voicingJob) reasonsKey(s *theory.Score) sheet.Label {
	var lines []string
	for _, p := range []partwriting.Phrase{partwriting.CommonToneKept, partwriting.AgainstTheBass, partwriting.LeadingToneKey, partwriting.SeventhSign} {
		lines = append(lines, j.Catalog.Phrase(p))
	}
	return sheet.Label{Onset: s.Measures[len(s.Measures)-1].Onset, Text: strings.Join(lines, "\n")}
}

// reasons says over each chord in few signs why it stands so: the voices that keep
// a common tone, or that all go against the bass where none can, and what became
// of notes that must move.
func (j *voicingJob) reasons(e *voicing.Explanation, a *harmony.Analysis) []sheet.Label {
	style := &j.problem.Style
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
			if sign := j.tendencySign(m.Tendency); sign != "" {
				words = append(words, name+" "+sign)
			}
		}
		switch {
		case kept != "":
			words = append(words, kept+" =")
		case against == upper:
			words = append(words, j.Catalog.Phrase(partwriting.AllAgainst))
		}
		if len(words) > 0 {
			out = append(out, sheet.Label{Onset: a.Harmonies[k+1].Onset, Text: strings.Join(words, "\n")})
		}
	}
	return out
}

// decorationSigns stand over added notes, and what they mean at the foot of the sheet.
var decorationSigns = map[harmony.NoteClass]string{
	harmony.Passing: "p", harmony.Neighbor: "n", harmony.Suspension: "sus", harmony.Anticipation: "ant", harmony.ChordTone: "c",
}

// subtitle begins with the title of the sheet: programs that show one of the two show the
// second.
func (j *voicingJob) subtitle(text string) string {
	if j.title == "" {
		return text
	}
	return j.title + ", " + text
}

// level writes one stage from plain to florid, each added note with its sign.
func (j *voicingJob) level(texture *theory.Texture, added []voicing.Decoration, subtitle string) ([]byte, error) {
	page := sheet.Sheet{Work: j.work, Title: j.title, Subtitle: j.subtitle(subtitle), Texture: texture, Staves: j.staves(texture), Sung: j.sung, IDs: j.ids()}
	j.annotate(&page, j.figured(musicxml.Numerals), j.solutions[0].Harmony(texture, j.progression.Layout))
	for _, d := range added {
		for s := range page.Staves {
			staff := &page.Staves[s]
			switch at := slices.Index(staff.Voices, d.Voice); {
			case at == 0:
				staff.Above = append(staff.Above, sheet.Label{Onset: d.Onset, Text: decorationSigns[d.Kind]})
			case at > 0:
				staff.Below = append(staff.Below, sheet.Label{Onset: d.Onset, Text: texture.Voices[d.Voice].Name + " " + decorationSigns[d.Kind]})
			}
		}
	}
	if len(added) > 0 {
		last := texture.Score.Measures[len(texture.Score.Measures)-1].Onset
		page.Below = append(page.Below, sheet.Label{Onset: last, Text: j.decorationsKey(added)})
	}
	return writeSheet(&page)
}

// decorationsKey explains the signs of the notes that were added, a line each: in one line
// they would be wider than most measures.
func (j *voicingJob) decorationsKey(added []voicing.Decoration) string {
	signs := map[string]bool{}
	for _, d := range added {
		signs[decorationSigns[d.Kind]] = true
	}
	lines := strings.Split(j.Catalog.Phrase(partwriting.DecorationKey), ", ")
	return strings.Join(slices.DeleteFunc(lines, func(line string) bool {
		sign, _, _ := strings.Cut(line, ":")
		return !signs[sign]
	}), "\n")
}

// writeSheet writes a sheet of voices that were made for a score or a progression.
func writeSheet(page *sheet.Sheet) ([]byte, error) {
	score, err := sheet.Write(page)
	var duration *sheet.DurationError
	if errors.As(err, &duration) {
		return nil, &RequestError{Problem: fmt.Sprintf("what was voiced cannot be written: %v; write the task in note values down to 64ths and triplets of them", err)}
	}
	return score, err
}
