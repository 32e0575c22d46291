package voicing

import (
	"context"
	"slices"

	"partwright/theory/partwriting"
)

// Obstacle says why a progression cannot be voiced without a fault: which rules the
// least bad voicing breaks, each with the chord at which it does, and the smallest
// change that opens the way, nil where none does. Both are nil where nothing is in the way.
func (r *Search) Obstacle(ctx context.Context, set *partwriting.RuleSet) (breaks []Broken, opens *partwriting.Said) {
	if r.impossible == nil {
		return nil, nil
	}
	best, _ := r.LeastBad()
	return r.broken(best, set), r.problem.opening(ctx, r.impossible)
}

// Broken is a rule that a voicing breaks, with the chord at which it does, counted from 1.
type Broken struct {
	Rule  partwriting.RuleID
	Chord int
}

// broken names the rules that a voicing breaks, with the chord at which it does.
func (r *Search) broken(s *Solution, set *partwriting.RuleSet) []Broken {
	style := &r.problem.Style
	if set == nil {
		set = style.RuleSet()
	}
	layout := Layout{}
	texture := s.Texture(style, layout)
	var out []Broken
	for _, f := range partwriting.Check(texture, s.Harmony(texture, layout), set) {
		if f.Severity < partwriting.Fault || f.Family == partwriting.Progression {
			continue
		}
		b := Broken{f.Rule, int(f.Onset.Num()/f.Onset.Den()) + 1}
		if !slices.Contains(out, b) {
			out = append(out, b)
		}
	}
	return out[:min(len(out), maxBroken)]
}

// maxBroken is how many broken rules are named.
const maxBroken = 4

// opening names the smallest change after which a progression can be voiced: a given
// note is freed, else one of the two chords takes another inversion. It is nil where neither
// helps.
func (p *Problem) opening(ctx context.Context, at *ImpossibleError) *partwriting.Said {
	for _, try := range []func(context.Context, int) *partwriting.Said{p.freeing, p.inverting} {
		for _, k := range []int{at.Slot, at.Slot - 1} {
			if k < 0 || ctx.Err() != nil {
				continue
			}
			if says := try(ctx, k); says != nil {
				return says
			}
		}
	}
	return nil
}

// freeing tries to free each given note of a chord.
func (p *Problem) freeing(ctx context.Context, k int) *partwriting.Said {
	for v, pitch := range p.Slots[k].Fixed {
		if pitch == nil {
			continue
		}
		slot := p.Slots[k]
		slot.Fixed = slices.Clone(slot.Fixed)
		slot.Fixed[v] = nil
		if p.opens(ctx, k, slot) {
			return &partwriting.Said{
				Phrase: partwriting.OpensFreed,
				Pairs:  []any{"voice", partwriting.VoiceName(p.Style.Voices[v].Name), "pitch", *pitch, "chord", k + 1},
			}
		}
	}
	return nil
}

// inverting tries a chord over each other note of its own.
func (p *Problem) inverting(ctx context.Context, k int) *partwriting.Said {
	slot := p.Slots[k]
	if len(slot.Choices) != 1 || slot.Choices[0].Reading.Numeral.Cadential {
		return nil
	}
	for _, c := range Inversions(slot.Choices[0].Reading).Choices {
		if c.Reading == slot.Choices[0].Reading {
			continue
		}
		slot.Choices = []Choice{c}
		if p.opens(ctx, k, slot) {
			return &partwriting.Said{
				Phrase: partwriting.OpensInverted,
				Pairs:  []any{"reading", c.Reading.Numeral.Text(c.Reading.Key.Mode), "chord", k + 1},
			}
		}
	}
	return nil
}

// opens reports whether the problem can be solved with another slot in one place.
func (p *Problem) opens(ctx context.Context, k int, slot Slot) bool {
	changed := *p
	changed.Slots = slices.Clone(p.Slots)
	changed.Slots[k] = slot
	_, err := newLattice(ctx, &changed, forbidden, false)
	return err == nil
}
