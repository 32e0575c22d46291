package voicing

import (
	"testing"

	"partwright/theory"
)

// A given line may end after the last measure that the layout has, as where a document's
// last note is longer than its measure: it is written to its end.
func TestLinesMayEndAfterTheFrame(t *testing.T) {
	score := &theory.Score{Measures: []theory.Measure{{Length: theory.Whole(4)}, {Index: 1, Onset: theory.Whole(4), Length: theory.Whole(4)}}}
	n := write(score, 0, lineNote{pitch: theory.MustPitch("C3"), from: theory.Whole(3), to: theory.Whole(9)})
	if got := n.End(); got != theory.Whole(9) || len(n.IDs) != 3 {
		t.Errorf("it ends at %v in %d notes", got, len(n.IDs))
	}
	if last := score.Notes[2]; last.Onset != theory.Whole(8) || last.Duration != theory.Whole(1) {
		t.Errorf("what lies after the frame is at %v, %v long", last.Onset, last.Duration)
	}
}
