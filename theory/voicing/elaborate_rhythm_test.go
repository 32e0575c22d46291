package voicing

import (
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

// rhythmic are rows of chords a beat each.
var rhythmic = []string{
	"C: I V6 I IV V7 vi ii6 V7 I", "C: I vi IV V I vi ii6 V7 I", "a: i iv V i VI iv V i", "G: I V6 vi IV I6 ii6 V I",
	"D: I IV I V I6 IV V7 I", "F: I V I IV ii V I", "Bb: I ii6 V I || IV V7 vi IV V I", "e: i V6 i iv V VI iio6 V i",
}

// A note that repeats the one before and moves on after half a beat is mostly held over from
// it, as a dotted note (in the voice parts of 77 songs of the OpenScore Lieder Corpus 307 of
// 343 are). Syncopations, which begin off the beat and last over the next one, stand in the
// inner voices (361 of 409 in the odd chorales edited by C. Sapp). A held note belongs to the
// chord that it is held into, unless it resolves down by step as a suspension does; nothing is
// held over the end of a phrase, and nothing but a suspension delays its last chord, or stands on
// a strong beat in the bass in place of its note (common practice, no source).
func TestDottedAndSyncopatedNotes(t *testing.T) {
	var heard rhythms
	for at := range 160 {
		text := rhythmic[at%len(rhythmic)]
		progression, err := ReadProgression(text)
		if err != nil {
			t.Fatal(err)
		}
		p := progression.Problem(Chorale())
		s, err := Solve(p)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		florid, added := Elaborate(p, s, progression.Layout, Elaboration{Density: 1, Seed: uint64(at)})
		for _, d := range added {
			if d.Voice == 3 && d.Kind == harmony.Passing && d.Onset.Mul(theory.Frac(1, 2)).Den() == 1 {
				t.Errorf("%s: a passing note in the bass on the strong beat %v", text, d.Onset)
			}
		}
		for v := range florid.Voices {
			notes := florid.Voices[v].Notes
			for i := range notes {
				if over := s.beatWithin(&notes[i]); over > 0 {
					heard.held(t, text, s, v, over, notes[i:])
				} else if i > 0 {
					heard.again(s, &notes[i-1], &notes[i])
				}
			}
		}
	}
	t.Logf("%+v", heard)
	if share := 100 * heard.dotted / max(heard.dotted+heard.struck, 1); share < 80 || share > 97 || heard.syncopated < 10 {
		t.Errorf("%+v", heard)
	}
}

// rhythms counts notes that are held over a beat or struck again on it.
type rhythms struct{ dotted, struck, syncopated int }

// held counts a note of a voice that sounds on into a chord, and what comes after it.
func (r *rhythms) held(t *testing.T, text string, s *Solution, voice, over int, notes []theory.VoiceNote) {
	t.Helper()
	n, chord := &notes[0], &s.Chords[over]
	resolves := len(notes) > 1 && theory.Between(n.Pitch, notes[1].Pitch).Steps == -1
	onBeat := n.Onset.Den() == 1
	switch {
	case s.Chords[over-1].PhraseEnd:
		t.Errorf("%s: %v in voice %d is held over the end of a phrase at %d", text, n.Pitch, voice, over)
	case chord.Reading.MemberOf(n.Pitch.Class()) < 0 && !resolves:
		t.Errorf("%s: %v in voice %d is held into chord %d, which has it not, and does not resolve", text, n.Pitch, voice, over)
	case chord.Pitches[voice] != n.Pitch: // a suspension
	case !onBeat && (voice == 0 || voice == len(chord.Pitches)-1):
		t.Errorf("%s: a syncopation in voice %d at %v", text, voice, n.Onset)
	case !onBeat && (chord.PhraseEnd || over == len(s.Chords)-1):
		t.Errorf("%s: voice %d is syncopated into the last chord of a phrase", text, voice)
	case !onBeat:
		r.syncopated++
	case n.Duration == theory.Frac(3, 2):
		r.dotted++
	}
}

// again counts a note of half a beat that repeats one of a beat before it on a weaker beat,
// while other voices move.
func (r *rhythms) again(s *Solution, before, n *theory.VoiceNote) {
	weak := n.Onset.Den() == 1 && n.Onset.Num()%2 == 1 && n.Duration == theory.Frac(1, 2)
	if weak && before.Pitch == n.Pitch && before.Onset == n.Onset.Sub(theory.Whole(1)) && s.moving(int(n.Onset.Num())) > 1 {
		r.struck++
	}
}

// moving counts the voices that come to a chord with another note.
func (s *Solution) moving(k int) int {
	n := 0
	for v, p := range s.Chords[k].Pitches {
		if s.Chords[k-1].Pitches[v] != p {
			n++
		}
	}
	return n
}

// beatWithin is the chord of a beat each that begins first while a note sounds, 0 for none.
func (s *Solution) beatWithin(n *theory.VoiceNote) int {
	for k := range s.Chords {
		if at := theory.Whole(int64(k)); n.Onset.Less(at) && at.Less(n.End()) {
			return k
		}
	}
	return 0
}
