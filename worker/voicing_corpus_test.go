package worker

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/voicing"
)

// TestPublishedProgressionsAreVoiced voices the phrases of published analyses of
// chorales (When in Rome corpus, CC BY-SA 4.0), each in its own numerals. What is
// voiced is written as MusicXML, read again and judged by the rules; what has no
// voicing must have a fault in its least bad one too, or the solver would be
// stricter than the rules. Faults of the given progression itself (family
// progression) are none of the voicing's.
func TestPublishedProgressionsAreVoiced(t *testing.T) {
	if testing.Short() {
		t.Skip("voices every published analysis")
	}
	files, err := filepath.Glob("../../shared/data/analyses/chorales/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Skip("../shared/data/analyses is absent")
	}
	phrases, voiced, impossible, proved := 0, 0, 0, 0
	random := rand.New(rand.NewPCG(19, 23))
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		// Two labels of the corpus ask for a ninth; the program refuses them by name.
		whole, err := voicing.ReadProgression(strings.ReplaceAll(string(text), "V9[b9]", "V7"))
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(file), err)
			continue
		}
		for _, phrase := range phrasesOf(whole) {
			phrases++
			problem := phrase.Problem(voicing.Chorale())
			s, err := voicing.Solve(problem)
			var none *voicing.ImpossibleError
			if errors.As(err, &none) {
				if impossible%8 == 0 || *everyProof {
					proveImpossible(t, filepath.Base(file), phrase, voicing.Chorale(), random)
					proved++
				}
				impossible++
				search, err := voicing.NewSearch(t.Context(), problem)
				if err != nil {
					t.Fatal(err)
				}
				least, _ := search.LeastBad()
				if faults := leadingFaults(t, problem, phrase, least); len(faults) == 0 {
					t.Errorf("%s: the solver finds nothing before chord %d, the rules find no fault in its least bad voicing", filepath.Base(file), none.Slot+1)
				}
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			voiced++
			for _, f := range leadingFaults(t, problem, phrase, s) {
				t.Errorf("%s: %s at %v of a phrase", filepath.Base(file), f.Rule, f.Onset)
			}
		}
	}
	t.Logf("%d phrases: %d voiced without a fault, %d have no voicing without one, %d of them proved", phrases, voiced, impossible, proved)
}

// phrasesOf cuts a progression at its phrase ends.
func phrasesOf(p *voicing.Progression) []*voicing.Progression {
	var out []*voicing.Progression
	start := 0
	for i := range p.Chords {
		if !p.Chords[i].PhraseEnd && i < len(p.Chords)-1 {
			continue
		}
		phrase := &voicing.Progression{Chords: p.Chords[start : i+1]}
		phrase.Layout = voicing.Layout{Time: p.Layout.Time, Durations: p.Layout.Durations[start : i+1]}
		out, start = append(out, phrase), i+1
	}
	return out
}

// leadingFaults writes a solution, reads it back and returns its faults of
// leading and setting.
func leadingFaults(t *testing.T, problem *voicing.Problem, p *voicing.Progression, s *voicing.Solution) []partwriting.Finding {
	t.Helper()
	texture := s.Texture(&problem.Style, p.Layout)
	data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Open(texture)})
	if err != nil {
		t.Fatal(err)
	}
	doc, err := musicxml.Read("phrase.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	read := separation.FindVoices(doc.Score)
	var labels []harmony.Label
	for _, h := range s.Harmony(texture, p.Layout).Harmonies {
		labels = append(labels, harmony.Label{Onset: h.Onset, Reading: h.Reading})
	}
	return faultsOfLeading(partwriting.Check(read, harmony.Assume(read, labels), nil))
}

// faultsOfLeading leaves out what is the fault of the progression, and that phrases
// which modulate stand under the signature of their first key.
func faultsOfLeading(findings []partwriting.Finding) []partwriting.Finding {
	var out []partwriting.Finding
	for _, f := range findings {
		if f.Severity == partwriting.Fault && f.Family != partwriting.Progression && f.Rule != "misread" {
			out = append(out, f)
		}
	}
	return out
}
