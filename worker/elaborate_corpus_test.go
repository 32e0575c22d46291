package worker

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
)

var (
	elaborations       = flag.Int("elaborations", 300, "how many published phrases are decorated and counted")
	elaborationsFolder = flag.String("elaborations-out", "", "folder for every fourteenth decorated phrase as MusicXML, with its numerals and signs for what was added")
)

// kindsCounted are the nonchord tones whose proportions an elaboration keeps.
var kindsCounted = []harmony.NoteClass{harmony.Passing, harmony.Suspension, harmony.Neighbor, harmony.Anticipation}

// countKinds adds the nonchord tones that the analysis finds in a texture.
func countKinds(counts map[harmony.NoteClass]int, a *harmony.Analysis) {
	for _, notes := range a.Notes {
		for _, n := range notes {
			counts[n.Class]++
		}
	}
}

// share is the part that a kind has of the kinds counted.
func share(counts map[harmony.NoteClass]int, kind harmony.NoteClass) float64 {
	all := 0
	for _, k := range kindsCounted {
		all += counts[k]
	}
	return float64(counts[kind]) / float64(max(all, 1))
}

// TestElaborationsKeepTheProportionsOfTheChorales decorates phrases of published
// chorale progressions (When in Rome corpus, CC BY-SA 4.0) and counts the kinds of
// nonchord tones by the analysis, which is not told the chords, beside the chorales
// edited by C. Sapp, counted in the same way. Each kind has its share within a third.
// The levels of a phrase grow strictly, and no pair of voices makes perfect fifths,
// octaves or unisons that the plain phrase has not.
func TestElaborationsKeepTheProportionsOfTheChorales(t *testing.T) {
	bach, ours := map[harmony.NoteClass]int{}, map[harmony.NoteClass]int{}
	known := map[harmony.NoteClass]int{}
	for i, path := range corpusFiles(t, "chorales-open", "*.mxl") {
		if i%3 == 0 {
			countKinds(bach, harmony.Analyze(readTexture(t, path)))
		}
	}
	random := rand.New(rand.NewPCG(5, 7))
	phrases, few, halves, beats, added := 0, 0, 0, 0.0, 0
	for _, phrase := range publishedPhrases(t, *elaborations) {
		problem := phrase.Problem(voicing.Chorale())
		s, err := voicing.Solve(problem)
		if err != nil {
			continue
		}
		phrases++
		florid := voicing.Decorate(problem, s, phrase.Layout, voicing.Elaboration{Density: 1, Seed: random.Uint64()})
		plain, _ := florid.At(0)
		if florid.Steps() < 3 {
			few++
		}
		halves += movingHalves(plain.Score, florid)
		last, before := 0, consecutivesIn(plain)
		for level := range 4 {
			texture, decorations := florid.At(float64(level) / 3)
			if level > 0 && florid.Steps() >= 3 && len(decorations) <= last {
				t.Errorf("phrase %d: level %d has %d decorations, the one before %d", phrases, level, len(decorations), last)
			}
			last = len(decorations)
			if n := consecutivesIn(texture); n > before {
				t.Errorf("phrase %d, level %d: %d perfect intervals in a row, %d when plain", phrases, level, n, before)
			}
		}
		texture, decorations := florid.At(1)
		if *elaborationsFolder != "" && phrases%14 == 0 {
			writeElaboration(t, phrases, texture, decorations, s.Harmony(texture, phrase.Layout))
		}
		countKinds(ours, harmony.Analyze(texture))
		added += len(decorations)
		beats += texture.Score.End().Float()
		for _, d := range decorations {
			known[d.Kind]++
			if d.Duration.Less(theory.Frac(1, 2)) { // quick notes by themselves stand out: common practice, no source
				t.Errorf("phrase %d: a note of %v quarters at %v among eighths", phrases, d.Duration, d.Onset)
			}
		}
	}
	t.Logf("%d phrases with fewer than three steps; a voice moves on %d of %.0f half beats", few, halves, beats)
	t.Logf("%d phrases, %d notes added in %.0f quarters, as meant %v", phrases, added, beats, known)
	for _, kind := range kindsCounted {
		theirs, own := share(bach, kind), share(ours, kind)
		t.Logf("%v: chorales %.1f %%, elaborations %.1f %%, as meant %.1f %%", kind, 100*theirs, 100*own, 100*share(known, kind))
		if own < theirs*2/3 || own > theirs*4/3 {
			t.Errorf("%v has %.1f %% of the notes, in the chorales %.1f %%", kind, 100*own, 100*theirs)
		}
	}
}

// writeElaboration writes a decorated phrase to look at: in closed score, what was added over
// or under its voice.
func writeElaboration(t *testing.T, number int, texture *theory.Texture, added []voicing.Decoration, a *harmony.Analysis) {
	t.Helper()
	page := sheet.Sheet{Title: fmt.Sprint("Elaboration ", number), Texture: texture, Staves: sheet.Closed(texture)}
	page.Staves[1].Numerals = a.Harmonies
	for _, d := range added {
		staff, label := &page.Staves[d.Voice/2], sheet.Label{Onset: d.Onset, Text: decorationSigns[d.Kind]}
		if d.Voice%2 == 0 {
			staff.Above = append(staff.Above, label)
		} else {
			staff.Below = append(staff.Below, label)
		}
	}
	data, err := sheet.Write(&page)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*elaborationsFolder, fmt.Sprintf("elaboration-%03d.musicxml", number)), data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// publishedPhrases are phrases of published analyses with at least six chords, spread
// over the corpus.
func publishedPhrases(t *testing.T, wanted int) []*voicing.Progression {
	t.Helper()
	files, err := filepath.Glob("../../shared/data/analyses/chorales/*.txt")
	if err != nil || len(files) == 0 {
		t.Skip("../shared/data/analyses is absent")
	}
	var out []*voicing.Progression
	for nth := 0; len(out) < wanted && nth < 12; nth++ {
		for _, file := range files {
			text, err := os.ReadFile(file) // #nosec G304 -- a file of the measuring data
			if err != nil {
				t.Fatal(err)
			}
			whole, err := voicing.ReadProgression(strings.ReplaceAll(string(text), "V9[b9]", "V7"))
			if err != nil {
				t.Fatal(err)
			}
			if all := phrasesOf(whole); nth < len(all) && len(all[nth].Chords) >= 6 && len(out) < wanted {
				out = append(out, all[nth])
			}
		}
	}
	return out
}

// consecutivesIn counts the perfect fifths, octaves and unisons in a row between two
// moving voices, from each moment to the next.
func consecutivesIn(x *theory.Texture) int {
	count := 0
	for i := 1; i < len(x.Moments); i++ {
		for u := range x.Voices {
			for l := u + 1; l < len(x.Voices); l++ {
				a, b := noteAt(&x.Voices[u], x.Moments[i-1].Onset), noteAt(&x.Voices[l], x.Moments[i-1].Onset)
				c, d := noteAt(&x.Voices[u], x.Moments[i].Onset), noteAt(&x.Voices[l], x.Moments[i].Onset)
				if a == nil || b == nil || c == nil || d == nil || a.Pitch == c.Pitch || b.Pitch == d.Pitch {
					continue
				}
				before, after := theory.Between(b.Pitch, a.Pitch), theory.Between(d.Pitch, c.Pitch)
				if before.IsPerfectFifth() && after.IsPerfectFifth() || before.IsPerfectOctave() && after.IsPerfectOctave() {
					count++
				}
			}
		}
	}
	return count
}

// movingHalves counts the quarters on whose second half a voice begins a note.
func movingHalves(s *theory.Score, f *voicing.Florid) int {
	texture, _ := f.At(1)
	count := 0
	for i := range texture.Moments {
		at := texture.Moments[i].Onset
		m := s.MeasureAt(at)
		if at.Sub(m.Onset).Add(m.Into).Mul(theory.Whole(2)).Den() == 1 && at.Sub(m.Onset).Add(m.Into).Den() == 2 {
			count++
		}
	}
	return count
}
