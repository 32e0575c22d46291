package partwriting

import (
	"slices"

	"partwright/theory"
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
	// Only is the number of the one finding to look at, its index from 1; 0 looks
	// at all.
	Only int
	// Among are the numbers of the findings to look at, nil for all.
	Among []int
	// Whole checks the whole passage again after each change, not only the measures
	// around it. It offers the same and takes far longer: tests compare the two.
	Whole bool
}

func (o FixOptions) withDefaults() FixOptions {
	orDefault(&o.PerFinding, 2)
	orDefault(&o.Tries, 48)
	orDefault(&o.Findings, 200)
	return o
}

// SuggestFixes fills in the fixes of faults and cautions that [Passage.Check]
// returned for the same passage. A fix moves one note, or two notes of one chord, to
// other members of the harmony. Each is tried on a copy, of which the measures around
// the change are read and checked anew: the finding must be gone and no new fault may
// be there. Findings for which nothing is found in the bounds of o get none. It returns
// how many of how many faults and cautions were looked at.
func (p *Passage) SuggestFixes(findings []Finding, o FixOptions) (looked, of int) {
	o = o.withDefaults()
	s := newFixer(p, findings, o)
	for i := range findings {
		f := &findings[i]
		if f.Severity < Caution || !o.asks(i+1) {
			continue
		}
		if of++; looked == o.Findings || o.stopped() {
			continue
		}
		if f.Fixes = s.fixes(f); !o.stopped() {
			looked++
		}
	}
	return looked, of
}

// asks tells whether a finding of that number is to be looked at.
func (o *FixOptions) asks(number int) bool {
	return (o.Only == 0 || o.Only == number) && (o.Among == nil || slices.Contains(o.Among, number))
}

func (o *FixOptions) stopped() bool { return o.Stop != nil && o.Stop() }

// fixer looks for fixes in one passage.
type fixer struct {
	passage *Passage
	options FixOptions
	judge   judge
}

// judge tells whether a change mends a finding.
type judge interface {
	mends(f *Finding, fix Fix) bool
}

func newFixer(p *Passage, findings []Finding, o FixOptions) *fixer {
	whole := &wholeJudge{passage: p, before: tally(findings)}
	s := &fixer{passage: p, options: o, judge: whole}
	if !o.Whole {
		s.judge = newLocalJudge(whole)
	}
	return s
}

func (s *fixer) fixes(f *Finding) []Fix {
	var fixes []Fix
	tries := 0
	for _, fix := range s.candidates(f) {
		if tries == s.options.Tries || len(fixes) == s.options.PerFinding || s.options.stopped() {
			break
		}
		tries++
		if s.judge.mends(f, fix) {
			fixes = append(fixes, fix)
		}
	}
	return fixes
}

// Apply returns a copy of a texture with the edits of a fix made; the original
// does not change.
func Apply(t *theory.Texture, fix Fix) *theory.Texture {
	changed := *t
	changed.Voices = append([]theory.Voice(nil), t.Voices...)
	for i, e := range fix.Edits {
		voice := &changed.Voices[e.Note.Voice]
		if !touches(fix.Edits[:i], e.Note.Voice) {
			voice.Notes = append([]theory.VoiceNote(nil), voice.Notes...)
		}
		voice.Notes[e.Note.Note].Pitch = e.To
	}
	return &changed
}

// touches reports whether one of some edits is in a voice.
func touches(edits []Edit, voice int) bool {
	for _, e := range edits {
		if e.Note.Voice == voice {
			return true
		}
	}
	return false
}
