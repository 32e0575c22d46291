package separation_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

// A phrase is four lines in the ranges of a choir, each line a list of measures
// of four quarters in the notation of theorytest.Score.
type phrase [4][]string

var letters = [7]string{"C", "D", "E", "F", "G", "A", "B"}

// randomPhrase makes lines that move by steps and small leaps and never cross:
// each stays in a band of its own.
func randomPhrase(r *rand.Rand, measures int) phrase {
	var p phrase
	for line, lowest := range [4]int{35, 30, 24, 16} { // E5 region, G4, A3, G2, in letters above C0
		at := lowest + r.IntN(4)
		for range measures {
			var words []string
			for left := 8; left > 0; { // in eighths
				length := min([]int{1, 2, 2, 2, 4}[r.IntN(5)], left)
				at = max(lowest, min(lowest+4, at+r.IntN(5)-2))
				words = append(words, fmt.Sprintf("%s%d*%d/2", letters[at%7], at/7, length))
				left -= length
			}
			p[line] = append(p[line], strings.Join(words, " "))
		}
	}
	return p
}

// as writes the phrase with the given heads, such as "W/1/2".
func (p phrase) as(heads ...string) []string {
	lines := make([]string, len(heads))
	for i, head := range heads {
		lines[i] = head + ": " + strings.Join(p[i], " | ")
	}
	return lines
}

func linesOf(t *testing.T, lines []string) string {
	t.Helper()
	texture := separation.FindVoices(theorytest.Score(lines...))
	checkLaws(t, texture)
	return strings.Join(voicesOf(texture), "\n")
}

func TestOrderOfPartsChangesNoVoice(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		lines := randomPhrase(r, 1+r.IntN(8)).as("I", "II", "III", "IV")
		want := linesOf(t, lines)
		shuffled := slices.Clone(lines)
		r.Shuffle(4, func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		if got := linesOf(t, shuffled); got != want {
			t.Fatalf("%s\nin another order gives\n%s\nnot\n%s", strings.Join(shuffled, "\n"), got, want)
		}
	}
}

func TestOpenAndClosedScoreGiveTheSameLines(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	layouts := [][]string{
		{"W/1/1", "W/1/2", "M/1/1", "M/1/2"},
		{"K/1/1", "K/1/2", "K/2/5", "K/2/6"},
		{"K/1/1", "K/1/2", "K/2/1", "K/2/2"},
		{"W/1/a", "W/1/b", "M/1/a", "M/1/b"},
		{"Soprano", "Alto", "M/1/1", "M/1/2"},
	}
	for range 100 {
		p := randomPhrase(r, 1+r.IntN(8))
		open := linesOf(t, p.as("I", "II", "III", "IV"))
		for _, heads := range layouts {
			if got := linesOf(t, p.as(heads...)); got != open {
				t.Fatalf("on %v\n%s\nin open score\n%s", heads, got, open)
			}
		}
	}
}

// Chords split by rank give the same lines as open score if all voices move
// together and none crosses.
func TestChordsGiveTheSameLinesAsOpenScore(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 100 {
		var lines, right, all []string
		chords := 1 + r.IntN(20)
		columns := make([][]string, 4)
		for line, lowest := range [4]int{35, 30, 24, 16} {
			at := lowest + r.IntN(5)
			for range chords {
				at = max(lowest, min(lowest+4, at+r.IntN(5)-2))
				columns[line] = append(columns[line], fmt.Sprintf("%s%d", letters[at%7], at/7))
			}
			lines = append(lines, fmt.Sprintf("Part %d: %s", line, strings.Join(columns[line], " ")))
		}
		for i := range chords {
			right = append(right, columns[0][i]+"+"+columns[2][i]+"+"+columns[1][i])
			all = append(all, right[i]+"+"+columns[3][i])
		}
		open := linesOf(t, lines)
		keyboard := linesOf(t, []string{"K/1/1: " + strings.Join(right, " "), "K/2/5: " + strings.Join(columns[3], " ")})
		block := linesOf(t, []string{"K: " + strings.Join(all, " ")})
		if keyboard != open || block != open {
			t.Fatalf("open score\n%s\nkeyboard\n%s\none staff\n%s", open, keyboard, block)
		}
	}
}

// transposed returns a copy of the score with every pitch moved.
func transposed(s *theory.Score, i theory.Interval) *theory.Score {
	moved := *s
	moved.Notes = slices.Clone(s.Notes)
	for n := range moved.Notes {
		if !moved.Notes[n].Flags.Has(theory.Rest) {
			moved.Notes[n].Pitch = moved.Notes[n].Pitch.Transpose(i)
			moved.Notes[n].Written = moved.Notes[n].Pitch
		}
	}
	return &moved
}

func TestTransposingTransposesTheVoicesOnly(t *testing.T) {
	intervals := []theory.Interval{
		theory.MinorSecond, theory.PerfectFifth, theory.MajorThird.Invert(), theory.PerfectOctave.Invert(), {Steps: 0, Semitones: 1},
	}
	r := rand.New(rand.NewPCG(9, 10))
	for range 200 {
		s := theorytest.Score(messyLines(r)...)
		i := intervals[r.IntN(len(intervals))]
		before, after := separation.FindVoices(s), separation.FindVoices(transposed(s, i))
		if len(before.Voices) != len(after.Voices) || before.Found != after.Found {
			t.Fatalf("%q became %q", before.Found, after.Found)
		}
		for v := range before.Voices {
			a, b := &before.Voices[v], &after.Voices[v]
			if a.Name != b.Name || len(a.Notes) != len(b.Notes) {
				t.Fatalf("voice %s with %d notes became %s with %d", a.Name, len(a.Notes), b.Name, len(b.Notes))
			}
			for n := range a.Notes {
				if !slices.Equal(a.Notes[n].IDs, b.Notes[n].IDs) || a.Notes[n].Pitch.Transpose(i) != b.Notes[n].Pitch {
					t.Fatalf("voice %s: %v at %v became %v", a.Name, a.Notes[n].Pitch, a.Notes[n].Onset, b.Notes[n].Pitch)
				}
			}
		}
	}
}

// messyLines writes what no editor would: chords of any size, rests, gaps and
// ties, layers that overlap, labels that change, notes on the other staff.
func messyLines(r *rand.Rand) []string {
	measures := 1 + r.IntN(6)
	var lines []string
	for part := range 1 + r.IntN(4) {
		for layer := range 1 + r.IntN(4) {
			staff := 1 + r.IntN(2)
			var written []string
			for range measures {
				var words []string
				for range r.IntN(6) {
					words = append(words, messyWord(r, staff))
				}
				written = append(written, strings.Join(words, " "))
			}
			lines = append(lines, fmt.Sprintf("P%d/%d/%d: %s", part, staff, layer+1, strings.Join(written, " | ")))
		}
	}
	return lines
}

func messyWord(r *rand.Rand, staff int) string {
	length := []string{"", "*1/2", "*2", "*1/3", "*3/2"}[r.IntN(5)]
	switch r.IntN(12) {
	case 0:
		return "r" + length
	case 1:
		return "h" + length
	case 2:
		return "-" + length
	case 3:
		return "[D5]"
	}
	var heads []string
	for range 1 + r.IntN(1+r.IntN(5)) {
		head := fmt.Sprintf("%s%d", letters[r.IntN(7)], 2+r.IntN(4))
		if r.IntN(8) == 0 && length == "" {
			head += "~"
		}
		if r.IntN(10) == 0 {
			head += map[int]string{1: "v", 2: "^"}[staff]
		}
		heads = append(heads, head)
	}
	return strings.Join(heads, "+") + length
}

func FuzzFindVoices(f *testing.F) {
	for seed := range uint64(20) {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, seed uint64) {
		checkLaws(t, separation.FindVoices(theorytest.Score(messyLines(rand.New(rand.NewPCG(seed, 0)))...)))
	})
}
