package partwriting_test

import (
	"fmt"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Every fix that is offered removes its finding and brings no new fault.
func TestFixesMend(t *testing.T) {
	offered := 0
	for _, music := range everyExample() {
		texture := theorytest.Chords(music)
		analysis := harmony.Analyze(texture)
		findings := partwriting.Check(texture, analysis, nil)
		partwriting.NewPassage(texture, analysis, nil).SuggestFixes(findings, partwriting.FixOptions{})
		before := places(findings)
		for i := range findings {
			f := &findings[i]
			for _, fix := range f.Fixes {
				offered++
				changed := partwriting.Apply(texture, fix)
				after := partwriting.Check(changed, harmony.Analyze(changed), nil)
				for place, severity := range places(after) {
					if place == placeOf(f) {
						t.Errorf("%s\n%s is still there after %v", music, place, fix)
					}
					if severity == partwriting.Fault && before[place] != partwriting.Fault {
						t.Errorf("%s\n%s is new after %v", music, place, fix)
					}
				}
			}
		}
	}
	if offered < 20 {
		t.Errorf("only %d fixes offered over all examples", offered)
	}
}

func TestFixTakesTheSmallestWay(t *testing.T) {
	texture := theorytest.Chords("C: I C3 G3 E4 C5 | ii D3 A3 F4 A4")
	findings := partwriting.Check(texture, nil, nil)
	partwriting.NewPassage(texture, nil, nil).SuggestFixes(findings, partwriting.FixOptions{PerFinding: 1})
	if findings[0].Rule != "parallel-fifths" || len(findings[0].Fixes) != 1 {
		t.Fatalf("%+v", findings)
	}
	edit := findings[0].Fixes[0].Edits[0]
	if edit.To.Class() == texture.Voices[edit.Note.Voice].Notes[edit.Note.Note].Pitch.Class() {
		t.Errorf("the note only changes its octave: %v", edit)
	}
	if original := theorytest.Chords("C: I C3 G3 E4 C5 | ii D3 A3 F4 A4"); fmt.Sprint(original.Voices) != fmt.Sprint(texture.Voices) {
		t.Error("looking for fixes has changed the texture")
	}
}

func places(findings []partwriting.Finding) map[string]partwriting.Severity {
	m := map[string]partwriting.Severity{}
	for i := range findings {
		m[placeOf(&findings[i])] = findings[i].Severity
	}
	return m
}

func placeOf(f *partwriting.Finding) string { return fmt.Sprint(f.Rule, f.Voices, f.Onset) }

// What is judged by the measures around a change is what the whole says.
func TestLocalFixesAreThoseOfTheWhole(t *testing.T) {
	judged := 0
	for _, music := range everyExample() {
		texture := theorytest.Chords(music)
		analysis := harmony.Analyze(texture)
		findings := partwriting.Check(texture, analysis, nil)
		judged += len(findings)
		local, whole := bothSearches(t, texture, analysis, findings)
		for i := range findings {
			if got, want := fmt.Sprint(local[i].Fixes), fmt.Sprint(whole[i].Fixes); got != want {
				t.Errorf("%s\n%s: %s by the measures around, %s by the whole", music, placeOf(&findings[i]), got, want)
			}
		}
	}
	if judged < 50 {
		t.Errorf("only %d findings", judged)
	}
}

func bothSearches(t *testing.T, texture *theory.Texture, a *harmony.Analysis, findings []partwriting.Finding) (local, whole []partwriting.Finding) {
	local, whole = slices.Clone(findings), slices.Clone(findings)
	p := partwriting.NewPassage(texture, a, nil)
	p.SuggestFixes(local, partwriting.FixOptions{})
	p.SuggestFixes(whole, partwriting.FixOptions{Whole: true})
	return local, whole
}

// Asked for one finding, the search leaves all others alone and finds for that one what
// it finds among all.
func TestFixesForOneFinding(t *testing.T) {
	texture := theorytest.Chords("C: I C3 G3 E4 C5 | ii D3 A3 F4 D5 | iii E3 B3 G4 E5")
	p := partwriting.NewPassage(texture, harmony.Analyze(texture), nil)
	all, one := p.Check(), p.Check()
	if len(all) < 3 {
		t.Fatalf("only %d findings", len(all))
	}
	p.SuggestFixes(all, partwriting.FixOptions{})
	looked, of := p.SuggestFixes(one, partwriting.FixOptions{Only: 2})
	if looked != 1 || of != 1 {
		t.Errorf("looked at %d of %d findings, want one", looked, of)
	}
	for i := range one {
		want := fmt.Sprint([]partwriting.Fix(nil))
		if i == 1 {
			want = fmt.Sprint(all[1].Fixes)
		}
		if got := fmt.Sprint(one[i].Fixes); got != want {
			t.Errorf("finding %d has the fixes %s, want %s", i+1, got, want)
		}
	}
}
