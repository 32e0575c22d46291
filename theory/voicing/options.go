package voicing

import (
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Way is how the upper voices go to the next chord, as a teacher groups what is
// possible.
type Way int8

// Ways, in the order they are weighed.
const (
	// KeepCommon: every upper voice that can hold a common tone holds it.
	KeepCommon Way = iota
	// AgainstBass: all upper voices that move go against the bass.
	AgainstBass
	// SimilarUp and SimilarDown: all upper voices that move go up, or down.
	SimilarUp
	SimilarDown
	// MixedWays: anything else.
	MixedWays
)

// String returns a phrase in kebab case.
func (w Way) String() string {
	return [...]string{"keep-common", "against-bass", "similar-up", "similar-down", "mixed"}[w]
}

// Awkwardness is what deserves a look in an option that breaks no rule.
type Awkwardness struct {
	Kind AwkwardKind
	// Voices are the voices concerned, from the top.
	Voices []int
}

// AwkwardKind names what makes an option awkward or worth watching.
type AwkwardKind int8

// Kinds of awkwardness.
const (
	// LargeLeap: a voice moves by more than a fourth.
	LargeLeap AwkwardKind = iota
	// DiminishedLeap: a voice moves by a diminished interval.
	DiminishedLeap
	// Clash: two neighboring upper voices stand a second apart.
	Clash
	// WatchFifth and WatchOctave: a voice stands a fifth or octave above the
	// bass, so the next change must not repeat it.
	WatchFifth
	WatchOctave
	// NewPosition: the chord opens or closes.
	NewPosition
	// OverlapsNeighbor: a voice moves past its neighbor's last note.
	OverlapsNeighbor
	// UnisonHere: two neighbors meet on one note.
	UnisonHere
)

// String returns the kind in kebab case.
func (k AwkwardKind) String() string {
	return [...]string{"large-leap", "diminished-leap", "clash", "watch-fifth", "watch-octave",
		"new-position", "overlap", "unison"}[k]
}

// Option is one way to go on from a sonority.
type Option struct {
	Way     Way
	Pitches []theory.Pitch
	Moves   []VoiceMove
	Cost    Cost
	// Awkward is empty where nothing needs a second look.
	Awkward []Awkwardness
	// Onward counts, for each reading that was asked about, in how many
	// arrangements it can follow this one without a fault.
	Onward []int
}

// Options lists every admissible continuation of a chord, grouped by way and
// cheapest first within a group, at most best of each group (0 for all).
// onward are readings that might come after the next; Option.Onward answers in
// their order.
func Options(from Chord, to harmony.Reading, style Style, best int, onward ...harmony.Reading) []Option {
	var fixed Slot
	a := exactly(&fixed, &from, &style)
	if len(a.arrangements) == 0 {
		return nil
	}
	b := arrange(Choice{Reading: to}, &Slot{}, &style)
	m := newMotions(a, b, &style, forbidden)
	var out []Option
	for j := range b.arrangements {
		cost := m.between(&a.arrangements[0], &b.arrangements[j])
		if cost >= forbidden {
			continue
		}
		next := Chord{Reading: to}
		for v := range style.Voices {
			next.Pitches = append(next.Pitches, b.tones[v][b.arrangements[j].tone[v]].pitch)
		}
		o := Option{Pitches: next.Pitches, Moves: moves(&from, &next), Cost: cost + b.arrangements[j].cost}
		o.Way = wayOf(o.Moves)
		o.Awkward = awkward(&from, &next, o.Moves, a.arrangements[0].open != b.arrangements[j].open)
		out = append(out, o)
	}
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].Way != out[j].Way {
			return out[i].Way < out[j].Way
		}
		return out[i].Cost < out[j].Cost
	})
	out = bestOfEach(out, best)
	look := newOutlook(b, &style, onward)
	for i := range out {
		out[i].Onward = look.from(out[i].Pitches)
	}
	return out
}

func bestOfEach(all []Option, best int) []Option {
	if best <= 0 {
		return all
	}
	kept, count := all[:0], 0
	for i := range all {
		if i == 0 || all[i].Way != all[i-1].Way {
			count = 0
		}
		if count++; count <= best {
			kept = append(kept, all[i])
		}
	}
	return kept
}

// outlook counts what can follow.
type outlook struct {
	set   *set
	style *Style
	ways  []*motions
}

func newOutlook(b *set, style *Style, onward []harmony.Reading) *outlook {
	l := &outlook{set: b, style: style}
	for _, r := range onward {
		l.ways = append(l.ways, newMotions(b, arrange(Choice{Reading: r}, &Slot{}, style), style, forbidden))
	}
	return l
}

func (l *outlook) from(pitches []theory.Pitch) []int {
	counts := make([]int, len(l.ways))
	var at arrangement
	for v := range pitches {
		for i := range l.set.tones[v] {
			if l.set.tones[v][i].pitch == pitches[v] {
				at.tone[v] = uint8(i)
			}
		}
	}
	for w, m := range l.ways {
		for j := range m.b.arrangements {
			if m.between(&at, &m.b.arrangements[j]) < forbidden {
				counts[w]++
			}
		}
	}
	return counts
}

func wayOf(all []VoiceMove) Way {
	upper, bass := all[:len(all)-1], all[len(all)-1]
	kept, left, up, down := 0, 0, 0, 0
	for _, m := range upper {
		switch {
		case m.Kept:
			kept++
		case m.Interval.Semitones > 0:
			up++
		case m.Interval.Semitones < 0:
			down++
		}
		if m.CouldKeep {
			left++
		}
	}
	switch {
	case kept > 0 && left == 0:
		return KeepCommon
	case bass.Interval.Semitones > 0 && up == 0 || bass.Interval.Semitones < 0 && down == 0:
		return AgainstBass
	case down == 0:
		return SimilarUp
	case up == 0:
		return SimilarDown
	}
	return MixedWays
}

func awkward(from, to *Chord, all []VoiceMove, position bool) []Awkwardness {
	var out []Awkwardness
	note := func(kind AwkwardKind, voices ...int) { out = append(out, Awkwardness{kind, voices}) }
	bass := len(all) - 1
	for v, m := range all {
		if v < bass && m.Interval.Number() > 4 {
			note(LargeLeap, v)
		}
		if m.Interval.Quality() <= theory.Diminished && m.Interval.Steps != 0 {
			note(DiminishedLeap, v)
		}
		if v == bass {
			break
		}
		gap := theory.Between(to.Pitches[v+1], to.Pitches[v])
		if v+1 < bass && gap.Steps == 1 {
			note(Clash, v, v+1)
		}
		if gap == theory.Unison {
			note(UnisonHere, v, v+1)
		}
		if to.Pitches[v+1].Above(from.Pitches[v]) || from.Pitches[v+1].Above(to.Pitches[v]) {
			note(OverlapsNeighbor, v, v+1)
		}
		switch above := theory.Between(to.Pitches[bass], to.Pitches[v]); {
		case above.IsPerfectFifth():
			note(WatchFifth, v, bass)
		case above.IsPerfectOctave():
			note(WatchOctave, v, bass)
		}
	}
	if position {
		note(NewPosition)
	}
	return out
}
