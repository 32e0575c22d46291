package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// MendOptions say what is to be mended and what must stay.
type MendOptions struct {
	// RuleSet judges; nil is the default set. Severity is the least severity
	// that must go; the zero value is a fault.
	RuleSet  *partwriting.RuleSet
	Severity partwriting.Severity
	// Keep lists voices, from the top, whose notes are given.
	Keep []int
	// KeepMeasures lists measures, by index, that are not touched.
	KeepMeasures []int
	// MaxNotes is how many notes may change for one fault; 0 is 3.
	MaxNotes int
	// Only lists the findings that are to go, by rule, onset and voices; nil is
	// every finding of the severity.
	Only []partwriting.Finding
	// Most is how many findings may be there without Only; where there are more,
	// nothing is changed. 0 is no limit.
	Most int
	// Stop, if set, is asked between tries; once it says so, what is not mended
	// is left.
	Stop func() bool
}

// Mending is a score with its faults taken out.
type Mending struct {
	// Texture is the mended music; rhythm and ties are those of the original.
	Texture *theory.Texture
	// Edits are the changes, in order of onset, then voice.
	Edits []partwriting.Edit
	// Distance is the sum of the semitones moved.
	Distance int
	// Before counts the findings of the chosen severity in the original.
	Before int
	// Left are the findings that were to go and are still there when the result is
	// read and checked from scratch.
	Left []partwriting.Finding
	// New are findings of the severity that the original did not have. There are
	// none unless the reading of a long score turns out otherwise as a whole.
	New []partwriting.Finding
	// Untouched says why nothing was tried.
	Untouched Untouched
}

// Untouched is the reason why nothing is changed in a score.
type Untouched int8

// Reasons to leave a score alone.
const (
	// Tried: nothing is in the way.
	Tried Untouched = iota
	// TooMany: there are more findings than [MendOptions.Most]; Left lists them.
	TooMany
	// BlockChords: the chords stand in close position over their roots and move as
	// blocks. That is a progression to be voiced, and mending it would change its
	// chords.
	BlockChords
)

// String returns a phrase in kebab case, "" for Tried.
func (u Untouched) String() string { return [...]string{"", "too-many", "block-chords"}[u] }

// MendingAlternatives takes the faults out of a texture with as few changed notes as
// it can. Fault by fault, in reading order, it tries every change of one note near the
// fault, then of two, then of three, and takes the one that leaves the fewest faults;
// among those, what a teacher would do first. Notes move to members of the chord they
// stand in; the bass of a chord in root position keeps its root, and the final chord its
// bass and a root on top, unless nothing else helps. Each change is judged from scratch:
// the music is read and checked anew, the fault must be gone, and no other of its
// severity and no consecutive fifths, octaves or unisons of any severity may have come.
// In the end it takes back what turned out not to be needed.
//
// It returns up to n mendings, in order of faults left, notes changed and effort. No two
// sound alike: somewhere they have other pitches, not the same ones in other voices.
// There is always one; in music without faults it changes nothing.
func MendingAlternatives(t *theory.Texture, a *harmony.Analysis, o MendOptions, n int) []*Mending {
	if o.Severity == partwriting.Off {
		o.Severity = partwriting.Fault
	}
	if o.MaxNotes == 0 {
		o.MaxNotes = 3
	}
	m := newMender(t, a, o)
	first := &draft{texture: t, reading: m.original.reading, given: map[faultKey]bool{}}
	if why := m.untouched(); why != Tried {
		result := m.result(first)
		result.Untouched = why
		return []*Mending{result}
	}
	drafts := []*draft{first}
	for {
		var next []*draft
		open := false
		for _, d := range drafts {
			f, ok := m.next(d)
			if !ok {
				next = append(next, d)
				continue
			}
			open = true
			next = append(next, m.mend(d, &f, n)...)
		}
		if !open {
			break
		}
		drafts = m.best(next, n)
	}
	for _, d := range drafts {
		m.takeBack(d)
	}
	var out []*Mending
	for _, d := range m.best(drafts, n) {
		out = append(out, m.result(d))
	}
	return out
}

type mender struct {
	original original
	options  MendOptions
	only     map[faultKey]bool
	ended    bool
}

// stopped reports whether the work is to end; once it is, nobody is asked again.
func (m *mender) stopped() bool {
	m.ended = m.ended || m.options.Stop != nil && m.options.Stop()
	return m.ended
}

// original is the music as it came.
type original struct {
	*theory.Texture
	reading *judged
	// labels are the chords it was read in.
	labels []harmony.Label
	// found is set where its voices are those that anybody finds in the score.
	found bool
}

// maxRounds bounds the work on one score, maxTries that on one fault for each
// number of notes changed: the most promising changes are tried first.
const (
	maxRounds = 400
	maxTries  = 1500
)

func newMender(t *theory.Texture, a *harmony.Analysis, o MendOptions) *mender {
	m := &mender{original: original{Texture: t}, options: o}
	if a == nil {
		a = harmony.Assume(t, nil)
	}
	for i := range a.Harmonies {
		m.original.labels = append(m.original.labels, labelOf(&a.Harmonies[i]))
	}
	if o.Only != nil {
		m.only = map[faultKey]bool{}
		for i := range o.Only {
			m.only[keyOf(&o.Only[i])] = true
		}
	}
	m.original.reading = m.read(t, a)
	m.original.found = foundAlike(t)
	return m
}

// again reads a changed texture from scratch. Music without chords gets none.
func (m *mender) again(changed *theory.Texture) *harmony.Analysis {
	if len(m.original.labels) == 0 {
		return harmony.Assume(changed, nil)
	}
	return m.original.reading.analysis.Again(changed)
}

// labelOf keeps how certain a reading is: rules judge a chord that was given more
// strictly than one that was inferred.
func labelOf(h *harmony.Harmony) harmony.Label {
	return harmony.Label{Onset: h.Onset, Reading: h.Reading, Confidence: h.Confidence}
}

// wanted reports whether a finding is to go.
func (m *mender) wanted(f *partwriting.Finding) bool { return m.only == nil || m.only[keyOf(f)] }

// untouched says why the music is left alone.
func (m *mender) untouched() Untouched {
	switch {
	case m.only != nil || len(m.original.reading.grave) == 0:
		return Tried
	case isBlock(m.original.Texture, m.original.reading.analysis):
		return BlockChords
	case m.options.Most > 0 && len(m.original.reading.grave) > m.options.Most:
		return TooMany
	}
	return Tried
}

// next returns the first fault of a draft that has not been given up.
func (m *mender) next(d *draft) (partwriting.Finding, bool) {
	if d.rounds++; d.rounds > maxRounds || m.stopped() {
		return partwriting.Finding{}, false
	}
	for _, f := range d.reading.grave {
		if m.wanted(&f) && !d.given[keyOf(&f)] {
			return f, true
		}
	}
	return partwriting.Finding{}, false
}

// mend removes one fault from a draft in up to n ways, the best first. Where there is
// none the draft comes back with the fault given up.
func (m *mender) mend(d *draft, f *partwriting.Finding, n int) []*draft {
	w := m.windowAround(d, f)
	before := m.readWindow(w.texture, w.analysis)
	var out []*draft
	if before.has(f) { // else the fault needs more of the piece than the window holds
		out = m.ways(d, w, f, before, n)
	}
	if len(out) == 0 {
		out = m.waysOfReading(d, w, f, before, n)
	}
	if len(out) == 0 {
		d.given[keyOf(f)] = true
		return []*draft{d}
	}
	return out
}
