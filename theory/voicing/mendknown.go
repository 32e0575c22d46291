package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
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

// judged is a version of the music with what is found in it.
type judged struct {
	analysis *harmony.Analysis
	// grave are the findings of the chosen severity, in reading order.
	grave []partwriting.Finding
	// severity holds every finding; inRange the notes of grave findings that stand
	// for several notes.
	severity map[faultKey]partwriting.Severity
	inRange  map[partwriting.RuleID]map[partwriting.NoteRef]bool
	// cautions counts all findings from a caution up.
	cautions int
	// perfects are the fifths, octaves and unisons in a row.
	perfects map[perfectsAt]bool
}

// perfectsAt is where two voices go from one perfect interval to another of its kind.
type perfectsAt struct {
	moment, upper, lower int
	kind                 partwriting.Distance
}

// perfectsIn lists every two fifths, octaves or unisons in a row, in any motion and
// over any join, however little a rule set makes of them: no mending may bring one.
// Where both voices keep their notes in another register, nothing has moved on.
func perfectsIn(t *theory.Texture) map[perfectsAt]bool {
	out := map[perfectsAt]bool{}
	for m := 1; m < len(t.Moments); m++ {
		t.Score.Work.Step(len(t.Voices))
		for u := range t.Voices {
			a, b := t.Sounding(m-1, u), t.Sounding(m, u)
			if a == nil || b == nil || !t.IsStruck(m, u) || a.Pitch.Semitones() == b.Pitch.Semitones() {
				continue
			}
			for l := u + 1; l < len(t.Voices); l++ {
				c, d := t.Sounding(m-1, l), t.Sounding(m, l)
				if c == nil || d == nil || !t.IsStruck(m, l) || c.Pitch.Semitones() == d.Pitch.Semitones() ||
					a.Pitch.Class() == b.Pitch.Class() && c.Pitch.Class() == d.Pitch.Class() {
					continue
				}
				kind := perfectBetween(a.Pitch, c.Pitch)
				if kind != partwriting.OtherDistance && kind == perfectBetween(b.Pitch, d.Pitch) {
					out[perfectsAt{m, u, l, kind}] = true
				}
			}
		}
	}
	return out
}

// perfectBetween tells fifths and octaves, among which are unisons, from anything else.
func perfectBetween(high, low theory.Pitch) partwriting.Distance {
	switch d := partwriting.DistanceOf(theory.Between(low, high)); d {
	case partwriting.PerfectFifthApart, partwriting.OctaveApart:
		return d
	case partwriting.UnisonApart:
		return partwriting.OctaveApart
	}
	return partwriting.OtherDistance
}

// gathered are the rules whose findings stand for all notes of a phrase: when the
// first note is mended, the finding moves on to the next and is no new one.
var gathered = []partwriting.RuleID{"range", "tessitura"}

// read checks a version of the whole.
func (m *mender) read(t *theory.Texture, a *harmony.Analysis) *judged {
	return m.judge(t, a, partwriting.Check(t, a, m.options.RuleSet))
}

// readWindow checks a version of a window. What a window alone would say about the
// hand-in as a whole, a bass that lies low for some chords, is no finding.
func (m *mender) readWindow(t *theory.Texture, a *harmony.Analysis) *judged {
	return m.judge(t, a, partwriting.CheckPart(t, a, m.options.RuleSet))
}

func (m *mender) judge(t *theory.Texture, a *harmony.Analysis, findings []partwriting.Finding) *judged {
	r := &judged{analysis: a, severity: map[faultKey]partwriting.Severity{}, inRange: map[partwriting.RuleID]map[partwriting.NoteRef]bool{}, perfects: perfectsIn(t)}
	for _, f := range findings {
		k := keyOf(&f)
		r.severity[k] = max(r.severity[k], f.Severity)
		if f.Severity >= partwriting.Caution {
			r.cautions++
		}
		if f.Severity < m.options.Severity {
			continue
		}
		r.grave = append(r.grave, f)
		if slices.Contains(gathered, f.Rule) {
			if r.inRange[f.Rule] == nil {
				r.inRange[f.Rule] = map[partwriting.NoteRef]bool{}
			}
			for _, n := range slices.Concat(f.Notes, f.Related) {
				r.inRange[f.Rule][n] = true
			}
		}
	}
	return r
}

// has reports whether a finding is among the grave ones.
func (r *judged) has(f *partwriting.Finding) bool {
	return slices.ContainsFunc(r.grave, func(g partwriting.Finding) bool { return keyOf(&g) == keyOf(f) })
}

// isNew reports whether a grave finding was not there before, or less grave.
func (r *judged) isNew(f *partwriting.Finding) bool {
	if r.severity[keyOf(f)] >= f.Severity {
		return false
	}
	known := r.inRange[f.Rule]
	return len(known) == 0 || slices.ContainsFunc(f.Notes, func(n partwriting.NoteRef) bool { return !known[n] })
}

// allows reports whether a change of the music is admitted that led from one reading
// to another and was to take away one fault, nil for none in particular.
func (r *judged) allows(after *judged, mended *partwriting.Finding) bool {
	if mended != nil && after.has(mended) {
		return false
	}
	for i := range after.grave {
		if r.isNew(&after.grave[i]) {
			return false
		}
	}
	for p := range after.perfects {
		if !r.perfects[p] {
			return false
		}
	}
	return true
}

// newIn lists the grave findings of a later reading that this one does not have.
func (r *judged) newIn(after *judged) []partwriting.Finding {
	var out []partwriting.Finding
	for i := range after.grave {
		if r.isNew(&after.grave[i]) {
			out = append(out, after.grave[i])
		}
	}
	return out
}
