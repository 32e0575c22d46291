package request

import (
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/texture"
)

// Law is the choice of rules for a score: the set that was named, or the one that
// suits its texture.
type Law struct {
	// RuleSet is the set that was named, nil for the one that suits the texture.
	RuleSet *partwriting.RuleSet
	// Texture is what scores are to be taken for; the zero Kind is what they are
	// read as.
	Texture texture.Kind
	// accepted are findings to let stand, by printed measure.
	accepted map[string][]partwriting.RuleID
}

// For returns the rules that a score is held to.
func (l *Law) For(t *theory.Texture) *partwriting.RuleSet {
	if l.RuleSet != nil {
		return l.ForKind(texture.ByItself)
	}
	return l.ForKind(texture.As(t, l.Texture).Kind)
}

// ForKind returns the rules for a score that is taken for a kind of texture.
func (l *Law) ForKind(kind texture.Kind) *partwriting.RuleSet {
	set := l.RuleSet
	if set == nil {
		set = partwriting.RuleSetByName(partwriting.SetFor(kind))
	}
	if l.accepted == nil && l.Texture == texture.ByItself {
		return set
	}
	own := *set.Accepting(l.accepted)
	if l.Texture != texture.ByItself {
		own.Limits.Texture = l.Texture
	}
	return &own
}

// law reads the choice.
func (r *Rules) law() (l Law, err error) {
	if l.RuleSet, err = r.named(); err != nil {
		return l, err
	}
	if l.accepted, err = r.accepted(); err != nil {
		return l, err
	}
	l.Texture, _ = texture.ParseKind(r.Texture) // one of the choices
	return l, nil
}
