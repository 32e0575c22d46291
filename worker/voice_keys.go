package worker

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker/request"
)

// keyStretch is a key from an onset on.
type keyStretch struct {
	key   theory.Key
	onset theory.Fraction
	// closes is set where it has a cadence of its own.
	closes bool
}

// keysOfChords are the keys in which raw chords are counted. A minor key whose tonic
// stands there in major alone is the major key with borrowed chords. Keys between two
// stretches of another belong to that one where they have no cadence of their own or are
// only touched: a degree is tonicized then. So do chords at the end that borrow from the
// parallel key and come home without a cadence. One chord at the beginning makes no key where
// the next, which has a cadence, has it too.
func keysOfChords(a *harmony.Analysis) []keyStretch {
	var out []keyStretch
	for i, area := range a.Keys {
		next := keyStretch{area.Key, area.Onset, cadences(a, &a.Keys[i]) && !touched(a, &a.Keys[i])}
		if borrows(a, &area) {
			next.key = theory.MajorKey(area.Key.Tonic)
		}
		n := len(out)
		for n > 0 && out[n-1].key != next.key && !out[n-1].closes {
			n--
		}
		if n > 0 && out[n-1].key == next.key {
			out[n-1].closes = out[n-1].closes || next.closes
			out = out[:n]
			continue
		}
		out = append(out, next)
	}
	if n := len(out); n > 1 && comesHome(a, &a.Keys[len(a.Keys)-1], out[n-2].key) {
		out = out[:n-1]
	}
	if len(out) > 1 && out[1].closes && a.Keys[0].First == a.Keys[0].Last && out[1].onset == a.Keys[1].Onset && within(a.Harmonies[0].Reading, out[1].key) {
		out[1].onset, out = out[0].onset, out[1:]
	}
	return out
}

// heedSignatures lets a key begin where its signature does: chords that lie between, in a
// key of neither signature and without a cadence there, belong to the two.
func heedSignatures(heard []keyStretch, frame []theory.Measure) []keyStretch {
	for m := 1; m < len(frame); m++ {
		was, is, at := int(frame[m-1].Key.Fifths), int(frame[m].Key.Fifths), frame[m].Onset
		first := slices.IndexFunc(heard, func(k keyStretch) bool { return !k.onset.Less(at) })
		if was == is || first < 1 {
			continue
		}
		i := first
		for i+1 < len(heard) && !heard[i].closes && heard[i].key.Signature() != is {
			i++
		}
		if heard[i].key.Signature() != is {
			continue
		}
		heard[i].onset = at
		if before := &heard[first-1]; first > 1 && !before.closes && before.key.Signature() != was {
			first--
		}
		heard = slices.Delete(heard, first, i)
	}
	return heard
}

// brief is how many chords a key has at most that is only touched.
const brief = 4

// touched reports whether a stretch says its tonic but once, among a few chords that end no
// phrase, or with no more than its dominant: a degree of the key around it is tonicized, as in
// V/vi vi or in a minor key's VII III (Hutchinson, Music Theory for the 21st-Century Classroom,
// ch. 29 and 31, on tonicization and modulation; how many chords is ours).
func touched(a *harmony.Analysis, area *harmony.KeyArea) bool {
	if area.Last-area.First >= brief {
		return false
	}
	tonics := 0
	for _, h := range a.Harmonies[area.First : area.Last+1] {
		if h.Numeral.IsTonic() {
			tonics++
		}
	}
	ends := slices.ContainsFunc(a.Phrases, func(p harmony.Phrase) bool { return area.Onset.Less(p.End) && !area.End.Less(p.End) })
	return tonics <= 1 && (!ends || area.Last-area.First < 2)
}

// comesHome reports whether the last stretch, which has no cadence of its own, is another
// key's: its last chord is that key's tonic, and its chords are that key's or its parallel's.
func comesHome(a *harmony.Analysis, area *harmony.KeyArea, home theory.Key) bool {
	last := a.Harmonies[area.Last]
	if cadences(a, area) || last.Root() != home.Tonic || home.Mode != theory.MajorMode || last.Quality() != harmony.MajorTriad {
		return false
	}
	minor := theory.Key{Tonic: home.Tonic, Mode: theory.MinorMode}
	for _, h := range a.Harmonies[area.First : area.Last+1] {
		if !within(h.Reading, home) && !within(h.Reading, minor) {
			return false
		}
	}
	return true
}

// within reports whether all notes of a chord are in the scale of a key.
func within(r harmony.Reading, key theory.Key) bool {
	scale := key.Scale()
	for m := range r.Size() {
		if !slices.Contains(scale[:], r.Member(m)) {
			return false
		}
	}
	return true
}

// hearable reports whether the labels alone say what the chords are and none names a key:
// chord symbols without notes, or figures over a bass.
func (t *task) hearable() bool {
	if t.key != nil || len(t.labels) == 0 || !t.named && t.gives != request.GivesBass {
		return false
	}
	return !slices.ContainsFunc(t.labels, func(l harmony.Annotation) bool { return l.Key != nil })
}

// hear finds the keys of chords that are named without notes. Figures count in the
// signature, so that over a bass the chords only tell which of its two keys is meant.
func (t *task) hear() {
	heard := keysOfChords(harmony.Analyze(t.progression.Sounding()))
	switch {
	case len(heard) == 0:
	case t.named:
		t.heard = heedSignatures(heard, t.doc.Score.Measures)
	case heard[0].key.Signature() == int(t.doc.Score.Measures[0].Key.Fifths):
		t.minor = heard[0].key.Mode == theory.MinorMode
	}
}

// borrows reports whether a stretch in minor has its tonic in major alone.
func borrows(a *harmony.Analysis, area *harmony.KeyArea) bool {
	major := false
	for _, h := range a.Harmonies[area.First : area.Last+1] {
		if area.Key.Mode != theory.MinorMode || h.Root() == area.Key.Tonic && h.Quality() == harmony.MinorTriad {
			return false
		}
		major = major || h.Root() == area.Key.Tonic && h.Quality() == harmony.MajorTriad
	}
	return major
}

// cadences reports whether a stretch has its dominant go to its tonic, both in root
// position.
func cadences(a *harmony.Analysis, area *harmony.KeyArea) bool {
	for i := area.First + 1; i <= area.Last; i++ {
		dominant, tonic := &a.Harmonies[i-1].Numeral, &a.Harmonies[i].Numeral
		if dominant.IsDominant() && dominant.Degree == 5 && dominant.Inversion == 0 && tonic.IsTonic() && tonic.Inversion == 0 {
			return true
		}
	}
	return false
}

// sayKeys says in which key block chords are read where their signature says another,
// and where the key changes. A sheet of such chords has the signature of their key.
func (t *task) sayKeys(catalog *partwriting.Catalog) []string {
	var out []string
	for i, stretch := range t.heard {
		m := t.doc.Score.MeasureAt(stretch.onset)
		switch {
		case i > 0:
			out = append(out, catalog.Phrase(partwriting.KeyChanges, "key", stretch.key, "measure", m.Label))
		case int(m.Key.Fifths) != stretch.key.Signature():
			out = append(out, catalog.Phrase(partwriting.KeyHeard, "key", stretch.key))
			t.sign(stretch.key.Signature())
		}
	}
	return out
}

// sign gives the measures the signature of the key that is heard, as far as the first
// one of the score goes.
func (t *task) sign(fifths int) {
	frame := slices.Clone(t.progression.Layout.Frame)
	written := frame[0].Key
	for i := range frame {
		if frame[i].Key != written {
			break
		}
		frame[i].Key.Fifths = int8(fifths) //nolint:gosec // -7 to 7 for keys that are heard
	}
	t.progression.Layout.Frame = frame
}
