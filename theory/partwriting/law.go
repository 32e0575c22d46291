package partwriting

// Law is a rule set made ready to be asked about the smallest stretches that its
// rules need: how two voices go from one sonority to the next ([PairMove]), how one
// voice does ([Move], [Resolution]), and how a chord is voiced ([Sonority], [Gap]). The
// rules that a check reports are these; whoever voices chords asks them beforehand.
// What a rule needs besides (an embellishment, a rest, a chord in doubt) only a check
// of the whole texture can know, and only makes it milder.
type Law struct {
	set    *RuleSet
	limits Limits
	pair   []Severity
	weight map[RuleID]Severity
}

// NewLaw makes a rule set ready; nil is the default one.
func NewLaw(set *RuleSet) *Law {
	l := &Law{set: set, limits: set.limits(), weight: make(map[RuleID]Severity, len(suite))}
	for _, r := range suite {
		l.weight[r.ID] = set.SeverityOf(r)
	}
	for i := range pairRules {
		l.pair = append(l.pair, l.weight[pairRules[i].id])
	}
	return l
}

// Set is the rule set that the law was made of.
func (l *Law) Set() *RuleSet { return l.set }

// Limits are the thresholds of the law with every default filled in.
func (l *Law) Limits() *Limits { return &l.limits }

// Severity is what a rule weighs.
func (l *Law) Severity(rule RuleID) Severity { return l.weight[rule] }

// Telling is what a law says of a stretch: a rule that it breaks, and how grave that
// is here.
type Telling func(rule RuleID, severity Severity)

// tell tells a rule that is broken, at most as grave as the rule itself allows there;
// [Off] leaves it to the set.
func (l *Law) tell(rule RuleID, most Severity, tell Telling) {
	if severity := l.weighed(rule, most, true); severity != Off {
		tell(rule, severity)
	}
}

// weighed is how grave a rule is where it is broken.
func (l *Law) weighed(rule RuleID, most Severity, broken bool) Severity {
	if !broken {
		return Off
	}
	if severity := l.weight[rule]; most == Off || severity < most {
		return severity
	}
	return most
}

// Pair tells which rules two voices break together.
func (l *Law) Pair(m *PairMove, tell Telling) {
	for i := range pairRules {
		if l.pair[i] == Off {
			continue
		}
		if most, broken := pairRules[i].asked(m, &l.limits); broken {
			l.tell(pairRules[i].id, most, tell)
		}
	}
}

// Revoiced reports whether a chord only changes its position where another follows in
// its phrase: the same root goes on with a member more or less, as where V becomes V7.
// Another quality on the same root is a change, and so is a chord that becomes the
// dominant of another degree.
func Revoiced(a, b *Chord) bool {
	return a.Root() == b.Root() && a.applied == b.applied && (a.set&^b.set == 0 || b.set&^a.set == 0)
}

// Sonority tells which rules the notes of a chord break by their number.
func (l *Law) Sonority(s *Sonority, tell Telling) {
	for i := range sonorityRules {
		if most, broken := sonorityRules[i].breaks(s); broken {
			l.tell(sonorityRules[i].id, most, tell)
		}
	}
}
