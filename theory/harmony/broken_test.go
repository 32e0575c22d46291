package harmony

import "testing"

// Where the bass rises within a chord that is broken over it, the lower note goes on in the
// ear: the beats of the higher ones count as risen, those of a note below it do not (common
// practice, no source).
func TestBassOfBrokenChord(t *testing.T) {
	type note struct {
		member int8
		height int16 // in semitones
	}
	for _, tt := range []struct {
		name          string
		basses        []note // of a beat each
		raised, risen float32
		low           int8
	}{
		{"root, third, fifth upward", []note{{0, 24}, {1, 40}, {2, 43}}, 2, 2, 0},
		{"root and its octave", []note{{0, 24}, {0, 36}}, 0, 0, 0},
		{"third, then the root below it, then the fifth above both", []note{{1, 40}, {0, 24}, {2, 43}}, 1, 1, 0},
		{"downward", []note{{2, 43}, {1, 40}, {0, 36}}, 0, 0, 0},
		{"third, fifth above, root below, third again", []note{{1, 28}, {2, 31}, {0, 24}, {1, 28}}, 1, 1, 0},
	} {
		l := liveChord{bass: -1, low: -1}
		for _, b := range tt.basses {
			if l.bass < 0 {
				l.bass = b.member
			}
			l.hearBass(b.member, &frame{beats: 1, height: b.height})
		}
		if l.raised != tt.raised || l.risen != tt.risen || l.low != tt.low {
			t.Errorf("%s: %v beats above the first bass, %v above the lowest, which is member %d; want %v, %v, %d",
				tt.name, l.raised, l.risen, l.low, tt.raised, tt.risen, tt.low)
		}
	}
}
