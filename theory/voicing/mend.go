package voicing

import (
	"maps"

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
	// Stop, if set, is asked between tries; once it says so, what is not mended
	// is left.
	Stop func() bool
}

func (o *MendOptions) stopped() bool { return o.Stop != nil && o.Stop() }

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
	// Left are the findings that were to go and that no change within the bounds
	// could remove.
	Left []partwriting.Finding
}

// MendingAlternatives takes the faults out of a texture with as few changed notes as
// it can, and among those with the least distance. Fault by fault, in reading order,
// it tries every change of one note near the fault, then of two, then of three, and
// takes the one that leaves the fewest faults: the fault itself must be gone and no
// other of the chosen severity may come. In the end it takes back what turned out
// not to be needed. The harmony stays as it was read: notes move to members of the
// chord they stand in.
//
// It returns up to n mendings, the smallest change first: fewest faults left, then
// fewest notes, then the least distance. No two sound alike: somewhere they have
// other pitches, not the same ones in other voices. There is always one; in music
// without faults it changes nothing.
func MendingAlternatives(t *theory.Texture, a *harmony.Analysis, o MendOptions, n int) []*Mending {
	if o.Severity == partwriting.Off {
		o.Severity = partwriting.Fault
	}
	if o.MaxNotes == 0 {
		o.MaxNotes = 3
	}
	m := newMender(t, a, o)
	drafts := []*draft{{texture: t, analysis: m.analysis, given: map[faultKey]bool{}}}
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
	original *theory.Texture
	analysis *harmony.Analysis
	labels   []harmony.Label
	options  MendOptions
	only     map[faultKey]bool
	before   []partwriting.Finding
}

// maxRounds bounds the work on one score, maxTries that on one fault for each
// number of notes changed: the nearest changes are tried first.
const (
	maxRounds = 400
	maxTries  = 1500
)

func newMender(t *theory.Texture, a *harmony.Analysis, o MendOptions) *mender {
	m := &mender{original: t, options: o}
	if a != nil {
		for i := range a.Harmonies {
			m.labels = append(m.labels, labelOf(&a.Harmonies[i]))
		}
	}
	if o.Only != nil {
		m.only = map[faultKey]bool{}
		for i := range o.Only {
			m.only[keyOf(&o.Only[i])] = true
		}
	}
	m.analysis = harmony.Assume(t, m.labels)
	m.before = m.faults(t, m.analysis)
	return m
}

// labelOf keeps how certain a reading is: rules judge a chord that was given more
// strictly than one that was inferred.
func labelOf(h *harmony.Harmony) harmony.Label {
	return harmony.Label{Onset: h.Onset, Reading: h.Reading, Confidence: h.Confidence}
}

func (m *mender) faults(t *theory.Texture, a *harmony.Analysis) []partwriting.Finding {
	var out []partwriting.Finding
	for _, f := range partwriting.Check(t, a, m.options.RuleSet) {
		if f.Severity >= m.options.Severity {
			out = append(out, f)
		}
	}
	return out
}

// wanted reports whether a finding is to go.
func (m *mender) wanted(f *partwriting.Finding) bool { return m.only == nil || m.only[keyOf(f)] }

// next returns the first fault of a draft that has not been given up.
func (m *mender) next(d *draft) (partwriting.Finding, bool) {
	if d.rounds++; d.rounds > maxRounds || m.options.stopped() {
		return partwriting.Finding{}, false
	}
	for _, f := range m.faults(d.texture, d.analysis) {
		if m.wanted(&f) && !d.given[keyOf(&f)] {
			return f, true
		}
	}
	return partwriting.Finding{}, false
}

// mend removes one fault from a draft in up to n ways, the smallest change first.
// Where there is none the draft comes back with the fault given up.
func (m *mender) mend(d *draft, f *partwriting.Finding, n int) []*draft {
	w := m.windowAround(d, f)
	before := newKnown(m.faults(w.texture, w.analysis))
	var ways [][]change
	if before.keys[keyOf(f)] { // else the fault needs more of the piece than the window holds
		ways = m.ways(w, f, before, n)
	}
	if len(ways) == 0 {
		d.given[keyOf(f)] = true
		return []*draft{d}
	}
	var out []*draft
	for _, way := range ways {
		texture := w.apply(d.texture, way)
		out = append(out, &draft{texture: texture, analysis: harmony.Assume(texture, m.labels), given: maps.Clone(d.given), rounds: d.rounds})
	}
	return out
}
