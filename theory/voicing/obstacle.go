package voicing

import (
	"context"
	"fmt"
	"slices"

	"partwright/theory/partwriting"
)

// Obstacle says why a progression cannot be voiced without a fault: which rules the
// least bad voicing breaks, each with the chord at which it does, and the smallest
// change that opens the way, in a clause. Both are empty where nothing is in the way.
func (r *Search) Obstacle(ctx context.Context, set *partwriting.RuleSet) (breaks []string, opens string) {
	if r.impossible == nil {
		return nil, ""
	}
	best, _ := r.LeastBad()
	return r.broken(best, set), r.problem.opening(ctx, r.impossible)
}

// broken names the rules that a voicing breaks, with the chord at which it does.
func (r *Search) broken(s *Solution, set *partwriting.RuleSet) []string {
	style := &r.problem.Style
	if set == nil {
		set = style.RuleSet()
	}
	layout := Layout{}
	texture := s.Texture(style, layout)
	var out []string
	for _, f := range partwriting.Check(texture, s.Harmony(texture, layout), set) {
		if f.Severity < partwriting.Fault || f.Family == partwriting.Progression {
			continue
		}
		says := fmt.Sprintf("%s at chord %d", f.Rule, f.Onset.Num()/f.Onset.Den()+1)
		if !slices.Contains(out, says) {
			out = append(out, says)
		}
	}
	return out[:min(len(out), maxBroken)]
}

// maxBroken is how many broken rules are named.
const maxBroken = 4

// opening names the smallest change after which a progression can be voiced: a given
// note is freed, else one of the two chords takes another inversion. It is "" where neither
// helps.
func (p *Problem) opening(ctx context.Context, at *ImpossibleError) string {
	for _, try := range []func(context.Context, int) string{p.freeing, p.inverting} {
		for _, k := range []int{at.Slot, at.Slot - 1} {
			if k < 0 || ctx.Err() != nil {
				continue
			}
			if says := try(ctx, k); says != "" {
				return says
			}
		}
	}
	return ""
}

// freeing tries to free each given note of a chord.
func (p *Problem) freeing(ctx context.Context, k int) string {
	for v, pitch := range p.Slots[k].Fixed {
		if pitch == nil {
			continue
		}
		slot := p.Slots[k]
		slot.Fixed = slices.Clone(slot.Fixed)
		slot.Fixed[v] = nil
		if p.opens(ctx, k, slot) {
			return fmt.Sprintf("it opens when %s is not given %v in chord %d", p.Style.Voices[v].Name, pitch, k+1)
		}
	}
	return ""
}

// inverting tries a chord over each other note of its own.
func (p *Problem) inverting(ctx context.Context, k int) string {
	slot := p.Slots[k]
	if len(slot.Choices) != 1 || slot.Choices[0].Reading.Numeral.Cadential {
		return ""
	}
	for _, c := range Inversions(slot.Choices[0].Reading).Choices {
		if c.Reading == slot.Choices[0].Reading {
			continue
		}
		slot.Choices = []Choice{c}
		if p.opens(ctx, k, slot) {
			return fmt.Sprintf("it opens with %v as chord %d", c.Reading.Numeral.Text(c.Reading.Key.Mode), k+1)
		}
	}
	return ""
}

// opens reports whether the problem can be solved with another slot in one place.
func (p *Problem) opens(ctx context.Context, k int, slot Slot) bool {
	changed := *p
	changed.Slots = slices.Clone(p.Slots)
	changed.Slots[k] = slot
	_, err := newLattice(ctx, &changed, forbidden, false)
	return err == nil
}
