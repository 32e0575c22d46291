package worker

import (
	"path/filepath"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// TestBassAnOctaveLow lowers the bass of every chorale by an octave: in at least 175 of 186
// it is said, and of no chorale as it is. All lie where Bach wrote them (Sapp's and
// Hentschel's editions), so that none stands an octave away.
func TestBassAnOctaveLow(t *testing.T) {
	saysSo := func(texture *theory.Texture) bool {
		return slices.ContainsFunc(partwriting.Check(texture, harmony.Analyze(texture), nil), func(f partwriting.Finding) bool {
			return f.Problem == partwriting.OctaveAway
		})
	}
	all, found := 0, 0
	for _, folder := range []string{"chorales-open", "chorales-closed"} {
		files, _ := filepath.Glob(filepath.Join(measuringData(t, folder), "*.mxl"))
		for _, file := range files {
			texture := voicesOf(t, file)
			if saysSo(texture) {
				t.Errorf("%s is said to be an octave away", filepath.Base(file))
			}
			if folder != "chorales-open" {
				continue
			}
			all++
			voices := slices.Clone(texture.Voices)
			bass := &voices[len(voices)-1]
			bass.Notes = slices.Clone(bass.Notes)
			for i := range bass.Notes {
				bass.Notes[i].Pitch.Octave--
			}
			if saysSo(theory.NewTexture(texture.Score, texture.Layout, texture.Found, voices)) {
				found++
			}
		}
	}
	if found*186 < all*175 {
		t.Errorf("a bass an octave low is found in %d of %d chorales", found, all)
	}
	t.Logf("%d of %d", found, all)
}
