package voicing

import (
	"cmp"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Way is how the upper voices go to the next chord, as a teacher groups what is
// possible.
type Way int8

// Ways, in the order they are weighed.
const (
	// KeepCommon: every upper voice that can hold a common tone holds it.
	KeepCommon Way = iota
	// AgainstBass: all upper voices that move go against the bass.
	AgainstBass
	// SimilarUp and SimilarDown: all upper voices that move go up, or down.
	SimilarUp
	SimilarDown
	// MixedWays: anything else.
	MixedWays
)

// String returns a phrase in kebab case.
func (w Way) String() string {
	return [...]string{"keep-common", "against-bass", "similar-up", "similar-down", "mixed"}[w]
}

// Awkwardness is what deserves a look in an option that breaks no rule.
type Awkwardness struct {
	Kind AwkwardKind
	// Voices are the voices concerned, from the top.
	Voices []int
}

// AwkwardKind names what makes an option awkward or worth watching.
type AwkwardKind int8

// Kinds of awkwardness.
const (
	// LargeLeap: a voice moves by more than a fourth.
	LargeLeap AwkwardKind = iota
	// DiminishedLeap: a voice moves by a diminished interval.
	DiminishedLeap
	// Clash: two neighboring upper voices stand a second apart.
	Clash
	// WatchFifth and WatchOctave: a voice stands a fifth or octave above the
	// bass, so the next change must not repeat it.
	WatchFifth
	WatchOctave
	// NewPosition: the chord opens or closes.
	NewPosition
	// OverlapsNeighbor: a voice moves past its neighbor's last note.
	OverlapsNeighbor
	// UnisonHere: two neighbors meet on one note.
	UnisonHere
)

// String returns the kind in kebab case.
func (k AwkwardKind) String() string {
	return [...]string{"large-leap", "diminished-leap", "clash", "watch-fifth", "watch-octave",
		"new-position", "overlap", "unison"}[k]
}

// Option is one way to go on from a sonority.
type Option struct {
	Way     Way
	Pitches []theory.Pitch
	Moves   []VoiceMove
	// Cost leaves out what no weight is set on because the solver forbids it.
	Cost Cost
	// Findings are what the rule set says of the new sonority and of the way to it,
	// the gravest first; the choice of the chords is not judged.
	Findings []partwriting.Finding
	// Awkward is what deserves a look besides.
	Awkward []Awkwardness
	// Onward counts, for each reading that was asked about, in how many
	// arrangements it can follow this one without a fault.
	Onward []int
	// barred counts the rules for which the solver would forbid it.
	barred int
	// at is the arrangement that it is of the next chord, look what all options of its
	// question know of the chords after that.
	at   *arrangement
	look *outlook
}

// Severity is that of the gravest finding, [partwriting.Off] where there is none.
func (o *Option) Severity() partwriting.Severity {
	if len(o.Findings) == 0 {
		return partwriting.Off
	}
	return o.Findings[0].Severity
}

// Question asks how a sonority can go on.
type Question struct {
	// From is the sonority, which may close a phrase; To is what follows, Ends is set where
	// that closes one.
	From  Chord
	To    harmony.Reading
	Ends  bool
	Style Style
	// RuleSet is the law; nil is that of the style.
	RuleSet *partwriting.RuleSet
	// Best is how many options are wanted of each kind in each group: of those that
	// break no rule, of those with a caution, of those with a fault. 0 is all.
	Best int
	// Given are notes of the next chord that are settled, by voice from the top, nil where a
	// voice is free.
	Given []*theory.Pitch
	// Onward are readings that might come after the next; [Option.Onward] answers
	// in their order.
	Onward []harmony.Reading
	// Work is the budget of the question, nil for none.
	Work *theory.Work
}

// stepsOfChecking is about what it takes to check two chords, in steps of [theory.Work].
const stepsOfChecking = 64

// Options lists the continuations of a chord within the ranges, the spacing and the
// order of the voices, whatever rule they break, grouped by way; in a group those
// that break no rule come first, then those with cautions, then those with faults,
// each the cheapest first. There is none only where the notes that sound are not those
// of their chord, or no arrangement of the next one lies within the style.
func Options(q Question) []Option {
	q.Style.work = q.Work
	if q.RuleSet != nil {
		q.Style.Rules = q.RuleSet
	}
	from := standingFrom(&q)
	if len(from.arrangements) == 0 {
		return nil
	}
	to := arrangeWith(Choice{Reading: q.To}, &Slot{Fixed: q.Given, PhraseEnd: q.Ends, beside: besideLast(from, q.Ends)}, &q.Style, anyhow)
	if len(to.arrangements) == 0 {
		return nil
	}
	mover := newMover(&q.From, q.To)
	out := choose(&q, candidates(&q, from, to, mover), mover)
	look := newOutlook(to.only(out), &q.Style, q.Onward)
	for i := range out {
		o := &out[i]
		o.at, o.look = &look.to.arrangements[i], look
		o.Onward = look.from(o.at)
	}
	return out
}

// only is a set with the arrangements of some options.
func (s *set) only(options []Option) *set {
	few := *s
	few.arrangements = make([]arrangement, len(options))
	for i := range options {
		few.arrangements[i] = *options[i].at
	}
	few.pairUp(len(options[0].Pitches))
	return &few
}

// candidates are all arrangements of the next chord as options that nobody has judged
// yet, by way and cost.
func candidates(q *Question, from, to *set, mover *mover) []*Option {
	m := newMotions(from, to, &q.Style, penalty)
	n := len(q.Style.Voices)
	all, order := make([]Option, len(to.arrangements)), make([]*Option, len(to.arrangements))
	pitches := make([]theory.Pitch, n*len(all))
	m.leave(&from.arrangements[0])
	for j := range all {
		a, o := &to.arrangements[j], &all[j]
		cost := m.reach(a)
		order[j] = o
		*o = Option{
			Pitches: pitches[j*n : (j+1)*n : (j+1)*n],
			Cost:    cost%penalty + a.cost, barred: int(cost/penalty) + int(a.faults), at: a,
		}
		for v := range o.Pitches {
			o.Pitches[v] = to.tones[v][a.tone[v]].pitch
		}
		o.Way = mover.way(o.Pitches)
	}
	slices.SortStableFunc(order, func(a, b *Option) int {
		if a.Way != b.Way {
			return cmp.Compare(a.Way, b.Way)
		}
		return cmp.Compare(a.Cost, b.Cost)
	})
	return order
}

// choose judges candidates and keeps the best of each kind in each group, those that
// break no rule first, then those with cautions, then those with faults. Where enough
// are found it judges no more: what the solver bars the rules call a fault, and nothing
// else.
func choose(q *Question, all []*Option, mover *mover) []Option {
	judge, open := newJudge(q), standsOpenly(q.From.Pitches)
	var out []Option
	for len(all) > 0 {
		group := 1
		for group < len(all) && all[group].Way == all[0].Way {
			group++
		}
		var kept [partwriting.Fault + 1][]Option
		enough := func(kind partwriting.Severity) bool { return q.Best > 0 && len(kept[kind]) >= q.Best }
		for _, o := range all[:group] {
			if o.barred > 0 && enough(partwriting.Fault) || o.barred == 0 && enough(partwriting.Remark) && enough(partwriting.Caution) {
				continue
			}
			q.Work.Step(stepsOfChecking)
			o.Findings = judge.findings(o.Pitches)
			if kind := o.kind(); !enough(kind) {
				o.Moves = make([]VoiceMove, len(o.Pitches))
				mover.moves(o.Pitches, o.Moves)
				o.Awkward = awkward(q, o, open != standsOpenly(o.Pitches))
				kept[kind] = append(kept[kind], *o)
			}
		}
		out = append(append(append(out, kept[partwriting.Remark]...), kept[partwriting.Caution]...), kept[partwriting.Fault]...)
		all = all[group:]
	}
	return out
}

// standsOpenly reports whether the upper voices span more than an octave.
func standsOpenly(pitches []theory.Pitch) bool {
	return pitches[0].Semitones()-pitches[len(pitches)-2].Semitones() > 12
}

// kind is the severity by which options are sorted: a remark is no reason to come
// later.
func (o *Option) kind() partwriting.Severity { return max(o.Severity(), partwriting.Remark) }

// standingFrom is the sonority that is given, however it stands.
func standingFrom(q *Question) *set {
	fixed := Slot{PhraseEnd: q.From.PhraseEnd, beside: beside{ends: q.From.PhraseEnd}}
	for v := range q.From.Pitches {
		fixed.Fixed = append(fixed.Fixed, &q.From.Pitches[v])
	}
	return arrangeWith(Choice{Reading: q.From.Reading}, &fixed, &q.Style, beyondReach)
}

// besideLast is what stands next to a chord that nothing is known to follow: the chord before
// it, unless that closes a phrase.
func besideLast(before *set, ends bool) beside {
	if before.phraseEnd {
		return beside{ends: ends}
	}
	return beside{before: &before.chord, ends: ends}
}

// outlook counts what can follow. It looks from the arrangements of to to those of each
// chord onward that break no rule by themselves.
type outlook struct {
	style *Style
	to    *set
	ways  []*motions
}

func newOutlook(to *set, style *Style, onward []harmony.Reading) *outlook {
	l := &outlook{style: style, to: to}
	for _, r := range onward {
		l.ways = append(l.ways, newMotions(to, arrange(Choice{Reading: r}, &Slot{beside: besideLast(to, false)}, style), style, forbidden))
	}
	return l
}

func (l *outlook) from(at *arrangement) []int {
	counts := make([]int, len(l.ways))
	for w, m := range l.ways {
		l.style.work.Step(len(m.b.arrangements) / 8)
		m.leave(at)
		for j := range m.b.arrangements {
			if m.reach(&m.b.arrangements[j]) < forbidden {
				counts[w]++
			}
		}
	}
	return counts
}

// way is how the upper voices go to these notes.
func (m *mover) way(to []theory.Pitch) Way {
	kept, left, up, down := 0, 0, 0, 0
	bass := len(to) - 1
	for v := range bass {
		move := theory.Between(m.from.Pitches[v], to[v])
		switch {
		case m.common[v] && move == theory.Unison:
			kept++
		case move.Semitones > 0:
			up++
		case move.Semitones < 0:
			down++
		}
		if m.common[v] && move != theory.Unison {
			left++
		}
	}
	below := theory.Between(m.from.Pitches[bass], to[bass]).Semitones
	switch {
	case kept > 0 && left == 0:
		return KeepCommon
	case below > 0 && up == 0 || below < 0 && down == 0:
		return AgainstBass
	case down == 0:
		return SimilarUp
	case up == 0:
		return SimilarDown
	}
	return MixedWays
}

func awkward(q *Question, to *Option, position bool) []Awkwardness {
	from, all := &q.From, to.Moves
	var out []Awkwardness
	note := func(kind AwkwardKind, voices ...int) { out = append(out, Awkwardness{kind, voices}) }
	bass := len(all) - 1
	for v, m := range all {
		if v < bass && m.Interval.Number() > 4 {
			note(LargeLeap, v)
		}
		if m.Interval.Quality() <= theory.Diminished && m.Interval.Steps != 0 {
			note(DiminishedLeap, v)
		}
		if v == bass {
			break
		}
		gap := theory.Between(to.Pitches[v+1], to.Pitches[v])
		if v+1 < bass && gap.Steps == 1 {
			note(Clash, v, v+1)
		}
		if gap == theory.Unison {
			note(UnisonHere, v, v+1)
		}
		if to.Pitches[v+1].Above(from.Pitches[v]) || from.Pitches[v+1].Above(to.Pitches[v]) {
			note(OverlapsNeighbor, v, v+1)
		}
		switch above := theory.Between(to.Pitches[bass], to.Pitches[v]); {
		case above.IsPerfectFifth() && q.couldRepeat(theory.PerfectFifth):
			note(WatchFifth, v, bass)
		case above.IsPerfectOctave() && q.couldRepeat(theory.Unison):
			note(WatchOctave, v, bass)
		}
	}
	if position {
		note(NewPosition)
	}
	return slices.DeleteFunc(out, func(a Awkwardness) bool { return q.startsAnew(a.Kind) })
}

// startsAnew reports whether a phrase that ends before or with the chord takes away what is
// awkward: singers have taken breath, or what comes next follows a breath.
func (q *Question) startsAnew(kind AwkwardKind) bool {
	switch kind {
	case LargeLeap, DiminishedLeap, OverlapsNeighbor, NewPosition:
		return q.From.PhraseEnd
	case WatchFifth, WatchOctave:
		return q.Ends
	}
	return false
}
