package beatnet

import (
	"math/bits"
	"slices"

	"partwright/theory"
)

// Frame is a stretch of music in which no harmony can change. Pitch classes are
// bits on the line of fifths; C is bit [COffset].
type Frame struct {
	Sounding uint64
	// Bass is the bit of the lowest note, -1 in silence.
	Bass int8
	// Beats is the length in beats of the metre.
	Beats float32
	// OnBeat is set where the frame begins on a beat, Level its metrical strength
	// from 0 (off the beat) to 3 (downbeat).
	OnBeat bool
	Level  int8
	// PhraseEnd is set where a phrase ends with the frame.
	PhraseEnd bool
	// Signature is the key signature in fifths.
	Signature int8
}

// COffset is the bit of C.
const COffset = 24

// Music is a piece in beats, as a net hears it.
type Music struct {
	// Work is the budget of whoever hears it, nil for none.
	Work  *theory.Work
	beats []beat
	// of is the beat of each frame.
	of      []int32
	phrases []phrase
	// whole is the mean of all beats, by bit.
	whole sums
	// All bits that sound are from low up to high.
	low, high int
	// faded is what has sounded before each beat and will sound after it: for each of
	// [fading] first the past, then the future, with a number for each bit from low up
	// to high.
	faded []float32
	// parts is where the parts of the beats are kept.
	parts []part
}

// beat is one beat: the frames from one onset on a beat to the next.
type beat struct {
	first int32
	// reference is the signature that the music around has, signature the printed
	// one.
	reference, signature int8
	level                int8
	ends, opens          bool // its phrase
	phrase               int32
	sounding, bass       []part
	// head and tail are the first and the last frame.
	head, tail edge
}

// part is how much of a beat a bit fills.
type part struct {
	bit   int8
	share float32
}

type edge struct {
	sounding uint64
	bass     int8
}

type sums [64]float32

// phrase bounds beats and holds their mean.
type phrase struct {
	first, end int32
	mean       sums
}

// fading are the shares that sums keep from one beat to the next: half is gone
// after some two and ten beats.
var fading = [2]float32{0.75, 0.93}

// NewMusic prepares a row of frames.
func NewMusic(frames []Frame) *Music {
	m := &Music{}
	m.Fill(frames)
	return m
}

// Fill prepares another row of frames in the memory of the one before.
func (m *Music) Fill(frames []Frame) {
	m.of = slices.Grow(m.of[:0], len(frames))[:len(frames)]
	m.beats, m.phrases = slices.Grow(m.beats[:0], beatsIn(frames)), m.phrases[:0]
	for f := range frames {
		if beginsBeat(frames, f) {
			m.beats = append(m.beats, beat{first: int32(f), signature: frames[f].Signature, level: frames[f].Level})
		}
		m.of[f] = int32(len(m.beats) - 1)
	}
	sounding := uint64(0)
	for f := range frames {
		sounding |= frames[f].Sounding
	}
	m.low, m.high = min(bits.TrailingZeros64(sounding), 63), max(bits.Len64(sounding), 1)
	m.parts = slices.Grow(m.parts[:0], 5*len(m.beats))
	for i := range m.beats {
		end := len(frames)
		if i+1 < len(m.beats) {
			end = int(m.beats[i+1].first)
		}
		m.parts = m.beats[i].fill(frames[m.beats[i].first:end], m.parts)
	}
	m.divide()
	m.fade()
	m.refer()
}

// beginsBeat reports whether a beat begins with a frame.
func beginsBeat(frames []Frame, f int) bool {
	return f == 0 || frames[f].OnBeat || frames[f-1].PhraseEnd
}

func beatsIn(frames []Frame) int {
	count := 0
	for f := range frames {
		if beginsBeat(frames, f) {
			count++
		}
	}
	return count
}

// LetGo frees what only hearing needs, once a net has heard the music.
func (m *Music) LetGo() { m.faded = nil }

// Beats is how many beats there are.
func (m *Music) Beats() int { return len(m.beats) }

// Phrases is how many phrases there are.
func (m *Music) Phrases() int { return len(m.phrases) }

// BeatOf returns the beat that a frame belongs to.
func (m *Music) BeatOf(frame int) int { return int(m.of[frame]) }

// FirstFrame returns the frame that a beat begins with.
func (m *Music) FirstFrame(beat int) int { return int(m.beats[beat].first) }

// Reference returns the signature that the outputs of a beat are counted from.
func (m *Music) Reference(beat int) int { return int(m.beats[beat].reference) }

// fill collects what sounds in the frames of a beat; parts is where it is kept.
func (b *beat) fill(frames []Frame, parts []part) []part {
	total := float32(0)
	var all, low uint64
	for i := range frames {
		f := &frames[i]
		total += f.Beats
		all |= f.Sounding
		if f.Bass >= 0 {
			low |= 1 << uint(f.Bass)
		}
		b.ends = b.ends || f.PhraseEnd
	}
	b.head = edge{frames[0].Sounding, frames[0].Bass}
	b.tail = edge{frames[len(frames)-1].Sounding, frames[len(frames)-1].Bass}
	total = max(total, 1e-3)
	at := len(parts)
	for rest := all; rest != 0; rest &= rest - 1 {
		p := part{bit: int8(bits.TrailingZeros64(rest))}
		for i := range frames {
			if frames[i].Sounding>>uint(p.bit)&1 == 1 {
				p.share += frames[i].Beats / total
			}
		}
		parts = append(parts, p)
	}
	b.sounding = parts[at:len(parts):len(parts)]
	at = len(parts)
	for rest := low; rest != 0; rest &= rest - 1 {
		p := part{bit: int8(bits.TrailingZeros64(rest))}
		for i := range frames {
			if frames[i].Bass == p.bit {
				p.share += frames[i].Beats / total
			}
		}
		parts = append(parts, p)
	}
	b.bass = parts[at:len(parts):len(parts)]
	return parts
}

// divide finds the phrases.
func (m *Music) divide() {
	first := 0
	for i := range m.beats {
		m.beats[i].phrase = int32(len(m.phrases))
		m.beats[i].opens = i == first
		if m.beats[i].ends || i+1 == len(m.beats) {
			m.phrases = append(m.phrases, phrase{int32(first), int32(i + 1), mean(m.beats[first : i+1])})
			first = i + 1
		}
	}
	m.whole = mean(m.beats)
}

func mean(beats []beat) sums {
	var out sums
	for i := range beats {
		for _, p := range beats[i].sounding {
			out[p.bit] += p.share / float32(len(beats))
		}
	}
	return out
}

func (m *Music) fade() {
	size := len(m.beats) * 2 * len(fading) * (m.high - m.low)
	m.faded = slices.Grow(m.faded[:0], size)[:size]
	for k, keep := range fading {
		var run sums
		for i := range m.beats {
			m.fadeOne(&run, keep, m.beats[i].sounding)
			copy(m.past(i, k), run[m.low:m.high])
		}
		run = sums{}
		for i := len(m.beats) - 1; i >= 0; i-- {
			m.fadeOne(&run, keep, m.beats[i].sounding)
			copy(m.future(i, k), run[m.low:m.high])
		}
	}
}

// past is what has sounded up to a beat, by bit from low on; k indexes fading.
func (m *Music) past(beat, k int) []float32 { return m.fadedAt((beat*len(fading) + k) * 2) }

// future is what sounds from a beat on.
func (m *Music) future(beat, k int) []float32 { return m.fadedAt((beat*len(fading)+k)*2 + 1) }

func (m *Music) fadedAt(row int) []float32 {
	width := m.high - m.low
	return m.faded[row*width:][:width]
}

// fadeOne lets a sum fade and adds a beat, so that steady music keeps it near 1.
func (m *Music) fadeOne(s *sums, keep float32, parts []part) {
	for i := m.low; i < m.high; i++ {
		s[i] *= keep
	}
	for _, p := range parts {
		s[p.bit] += (1 - keep) * p.share
	}
}

// How much better another signature must fit than the printed one and than that
// of the beat before, in shares of a beat. Our own choice.
const (
	printedBonus = 0.15
	sameBonus    = 0.05
)

// farthest is the greatest signature that is tried, in sharps or flats.
const farthest = 9

// refer finds the signature that fits the music around each beat best: that whose
// scale holds most of what sounds.
func (m *Music) refer() {
	before := int8(0)
	// around has what sounds around a beat, by bit.
	var around sums
	for i := range m.beats {
		b := &m.beats[i]
		past, future := m.past(i, 0), m.future(i, 0)
		for j := range past {
			around[m.low+j] = past[j] + future[j]
		}
		best := float32(-1)
		for s := int8(-farthest); s <= farthest; s++ {
			fit := float32(0)
			for _, sounds := range around[COffset+int(s)-1 : COffset+int(s)+6] {
				fit += sounds
			}
			if s == b.signature {
				fit += printedBonus
			}
			if i > 0 && s == before {
				fit += sameBonus
			}
			if fit > best {
				best, b.reference = fit, s
			}
		}
		before = b.reference
	}
}
