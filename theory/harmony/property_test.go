package harmony

import (
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// transposed returns a texture an interval higher, its key signatures too.
func transposed(t *theory.Texture, by theory.Interval) *theory.Texture {
	fifths := theory.PitchClass{Step: theory.C}.Transpose(by).Fifths()
	score := *t.Score
	score.Measures = append([]theory.Measure(nil), t.Score.Measures...)
	for i := range score.Measures {
		score.Measures[i].Key.Fifths += int8(fifths)
	}
	voices := append([]theory.Voice(nil), t.Voices...)
	for v := range voices {
		voices[v].Notes = append([]theory.VoiceNote(nil), t.Voices[v].Notes...)
		for n := range voices[v].Notes {
			voices[v].Notes[n].Pitch = voices[v].Notes[n].Pitch.Transpose(by)
		}
	}
	return theory.NewTexture(&score, t.Layout, t.Found, voices)
}

// Transposing a score changes nothing but the key.
func TestTransposition(t *testing.T) {
	for _, interval := range []string{"m2", "M2", "-m3", "P4", "A4", "-P5"} {
		by, err := theory.ParseInterval(interval)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range progressions {
			texture := theorytest.Chords(p.music)
			a, b := Analyze(texture), Analyze(transposed(texture, by))
			if len(a.Harmonies) != len(b.Harmonies) {
				t.Errorf("%s up %s: %s became %s", p.source, interval, numerals(a), numerals(b))
				continue
			}
			for i := range a.Harmonies {
				want := a.Harmonies[i].Reading
				want.Key.Tonic = want.Key.Tonic.Transpose(by)
				if b.Harmonies[i].Reading != want {
					t.Errorf("%s up %s: harmony %d is %s, want %s", p.source, interval, i, b.Harmonies[i].Reading, want)
				}
			}
			for v := range a.Notes {
				for n := range a.Notes[v] {
					if a.Notes[v][n] != b.Notes[v][n] {
						t.Errorf("%s up %s: note %d of voice %d is %v, want %v", p.source, interval, n, v, b.Notes[v][n], a.Notes[v][n])
					}
				}
			}
		}
	}
}

// The best reading is the best: whatever stands second is not ahead of it, and
// no harmony overlaps the next.
func TestMarginsAndOrder(t *testing.T) {
	for _, p := range progressions {
		a := Analyze(theorytest.Chords(p.music))
		for i := range a.Harmonies {
			h := &a.Harmonies[i]
			if h.Confidence <= 0 || h.Confidence > 1 || h.Margin < 0 {
				t.Errorf("%s: %s has confidence %v and margin %v", p.source, h.Reading, h.Confidence, h.Margin)
			}
			if h.RunnerUp != nil && *h.RunnerUp == h.Reading {
				t.Errorf("%s: %s is its own runner-up", p.source, h.Reading)
			}
			if i > 0 && h.Onset.Less(a.Harmonies[i-1].End) {
				t.Errorf("%s: harmony %d begins before the one before ends", p.source, i)
			}
		}
	}
}

// The second pass must come to the same best score as the first.
func TestBothPassesAgree(t *testing.T) {
	for _, p := range progressions {
		texture := theorytest.Chords(p.music)
		piece := newPiece(texture, findPhrases(texture), models[ChoraleStyle]().weights, nil)
		l := newLattice(piece, models[ChoraleStyle]())
		l.forward()
		path, best := l.best()
		// Beside a reading that nobody has, the rival of every frame is the best itself.
		for i := range path {
			path[i].key = -1
		}
		b := newBackward(l, path, best)
		for f := range b.doubts {
			if got := b.doubts[f].rivals[0].score; got < best-0.01 || got > best+0.01 {
				t.Errorf("%s: forward %.3f, backward %.3f at frame %d", p.source, best, got, f)
			}
		}
		l.release()
	}
}

func TestSilence(t *testing.T) {
	a := Analyze(theory.NewTexture(&theory.Score{}, theory.NoVoices, "nothing", nil))
	if len(a.Harmonies)+len(a.Keys)+len(a.Cadences)+len(a.Phrases) != 0 {
		t.Errorf("an empty score has no harmony: %+v", a)
	}
	var text strings.Builder
	if err := a.WriteRomanText(&text, nil); err != nil {
		t.Error(err)
	}
	one := Analyze(theorytest.Chords("C4"))
	if len(one.Harmonies) > 1 {
		t.Errorf("one note is one harmony at most: %s", numerals(one))
	}
}

// Every entry of the tables has a name that the model knows, and a number.
func TestTables(t *testing.T) {
	for file, table := range map[string]string{"weights.tsv": weightsTable, "weights-free.tsv": freeWeights} {
		values := ParseTable(table)
		known := map[string]bool{}
		new(weights).named(func(name string, _ *float32) {
			known[name] = true
			if _, ok := values[name]; !ok {
				t.Errorf("%s lacks %q", file, name)
			}
		})
		for name := range values {
			if !known[name] {
				t.Errorf("%s has %q, which weighs nothing", file, name)
			}
		}
	}
	for file, table := range map[string]string{"counts.tsv": countsTable, "counts-free.tsv": freeCounts} {
		for i, line := range strings.Split(strings.TrimSpace(table), "\n") {
			if name, _, ok := strings.Cut(line, "\t"); !strings.HasPrefix(line, "#") && (!ok || name == "") {
				t.Errorf("%s line %d: %q", file, i+1, line)
			}
		}
		if n := len(ParseTable(table)); n < 1000 {
			t.Errorf("%s has %d counts, too few to be whole", file, n)
		}
	}
}

// Every numeral of the vocabularies is written so that it reads back the same.
func TestVocabularyReadsBack(t *testing.T) {
	for _, words := range models[ChoraleStyle]().habits.words {
		for _, n := range words.numerals {
			for inversion := range n.Quality.Size() {
				n.Inversion = int8(inversion)
				text := n.Text(words.mode)
				if got, err := ParseNumeral(text, words.mode); err != nil || words.find(got) != words.find(n) || got.Inversion != n.Inversion {
					t.Errorf("%s %v is written %q and reads back as %v (%v)", words.mode, n, text, got, err)
				}
			}
		}
	}
}
