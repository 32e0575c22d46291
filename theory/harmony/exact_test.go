package harmony

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// unpruned is the built-in model with a search that gives up nothing.
func unpruned() *Model {
	m := *models[ChoraleStyle]()
	m.widths = widths{path: 1e6, chord: 1e6, glance: 1e6}
	return &m
}

// scoreOf returns the score of the best path and the path itself.
func scoreOf(t *theory.Texture, m *Model) (float32, []choice) {
	p := newPiece(t, findPhrases(t), m.weights, nil)
	p.listen(m.net)
	l := newLattice(p, m)
	defer l.release()
	l.forward()
	path, score := l.best()
	return score, path
}

// randomPiece makes chords of random members of random chords in a random key,
// with a foreign note here and there: music that no rule of ours shaped.
func randomPiece(r *rand.Rand, chords int) string {
	steps := []string{"C", "D", "E", "F", "G", "A", "B", "F#", "Bb", "G#", "C#", "Eb"}
	var b strings.Builder
	for i := range chords {
		if i > 0 {
			b.WriteString(" | ")
		}
		root := r.IntN(7)
		for voice, octave := range []int{3, 3, 4, 5} {
			step := steps[(root+2*r.IntN(3+r.IntN(2)))%7]
			if r.IntN(8) == 0 {
				step = steps[r.IntN(len(steps))]
			}
			if voice > 0 {
				b.WriteString(" ")
			}
			fmt.Fprintf(&b, "%s%d", step, octave)
		}
	}
	return b.String()
}

// What the search gives up changes nothing: a search that gives up nothing comes
// to the same score, on printed progressions and on pieces made at random.
func TestPruningChangesNothing(t *testing.T) {
	var pieces []string
	for _, p := range progressions {
		pieces = append(pieces, p.music)
	}
	r := rand.New(rand.NewPCG(1, 2))
	for range 150 {
		pieces = append(pieces, randomPiece(r, 4+r.IntN(8)))
	}
	whole := unpruned()
	for _, music := range pieces {
		texture := theorytest.Chords(music)
		quick, _ := scoreOf(texture, models[ChoraleStyle]())
		slow, _ := scoreOf(texture, whole)
		if quick < slow-1e-3 || quick > slow+1e-3 {
			t.Errorf("%s:\nscore %.3f with pruning, %.3f without", music, quick, slow)
		}
	}
}
