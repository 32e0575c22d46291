package theory

import "sort"

// Moment is a point where at least one voice starts a note. What sounds there,
// struck or held, is the sonority.
type Moment struct {
	Onset Fraction
	// Measure is the index of the measure, Offset the distance from its start.
	Measure int32
	Offset  Fraction
	// Struck has bit v set where voice v starts a note here.
	Struck uint64
}

// NewTexture arranges voices, given from the top, into moments. It keeps the
// slice. The notes of a voice must be in order and not overlap. More voices than
// [MaxVoices] are an error of the caller and panic.
func NewTexture(score *Score, layout Layout, found string, voices []Voice) *Texture {
	if len(voices) > MaxVoices {
		panic("theory.NewTexture: more than MaxVoices voices")
	}
	t := &Texture{Score: score, Layout: layout, Found: found, Voices: voices}
	heads := newHeads(resolutionWith(score.CommonResolution(), voices), voices)
	count := heads.count()
	t.Moments = make([]Moment, count)
	t.cells = make([]int32, count*len(voices))
	measure := 0
	for m := range t.Moments {
		score.Work.Step(len(voices))
		heads.advance(&t.Moments[m], t.cells[m*len(voices):(m+1)*len(voices)])
		onset := t.Moments[m].Onset
		for measure+1 < len(score.Measures) && !onset.Less(score.Measures[measure+1].Onset) {
			measure++
		}
		t.Moments[m].Measure, t.Moments[m].Offset = int32(measure), onset
		if len(score.Measures) > 0 {
			t.Moments[m].Offset = onset.Sub(score.Measures[measure].Onset)
		}
	}
	return t
}

// heads merges the notes of all voices in order of onset.
type heads struct {
	resolution int64
	voices     []Voice
	// next is the index of each voice's next note, and onset when it begins, in
	// units of 1/resolution; end is when its last one ends.
	next       []int32
	onset, end []int64
}

const never = 1<<63 - 1

// resolutionWith returns a multiple of a resolution that covers voices too,
// which need not be those of the score.
func resolutionWith(resolution int64, voices []Voice) int64 {
	for v := range voices {
		for i := range voices[v].Notes {
			n := &voices[v].Notes[i]
			for _, d := range [2]int64{n.Onset.Den(), n.Duration.Den()} {
				if resolution%d != 0 {
					resolution = resolution / gcd(resolution, d) * d
				}
			}
		}
	}
	return resolution
}

func newHeads(resolution int64, voices []Voice) *heads {
	times := make([]int64, 2*len(voices))
	h := &heads{
		resolution: resolution, voices: voices, next: make([]int32, len(voices)),
		onset: times[:len(voices)], end: times[len(voices):],
	}
	h.rewind()
	return h
}

func (h *heads) rewind() {
	for v := range h.voices {
		h.next[v], h.end[v] = 0, -1
		h.look(v)
	}
}

// look reads when a voice's next note begins.
func (h *heads) look(v int) {
	h.onset[v] = never
	if notes := h.voices[v].Notes; int(h.next[v]) < len(notes) {
		h.onset[v] = notes[h.next[v]].Onset.In(h.resolution)
	}
}

func (h *heads) earliest() int64 {
	first := int64(never)
	for _, o := range h.onset {
		first = min(first, o)
	}
	return first
}

// count returns the number of moments.
func (h *heads) count() int {
	count := 0
	for now := h.earliest(); now != never; now = h.earliest() {
		for v := range h.voices {
			if h.onset[v] == now {
				h.next[v]++
				h.look(v)
			}
		}
		count++
	}
	h.rewind()
	return count
}

// advance goes to the next moment and writes down what each voice sounds there.
func (h *heads) advance(to *Moment, cells []int32) {
	now := h.earliest()
	for v := range h.voices {
		cells[v] = -1
		if h.onset[v] == now {
			note := &h.voices[v].Notes[h.next[v]]
			to.Onset = note.Onset
			to.Struck |= 1 << uint(v)
			h.end[v] = now + note.Duration.In(h.resolution)
			h.next[v]++
			h.look(v)
		}
		if h.end[v] > now {
			cells[v] = h.next[v] - 1
		}
	}
}

// At returns the index in Voices[v].Notes of the note that voice v sounds at
// moment m, or -1 for silence.
func (t *Texture) At(m, v int) int { return int(t.cells[m*len(t.Voices)+v]) }

// Sounding returns the note that voice v sounds at moment m, or nil.
func (t *Texture) Sounding(m, v int) *VoiceNote {
	i := t.At(m, v)
	if i < 0 {
		return nil
	}
	return &t.Voices[v].Notes[i]
}

// IsStruck reports whether voice v starts a note at moment m.
func (t *Texture) IsStruck(m, v int) bool { return t.Moments[m].Struck>>uint(v)&1 == 1 }

// Join is a pair of moments that follow each other in performance but not on the
// page.
type Join struct {
	// From and To index [Texture.Moments].
	From, To int
}

// Joins returns, for each of [Score.Jumps], the last moment before and the first
// moment after it. A jump from silence, or to a measure in which nothing is
// struck, gives none.
func (t *Texture) Joins() []Join {
	var joins []Join
	for _, j := range t.Score.Jumps {
		// Measures without length share their onset with the next, so moments are
		// looked up by measure.
		from := sort.Search(len(t.Moments), func(m int) bool { return int(t.Moments[m].Measure) > j.From }) - 1
		to := sort.Search(len(t.Moments), func(m int) bool { return int(t.Moments[m].Measure) >= j.To })
		if t.reaches(from, j.From) && to < len(t.Moments) && int(t.Moments[to].Measure) == j.To {
			joins = append(joins, Join{from, to})
		}
	}
	return joins
}

// reaches reports whether something sounds from moment m on in a measure.
func (t *Texture) reaches(m, measure int) bool {
	if m < 0 {
		return false
	}
	for v := range t.Voices {
		if n := t.Sounding(m, v); n != nil && t.Score.Measures[measure].Onset.Less(n.End()) {
			return true
		}
	}
	return false
}
