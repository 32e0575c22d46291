package partwriting

import (
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
)

// FixOptions bound the search for ways to mend a finding.
type FixOptions struct {
	// PerFinding is how many alternatives to offer, in order of how little they
	// move; default 2.
	PerFinding int
	// Tries is how many changes are tried for one finding; default 48.
	Tries int
	// Findings is how many findings of a score are looked at; default 200.
	Findings int
	// Stop, if set, is asked between tries; once it says so, the findings that are
	// left get no fixes.
	Stop func() bool
}

func (o FixOptions) withDefaults() FixOptions {
	orDefault(&o.PerFinding, 2)
	orDefault(&o.Tries, 48)
	orDefault(&o.Findings, 200)
	return o
}

// SuggestFixes fills in the fixes of faults and cautions that [Passage.Check]
// returned for the same passage. A fix moves one note, or two notes of
// one chord, to other members of the harmony. Each is tried on a copy, which is
// read and checked anew: the finding must be gone and no new fault may be there.
// Findings for which nothing is found in the bounds of o get none. It returns how many
// of how many faults and cautions were looked at.
func (p *Passage) SuggestFixes(findings []Finding, o FixOptions) (looked, of int) {
	o = o.withDefaults()
	s := &fixer{passage: p, set: p.Set, before: tally(findings)}
	for i := range findings {
		f := &findings[i]
		if f.Severity < Caution {
			continue
		}
		if of++; looked == o.Findings || o.stopped() {
			continue
		}
		if f.Fixes = s.fixes(f, o); !o.stopped() {
			looked++
		}
	}
	return looked, of
}

func (o *FixOptions) stopped() bool { return o.Stop != nil && o.Stop() }

type fixer struct {
	passage *Passage
	set     *RuleSet
	before  map[findingKey]Severity
}

// findingKey is what makes two findings the same before and after a change.
type findingKey struct {
	rule   RuleID
	onset  theory.Fraction
	voices uint64
}

func keyOf(f *Finding) findingKey {
	k := findingKey{rule: f.Rule, onset: f.Onset}
	for _, v := range f.Voices {
		k.voices |= 1 << uint(v)
	}
	return k
}

func tally(findings []Finding) map[findingKey]Severity {
	m := make(map[findingKey]Severity, len(findings))
	for i := range findings {
		m[keyOf(&findings[i])] = findings[i].Severity
	}
	return m
}

func (s *fixer) fixes(f *Finding, o FixOptions) []Fix {
	var fixes []Fix
	tries := 0
	for _, fix := range s.candidates(f) {
		if tries == o.Tries || len(fixes) == o.PerFinding || o.stopped() {
			break
		}
		tries++
		if s.mends(f, fix) {
			fixes = append(fixes, fix)
		}
	}
	return fixes
}

// candidates lists changes of one note, then of two notes struck together, the
// smallest first.
func (s *fixer) candidates(f *Finding) []Fix {
	var singles []Fix
	notes := append([]NoteRef(nil), f.Notes...)
	for _, r := range notes {
		for _, to := range s.places(r) {
			singles = append(singles, Fix{Edits: []Edit{{Note: r, To: to}}})
		}
	}
	s.sort(singles)
	var doubles []Fix
	for i, a := range singles {
		for _, b := range singles[i+1:] {
			x, y := a.Edits[0], b.Edits[0]
			if x.Note.Voice == y.Note.Voice || s.passage.momentOf(x.Note) != s.passage.momentOf(y.Note) {
				continue
			}
			doubles = append(doubles, Fix{Edits: []Edit{x, y}})
		}
	}
	s.sort(doubles)
	return append(singles, doubles...)
}

func (s *fixer) sort(fixes []Fix) {
	size := func(fix Fix) int {
		sum := 0
		for _, e := range fix.Edits {
			sum += abs(e.To.Semitones() - s.passage.Note(e.Note).Pitch.Semitones())
		}
		return sum
	}
	sort.SliceStable(fixes, func(i, j int) bool { return size(fixes[i]) < size(fixes[j]) })
}

// places returns the other pitches of the harmony within an octave of a note and
// between its neighbors. A note that is foreign to the harmony stays as it is,
// unless the chord was named and the note is wrong in it.
func (s *fixer) places(r NoteRef) []theory.Pitch {
	p := s.passage
	m := p.momentOf(r)
	pitch := p.Note(r).Pitch
	classes := s.classes(m, pitch)
	if h := p.chordAt(m); !classes.has(pitch.Class()) && !named(h) {
		return nil
	}
	floor, ceiling := pitch.Semitones()-12, pitch.Semitones()+12
	if r.Voice+1 < len(p.Voices) {
		if c := p.cell(m, r.Voice+1); c.note >= 0 && int(c.semitones) <= pitch.Semitones() {
			floor = max(floor, int(c.semitones))
		}
	}
	if r.Voice > 0 {
		if c := p.cell(m, r.Voice-1); c.note >= 0 && int(c.semitones) >= pitch.Semitones() {
			ceiling = min(ceiling, int(c.semitones))
		}
	}
	var out []theory.Pitch
	for octave := pitch.Octave - 1; octave <= pitch.Octave+1; octave++ {
		for set := classes; set != 0; set &= set - 1 {
			class := set.flattest()
			to := theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: octave}
			if h := to.Semitones(); h >= floor && h <= ceiling && to != pitch {
				out = append(out, to)
			}
		}
	}
	return out
}

// classes are the members of the harmony at a moment, or what sounds there.
func (s *fixer) classes(m int, pitch theory.Pitch) pitchClasses {
	if h := s.passage.chordAt(m); h != nil {
		return h.set
	}
	return s.passage.spelling(m)
}

// mends applies a fix to a copy and checks it: first by the reading there is,
// which is quick, then by a new one.
func (s *fixer) mends(f *Finding, fix Fix) bool {
	p := s.passage
	changed := Apply(p.Texture, fix)
	if !s.better(f, Check(changed, p.Harmony, s.set)) {
		return false
	}
	return p.Harmony == nil || s.better(f, Check(changed, s.reread(changed), s.set))
}

// reread reads a changed copy anew; chords that were named keep their names.
func (s *fixer) reread(changed *theory.Texture) *harmony.Analysis {
	if given := s.passage.Harmony.Given; len(given) > 0 {
		return harmony.GuidedAs(changed, given, s.passage.Harmony.Use, s.passage.Harmony.Style)
	}
	var labels []harmony.Label
	for i := range s.passage.chords {
		h := &s.passage.chords[i]
		if !named(h) {
			return harmony.AnalyzeAs(changed, s.passage.Harmony.Style)
		}
		labels = append(labels, harmony.Label{Onset: h.Onset, Reading: h.Reading})
	}
	return harmony.Assume(changed, labels)
}

func (s *fixer) better(f *Finding, after []Finding) bool {
	gone := keyOf(f)
	for i := range after {
		k := keyOf(&after[i])
		if k == gone {
			return false
		}
		if before, known := s.before[k]; after[i].Severity == Fault && (!known || before < Fault) {
			return false
		}
	}
	return true
}

// Apply returns a copy of a texture with the edits of a fix made; the original
// does not change.
func Apply(t *theory.Texture, fix Fix) *theory.Texture {
	changed := *t
	changed.Voices = append([]theory.Voice(nil), t.Voices...)
	copied := uint64(0)
	for _, e := range fix.Edits {
		voice := &changed.Voices[e.Note.Voice]
		if copied>>uint(e.Note.Voice)&1 == 0 {
			voice.Notes = append([]theory.VoiceNote(nil), voice.Notes...)
			copied |= 1 << uint(e.Note.Voice)
		}
		voice.Notes[e.Note.Note].Pitch = e.To
	}
	return &changed
}
