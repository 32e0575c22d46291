package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Ahead is what an option means for a chord that might come after it.
type Ahead struct {
	// Repeats lists the upper voices that stand a perfect fifth or octave above the bass
	// and could have the same interval again, above another bass note and without a leap
	// of more than a fourth.
	Repeats []int
	// Least is the least bad way on where the chord is closed, nil where it is open or has
	// no arrangement at all. Its findings say why it is closed.
	Least *Option
}

// Lookahead looks from the options of one question to the chords after them.
type Lookahead struct {
	question *Question
	// anyhow are the ways to each chord that the question asks about, whatever rule they
	// break, nil until they are asked for.
	anyhow []*motions
}

// NewLookahead prepares to look ahead from the options of a question.
func NewLookahead(q *Question) *Lookahead {
	q.Style.work = q.Work
	if q.RuleSet != nil {
		q.Style.Rules = q.RuleSet
	}
	return &Lookahead{question: q, anyhow: make([]*motions, len(q.Onward))}
}

// From looks ahead from one option, in the order of [Question.Onward].
func (l *Lookahead) From(o *Option) []Ahead {
	out := make([]Ahead, len(l.anyhow))
	for i := range out {
		out[i].Repeats = repeats(o.Pitches, o.look.ways[i].b)
		if o.Onward[i] == 0 {
			out[i].Least = l.least(o, i)
		}
	}
	return out
}

// least is the cheapest of the ways on that break the fewest rules.
func (l *Lookahead) least(o *Option, onward int) *Option {
	q := l.question
	if l.anyhow[onward] == nil {
		slot := &Slot{beside: besideLast(o.look.to, false)}
		l.anyhow[onward] = newMotions(o.look.to, arrangeWith(Choice{Reading: q.Onward[onward]}, slot, &q.Style, anyhow), &q.Style, penalty)
	}
	m := l.anyhow[onward]
	if len(m.b.arrangements) == 0 {
		return nil
	}
	q.Work.Step(len(m.b.arrangements) / 8)
	best, cheapest := 0, Cost(-1)
	m.leave(o.at)
	for j := range m.b.arrangements {
		b := &m.b.arrangements[j]
		if c := m.reach(b) + b.cost + Cost(b.faults)*penalty; cheapest < 0 || c < cheapest {
			best, cheapest = j, c
		}
	}
	next := Chord{Reading: q.Onward[onward], Pitches: m.b.pitches(&m.b.arrangements[best], len(o.Pitches))}
	from := l.Question(o.Pitches, next.Reading)
	q.Work.Step(stepsOfChecking)
	return &Option{
		Pitches: next.Pitches, Moves: moves(&from.From, &next), Cost: cheapest % penalty,
		Findings: newJudge(from).findings(next.Pitches),
	}
}

// Question is how an option could go on to a chord after it.
func (l *Lookahead) Question(pitches []theory.Pitch, onward harmony.Reading) *Question {
	q := l.question
	return &Question{From: Chord{Reading: q.To, Pitches: pitches, PhraseEnd: q.Ends}, To: onward, Style: q.Style, RuleSet: q.RuleSet, Work: q.Work}
}

// pitches are the notes of an arrangement, from the top.
func (s *set) pitches(a *arrangement, voices int) []theory.Pitch {
	out := make([]theory.Pitch, voices)
	for v := range out {
		out[v] = s.tones[v][a.tone[v]].pitch
	}
	return out
}

// repeats lists the upper voices that could have their fifth or octave again.
func repeats(pitches []theory.Pitch, next *set) []int {
	var out []int
	bass := len(pitches) - 1
	for v := range bass {
		above := theory.Between(pitches[bass], pitches[v])
		if !above.IsPerfectFifth() && !above.IsPerfectOctave() {
			continue
		}
		for j := range next.arrangements {
			a := &next.arrangements[j]
			low, high := next.tones[bass][a.tone[bass]].pitch, next.tones[v][a.tone[v]].pitch
			if low == pitches[bass] || high == pitches[v] {
				continue // no parallel without motion in both voices
			}
			if theory.Between(low, high).Simple() == above.Simple() && theory.Between(pitches[v], high).Abs().Number() <= 4 {
				out = append(out, v)
				break
			}
		}
	}
	return out
}
