package theory

import "testing"

func TestTimeSignatures(t *testing.T) {
	// Simple and compound metres: Schmidt-Jones, Understanding Basic Music Theory
	// (2013), section 1.2.4. The beat of a compound metre is a dotted note.
	tests := []struct {
		time           TimeSignature
		text           string
		measure, beat  string
		compound       bool
		strongest, mid string // offsets of strength 3 and 2, "" for none
	}{
		{TimeSignature{Beats: 4, BeatType: 4}, "4/4", "4", "1", false, "0", "2"},
		{TimeSignature{Beats: 3, BeatType: 4}, "3/4", "3", "1", false, "0", ""},
		{TimeSignature{Beats: 2, BeatType: 2}, "2/2", "4", "2", false, "0", ""},
		{TimeSignature{Beats: 4, BeatType: 2}, "4/2", "8", "2", false, "0", "4"},
		{TimeSignature{Beats: 3, BeatType: 8}, "3/8", "3/2", "1/2", false, "0", ""},
		{TimeSignature{Beats: 6, BeatType: 8}, "6/8", "3", "3/2", true, "0", ""},
		{TimeSignature{Beats: 9, BeatType: 8}, "9/8", "9/2", "3/2", true, "0", ""},
		{TimeSignature{Beats: 12, BeatType: 8}, "12/8", "6", "3/2", true, "0", "3"},
		{TimeSignature{Beats: 6, BeatType: 4}, "6/4", "6", "3", true, "0", ""},
		{TimeSignature{Beats: 5, BeatType: 4}, "5/4", "5", "1", false, "0", ""},
		{TimeSignature{Beats: 7, BeatType: 8, Groups: [8]uint8{2, 2, 3}}, "2+2+3/8", "7/2", "1/2", false, "0", "1"},
		{TimeSignature{Beats: 6, BeatType: 8, Groups: [8]uint8{3, 3}}, "3+3/8", "3", "1/2", false, "0", "3/2"},
		{TimeSignature{}, "senza misura", "0", "1", false, "0", ""},
	}
	for _, tt := range tests {
		m := tt.time
		if m.String() != tt.text || m.Measure().String() != tt.measure || m.Beat().String() != tt.beat || m.IsCompound() != tt.compound {
			t.Errorf("%v: measure %v, beat %v, compound %v; want %s, %s, %s, %v",
				m, m.Measure(), m.Beat(), m.IsCompound(), tt.text, tt.measure, tt.beat, tt.compound)
		}
		for text, want := range map[string]int{tt.strongest: 3, tt.mid: 2} {
			if text == "" {
				continue
			}
			if offset, _ := ParseFraction(text); m.Strength(offset) != want {
				t.Errorf("%v at %s has strength %d, want %d", m, text, m.Strength(offset), want)
			}
		}
		if got := m.BeatAt(m.Measure()); m.Measure().Sign() > 0 && got != m.Measure().Div(m.Beat()).Add(Whole(1)) {
			t.Errorf("%v ends on beat %v", m, got)
		}
	}
}

// What lies behind a beat is less than one, and the rest of the offset a beat of the measure.
func TestIntoBeat(t *testing.T) {
	for _, tt := range []struct {
		time         TimeSignature
		offset, want Fraction
	}{
		{TimeSignature{Beats: 4, BeatType: 4}, Frac(5, 4), Frac(1, 4)},
		{TimeSignature{Beats: 4, BeatType: 4}, Whole(3), Fraction{}},
		{TimeSignature{Beats: 6, BeatType: 8}, Whole(2), Frac(1, 2)},
		{TimeSignature{Beats: 2, BeatType: 2}, Whole(3), Whole(1)},
		{TimeSignature{}, Frac(7, 3), Frac(1, 3)},
	} {
		if got := tt.time.IntoBeat(tt.offset); got != tt.want {
			t.Errorf("offset %v in %v lies %v behind its beat, want %v", tt.offset, tt.time, got, tt.want)
		}
	}
}

func TestBeatAt(t *testing.T) {
	tests := []struct {
		beats, unit int32
		offset      Fraction
		beat        string
		strength    int
	}{
		{4, 4, Whole(0), "1", 3}, {4, 4, Frac(3, 2), "5/2", 0}, {4, 4, Whole(3), "4", 1},
		{6, 8, Frac(3, 2), "2", 1}, {6, 8, Frac(1, 2), "4/3", 0}, {2, 2, Whole(2), "2", 1},
		{3, 4, Frac(1, 3), "4/3", 0}, {3, 8, Frac(1, 2), "2", 1},
	}
	for _, tt := range tests {
		m := TimeSignature{Beats: tt.beats, BeatType: tt.unit}
		if got := m.BeatAt(tt.offset); got.String() != tt.beat || m.Strength(tt.offset) != tt.strength {
			t.Errorf("%v after %v: beat %v of strength %d, want %s, %d", m, tt.offset, got, m.Strength(tt.offset), tt.beat, tt.strength)
		}
	}
}
