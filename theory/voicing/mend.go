package voicing

import (
	"sort"

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
	// Left are the findings of the chosen severity that no change within the
	// bounds could remove.
	Left []partwriting.Finding
}

// Mend takes the faults out of a texture with as few changed notes as it can,
// and among those with the least distance. Fault by fault, in reading order, it
// tries every change of one note near the fault, then of two, then of three, and
// takes the one that leaves the fewest faults: the fault itself must be gone and no other of
// the chosen severity may come. The harmony stays as it was read: notes move to
// members of the chord they stand in.
func Mend(t *theory.Texture, a *harmony.Analysis, o MendOptions) *Mending {
	if o.Severity == partwriting.Off {
		o.Severity = partwriting.Fault
	}
	if o.MaxNotes == 0 {
		o.MaxNotes = 3
	}
	m := &mender{original: t, texture: t, options: o}
	if a != nil {
		for i := range a.Harmonies {
			m.labels = append(m.labels, labelOf(&a.Harmonies[i]))
		}
	}
	m.analysis = harmony.Assume(t, m.labels)
	m.before = len(m.faults(t, m.analysis))
	given := map[faultKey]bool{}
	for {
		f, ok := m.next(given)
		if !ok {
			break
		}
		if !m.mend(&f) {
			given[keyOf(&f)] = true
		}
	}
	return m.result()
}

// labelOf keeps how certain a reading is: rules judge a chord that was given more
// strictly than one that was inferred.
func labelOf(h *harmony.Harmony) harmony.Label {
	return harmony.Label{Onset: h.Onset, Reading: h.Reading, Confidence: h.Confidence}
}

type mender struct {
	original, texture *theory.Texture
	analysis          *harmony.Analysis
	labels            []harmony.Label
	options           MendOptions
	before            int
	// rounds guards against mending in circles.
	rounds int
}

// maxRounds bounds the work on one score, maxTries that on one fault for each
// number of notes changed: the nearest changes are tried first.
const (
	maxRounds = 400
	maxTries  = 6000
)

// faultKey tells findings apart before and after a change.
type faultKey struct {
	rule   partwriting.RuleID
	onset  theory.Fraction
	voices uint64
}

func keyOf(f *partwriting.Finding) faultKey {
	k := faultKey{rule: f.Rule, onset: f.Onset}
	for _, v := range f.Voices {
		k.voices |= 1 << uint(v)
	}
	return k
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

// next returns the first fault that has not been given up.
func (m *mender) next(given map[faultKey]bool) (partwriting.Finding, bool) {
	if m.rounds++; m.rounds > maxRounds {
		return partwriting.Finding{}, false
	}
	for _, f := range m.faults(m.texture, m.analysis) {
		if !given[keyOf(&f)] {
			return f, true
		}
	}
	return partwriting.Finding{}, false
}

// known is what was found before a change. A finding that stands for several
// notes, such as all of a phrase that lie out of range, is known by its notes as
// well: when its first note is mended, it moves on to the next.
type known struct {
	keys  map[faultKey]bool
	notes map[partwriting.RuleID]map[partwriting.NoteRef]bool
}

func newKnown(findings []partwriting.Finding) *known {
	k := &known{map[faultKey]bool{}, map[partwriting.RuleID]map[partwriting.NoteRef]bool{}}
	for i := range findings {
		f := &findings[i]
		k.keys[keyOf(f)] = true
		if k.notes[f.Rule] == nil {
			k.notes[f.Rule] = map[partwriting.NoteRef]bool{}
		}
		for _, refs := range [][]partwriting.NoteRef{f.Notes, f.Related} {
			for _, r := range refs {
				k.notes[f.Rule][r] = true
			}
		}
	}
	return k
}

func (k *known) has(f *partwriting.Finding) bool {
	if k.keys[keyOf(f)] {
		return true
	}
	for _, r := range f.Notes {
		if !k.notes[f.Rule][r] {
			return false
		}
	}
	return len(f.Notes) > 0
}

// change is one note at another pitch.
type change struct {
	ref      partwriting.NoteRef
	to       theory.Pitch
	distance int
}

// mend removes one fault with the smallest change and reports whether it could.
func (m *mender) mend(f *partwriting.Finding) bool {
	w := m.windowAround(f)
	before := newKnown(m.faults(w.texture, w.analysis))
	if !before.keys[keyOf(f)] {
		return false // the fault needs more of the piece than the window holds
	}
	// First the notes of the fault and of the chords it stands in, then those of
	// the chords beside them as well.
	for beside := range 2 {
		singles := m.changes(w, beside)
		for size := 1; size <= m.options.MaxNotes; size++ {
			if best := m.bestOf(combinations(singles, size), w, f, before); best != nil {
				m.texture = w.apply(m.texture, best)
				m.analysis = harmony.Assume(m.texture, m.labels)
				return true
			}
		}
	}
	return false
}

// bestOf tries candidates in order of distance and returns the one that leaves
// the fewest faults, nil if none removes the fault without bringing another.
func (m *mender) bestOf(candidates [][]change, w *window, f *partwriting.Finding, before *known) []change {
	var best []change
	fewest := len(before.keys) + 1
	for _, c := range candidates {
		changed := w.changed(c)
		after := m.faults(changed, harmony.Assume(changed, w.labels))
		if len(after) >= fewest {
			continue
		}
		ok := true
		for i := range after {
			if keyOf(&after[i]) == keyOf(f) || !before.has(&after[i]) {
				ok = false
				break
			}
		}
		if ok {
			best, fewest = c, len(after)
			if fewest == 0 {
				break
			}
		}
	}
	return best
}

// combinations lists the sets of so many changes of different notes, nearest
// first.
func combinations(singles []change, size int) [][]change {
	var out [][]change
	var extend func(from int, chosen []change)
	extend = func(from int, chosen []change) {
		if len(chosen) == size {
			out = append(out, append([]change(nil), chosen...))
			return
		}
		for i := from; i < len(singles); i++ {
			taken := false
			for _, c := range chosen {
				taken = taken || c.ref == singles[i].ref
			}
			if !taken {
				extend(i+1, append(chosen, singles[i]))
			}
		}
	}
	extend(0, nil)
	distance := func(c []change) int {
		sum := 0
		for i := range c {
			sum += c[i].distance
		}
		return sum
	}
	sort.SliceStable(out, func(i, j int) bool { return distance(out[i]) < distance(out[j]) })
	return out[:min(len(out), maxTries)]
}

// result compares the mended texture with the original.
func (m *mender) result() *Mending {
	r := &Mending{Texture: m.texture, Before: m.before, Left: m.faults(m.texture, m.analysis)}
	for v := range m.texture.Voices {
		for n := range m.texture.Voices[v].Notes {
			was, is := m.original.Voices[v].Notes[n].Pitch, m.texture.Voices[v].Notes[n].Pitch
			if was != is {
				r.Edits = append(r.Edits, partwriting.Edit{Note: partwriting.NoteRef{Voice: v, Note: n}, To: is})
				r.Distance += abs(is.Semitones() - was.Semitones())
			}
		}
	}
	onset := func(e partwriting.Edit) theory.Fraction {
		return m.texture.Voices[e.Note.Voice].Notes[e.Note.Note].Onset
	}
	sort.SliceStable(r.Edits, func(i, j int) bool { return onset(r.Edits[i]).Less(onset(r.Edits[j])) })
	return r
}
