package voicing

import (
	"math/rand/v2"
	"slices"

	"partwright/theory/harmony"
)

// Repertoire is the music whose habits an elaboration follows.
type Repertoire int8

// Repertoires.
const (
	// Choir is four-part writing for voices.
	Choir Repertoire = iota
	// KeyboardMusic is music for one player.
	KeyboardMusic
)

// usualKinds are the decorations that sheets use, in the order in which they are
// tried where nothing else decides.
var usualKinds = []harmony.NoteClass{harmony.Passing, harmony.ChordTone, harmony.Suspension, harmony.Anticipation, harmony.Neighbor}

// shares say how many of a hundred nonchord tones of the four usual kinds are of
// each. They are counted with this program's own analysis: in 62 of the odd-numbered
// chorales edited by C. Sapp (2,097 notes), and in the Bach preludes of the
// When in Rome corpus (1,904 notes). Chord tones off the beat come to them: in the same
// chorales 19 of a hundred notes off the beat belong to the chord that sounds on it, 80 do not.
var shares = [...]map[harmony.NoteClass]float64{
	Choir:         {harmony.Passing: 69, harmony.Suspension: 16, harmony.Neighbor: 12, harmony.Anticipation: 3, harmony.ChordTone: 24},
	KeyboardMusic: {harmony.Passing: 70, harmony.Suspension: 6, harmony.Neighbor: 22, harmony.Anticipation: 2, harmony.ChordTone: 24},
}

// quota keeps the kinds in proportion while figures are added.
type quota struct {
	kinds []harmony.NoteClass
	share map[harmony.NoteClass]float64
	total float64
	// added are the notes so far.
	added map[harmony.NoteClass]float64
	// open is set where the kinds need not keep their proportions.
	open bool
	// chance is drawn once for each kind, so that a share of less than one note comes
	// out right over many phrases.
	chance map[harmony.NoteClass]float64
}

func newQuota(kinds []harmony.NoteClass, r Repertoire, random *rand.Rand) *quota {
	q := &quota{kinds: kinds, share: map[harmony.NoteClass]float64{}, added: map[harmony.NoteClass]float64{}, chance: map[harmony.NoteClass]float64{}}
	if kinds == nil {
		q.kinds = usualKinds
	}
	for _, kind := range q.kinds {
		q.share[kind] = shares[r][kind]
		if q.share[kind] == 0 {
			q.share[kind] = 1
		}
		q.total += q.share[kind]
		q.chance[kind] = random.Float64()
	}
	return q
}

// order lists the kinds that may be added, the one furthest behind its share first.
// The commonest of the kinds may always be added; the others keep their proportion
// to it, unless the quota is open.
func (q *quota) order() []harmony.NoteClass {
	if q.open {
		return q.kinds
	}
	commonest := slices.MaxFunc(q.kinds, func(a, b harmony.NoteClass) int { return int(q.share[a] - q.share[b]) })
	var out []harmony.NoteClass
	for _, kind := range q.kinds {
		if kind == commonest || q.added[kind]+1 <= q.due(kind, commonest) {
			out = append(out, kind)
		}
	}
	slices.SortStableFunc(out, func(a, b harmony.NoteClass) int {
		switch x, y := q.behind(a), q.behind(b); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// due is how many of a kind go with what there is of the commonest. Only about one
// phrase in three has room for an anticipation; that one gets the share of three.
// Suspensions get a quarter more, for the phrases that have no room for theirs.
// Neighbors are rather rounded down, since phrases that have room for little else have more.
func (q *quota) due(kind, commonest harmony.NoteClass) float64 {
	due := q.share[kind] / q.share[commonest] * q.added[commonest]
	switch kind {
	case harmony.Anticipation:
		return 3*due + q.chance[kind]
	case harmony.Suspension:
		return 1.25*due + q.chance[kind]
	case harmony.Neighbor:
		return due + 0.75*q.chance[kind]
	}
	return due + q.chance[kind]
}

// behind is how many notes of a kind would be missing with one note more, and as many
// as one more by chance, so that not all sheets begin alike. Chord tones wait for the
// others, whose places are fewer.
func (q *quota) behind(kind harmony.NoteClass) float64 {
	behind := q.share[kind]/q.total*(q.all()+1) - q.added[kind] + q.chance[kind]
	if kind == harmony.ChordTone {
		behind -= 2
	}
	return behind
}

func (q *quota) all() float64 {
	sum := 0.0
	for _, n := range q.added {
		sum += n
	}
	return sum
}

// add counts the notes of a figure, chord tones within a row of passing notes too.
func (q *quota) add(f *figure) {
	for i := range f.notes {
		if kind := f.notes[i].Kind; slices.Contains(q.kinds, kind) {
			q.added[kind]++
		}
	}
}
