package theory

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"slices"
)

// Fingerprint tells scores apart by what sounds in them, whatever document, layout,
// key signature or spelling they are written with. Scores with equal Music sound the
// same, at the same times counted from the first note; scores with equal Shape do so
// after one of them is transposed. Both are 32 hexadecimal digits, empty where nothing
// sounds.
type Fingerprint struct{ Music, Shape string }

// sounding is a pitch that sounds for a while; a unison of two voices is one.
type sounding struct {
	onset, end Fraction
	semitones  int
}

// FingerprintOf takes the fingerprint of a score. Tied notes are one note.
func FingerprintOf(s *Score) Fingerprint {
	notes := soundings(s)
	if len(notes) == 0 {
		return Fingerprint{}
	}
	first := notes[0] // the lowest of those that sound first
	// A few bytes a note: hashing is most of the work.
	music, shape := make([]byte, 0, 6*len(notes)), make([]byte, 0, 6*len(notes))
	for _, n := range notes {
		onset, length := n.onset.Sub(first.onset), n.end.Sub(n.onset)
		music = appendSounding(music, onset, length, n.semitones)
		shape = appendSounding(shape, onset, length, n.semitones-first.semitones)
	}
	s.Work.Step(len(notes))
	return Fingerprint{short(music), short(shape)}
}

// soundings are the pitches of a score by onset, then from the lowest up.
func soundings(s *Score) []sounding {
	notes := make([]sounding, 0, len(s.Notes))
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Sounds() && n.Duration.Sign() > 0 {
			notes = append(notes, sounding{n.Onset, n.End(), n.Pitch.Semitones()})
		}
	}
	s.Work.Step(len(notes))
	slices.SortFunc(notes, func(a, b sounding) int {
		return cmp.Or(a.onset.Cmp(b.onset), cmp.Compare(a.semitones, b.semitones), b.end.Cmp(a.end))
	})
	notes = joinTies(s, notes)
	return slices.CompactFunc(notes, func(a, b sounding) bool { return a.onset == b.onset && a.semitones == b.semitones })
}

// joinTies lengthens each note by those that it is tied to.
func joinTies(s *Score, notes []sounding) []sounding {
	type at struct {
		onset     Fraction
		semitones int
	}
	tied := map[at]bool{} // the onsets of notes that go on from one before
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Sounds() && n.Flags.Has(TieStop) {
			tied[at{n.Onset, n.Pitch.Semitones()}] = true
		}
	}
	if len(tied) == 0 {
		return notes
	}
	open := map[at]int{} // by the end of a note that was kept: which it is
	kept := notes[:0]
	for _, n := range notes {
		before, goesOn := open[at{n.onset, n.semitones}]
		if goesOn && tied[at{n.onset, n.semitones}] {
			kept[before].end = n.end
			open[at{n.end, n.semitones}] = before
			continue
		}
		open[at{n.end, n.semitones}] = len(kept)
		kept = append(kept, n)
		s.Work.Step(1)
	}
	return kept
}

func appendSounding(to []byte, onset, length Fraction, semitones int) []byte {
	for _, n := range [...]int64{onset.Num(), onset.Den(), length.Num(), length.Den(), int64(semitones)} {
		to = binary.AppendVarint(to, n)
	}
	return to
}

func short(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:16])
}
