package harmony

import "partwright/theory"

// chord is one spelled chord that the piece may contain.
type chord struct {
	mask    uint64
	root    int8
	quality Quality
	// members are bits; members[3] is -1 for triads.
	members [4]int8
	// readings bound the chord's entries in chordTable.readings.
	readings, readingsEnd int32
}

// memberAt is the member of the chord that a bit is, -1 if it is none.
func (c *chord) memberAt(bit int8) int8 {
	if c.mask>>uint(bit)&1 == 0 {
		return -1
	}
	for m, b := range c.members {
		if b == bit {
			return int8(m)
		}
	}
	return -1
}

// chordReading is a chord as a numeral of a key.
type chordReading struct {
	key     int16
	numeral int16
	plain   bool
}

// chordTable lists the chords that can be made of the notes of a piece, and the
// keys they can be heard in.
type chordTable struct {
	chords   []chord
	readings []chordReading
	keys     []theory.Key
	// tonics are the bits of the keys' tonics.
	tonics []int8
	// inKey[c*len(keys)+k] bounds, with the entry after it, the readings of chord c in
	// key k.
	inKey []int32
}

// usualReadings is how many readings the chords on a root have, about.
const usualReadings = 256

// newChordTable takes the pitch classes of a piece as a mask. Keys are all on
// tonics that sound in it.
func newChordTable(present uint64, h *habits) *chordTable {
	t := &chordTable{}
	pitches := maskCount(present)
	t.chords, t.readings = make([]chord, 0, pitches*numQualities), make([]chordReading, 0, usualReadings*pitches)
	t.inKey = make([]int32, 0, 2*pitches*pitches*numQualities+1)
	for bit := range 64 {
		if present>>uint(bit)&1 == 0 {
			continue
		}
		tonic := theory.PitchClassAtFifths(bit - bitOffset)
		for _, mode := range [2]theory.Mode{theory.MajorMode, theory.MinorMode} {
			t.keys = append(t.keys, theory.Key{Tonic: tonic, Mode: mode})
			t.tonics = append(t.tonics, int8(bit))
		}
	}
	for bit := range 64 {
		if present>>uint(bit)&1 == 0 {
			continue
		}
		for q := range Quality(numQualities) {
			t.add(bit, q, present, h)
		}
	}
	t.inKey = append(t.inKey, int32(len(t.readings)))
	return t
}

func (t *chordTable) add(root int, q Quality, present uint64, h *habits) {
	c := chord{root: int8(root), quality: q, members: [4]int8{-1, -1, -1, -1}}
	for i, f := range qualities[q].fifths {
		bit := root + f
		if bit < 0 || bit > 63 {
			return
		}
		c.members[i] = int8(bit)
		c.mask |= 1 << uint(bit)
	}
	// The third must occur somewhere, of sevenths the seventh too, and of
	// augmented sixths everything.
	sounds := func(i int) bool { return present>>uint(c.members[i])&1 == 1 }
	if !sounds(1) || q.IsSeventh() && !sounds(3) || q.IsAugmentedSixth() && c.mask&^present != 0 {
		return
	}
	c.readings = int32(len(t.readings))
	at := len(t.inKey)
	for k := range t.keys {
		t.inKey = append(t.inKey, int32(len(t.readings)))
		w := h.words[t.keys[k].Mode]
		for _, n := range w.on(q, root-int(t.tonics[k])) {
			t.readings = append(t.readings, chordReading{int16(k), n, w.plain[n]})
		}
	}
	c.readingsEnd = int32(len(t.readings))
	if c.readingsEnd > c.readings {
		t.chords = append(t.chords, c)
	} else {
		t.inKey = t.inKey[:at]
	}
}

// placed is a reading with its place among those of its chord.
type placed struct {
	chordReading
	place int16
}

// within appends to out the readings of a chord in a set of keys, in order.
func (t *chordTable) within(chord int16, keys keySet, out []placed) []placed {
	first := t.chords[chord].readings
	for half, set := range keys {
		for ; set != 0; set &= set - 1 {
			at := int(chord)*len(t.keys) + 64*half + trailing(set)
			for i := t.inKey[at]; i < t.inKey[at+1]; i++ {
				out = append(out, placed{t.readings[i], int16(i - first)})
			}
		}
	}
	return out
}
