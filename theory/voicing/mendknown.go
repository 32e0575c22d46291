package voicing

import (
	"partwright/theory"
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
