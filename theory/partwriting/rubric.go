package partwriting

import (
	"strconv"
	"strings"
)

// Points counts half points, so that marks stay exact.
type Points int

// Whole returns n points.
func whole(n int) Points { return Points(2 * n) }

// String returns "3", "2.5" or "-1".
func (p Points) String() string {
	text := strconv.Itoa(int(p) / 2)
	if p%2 != 0 {
		if p < 0 && p > -2 {
			text = "-0"
		}
		text += ".5"
	}
	return text
}

// Rubric turns findings into a mark: so many points, less so many for each
// finding. It is a proposal: the teacher decides.
type Rubric struct {
	// Name is our own; Source tells which published scheme it follows.
	Name   string
	Source Source
	// Fixed is what a piece of work is worth, or PerChord what each chord is.
	Fixed, PerChord Points
	// Faults, Cautions and Remarks are what a finding of that weight costs
	// unless Rules names its rule.
	Faults, Cautions, Remarks Points
	// Rules is what a finding of a rule costs as a fault; as a caution it costs
	// half of that, but no less than half a point, and as a remark nothing.
	Rules map[RuleID]Points
	// PerPhrase is the most that one phrase can cost, 0 for no limit. PerRule is
	// the most that one rule can cost in the whole work.
	PerPhrase, PerRule Points
	// Praise asks to be told what is well done; it costs and earns nothing.
	Praise bool
}

// Mark is the result of a rubric with its breakdown.
type Mark struct {
	Rubric            string
	Earned, Available Points
	Lines             []MarkLine
	// Praise is what is well done, if the rubric asks for it.
	Praise []Praise
}

// MarkLine is what one rule costs.
type MarkLine struct {
	Rule  RuleID
	Count int
	// Lost is what is taken off; Capped is set where a limit made it less.
	Lost   Points
	Capped bool
}

// rubrics after published schemes; which scheme is ours to say is the teacher's.
var rubrics = []Rubric{
	{
		Name:     "points-a-chord",
		Source:   Source{"General formula for grading part-writing (Florida State University)", "", "three points a chord"},
		PerChord: whole(3), Faults: whole(1), Cautions: 1,
		// The scheme knows no praise; that it is told beside the points is ours.
		Praise: true,
		Rules: map[RuleID]Points{
			"parallel-fifths": whole(3), "parallel-octaves": whole(3), "parallel-unisons": whole(3),
			"third-missing": whole(3), "root-missing": whole(3), "retrogression": whole(3),
			"contrary-fifths": whole(2), "contrary-octaves": whole(2), "direct-fifths": whole(2), "direct-octaves": whole(2),
			"seventh-unresolved": whole(2), "seventh-doubled": whole(2), "leading-tone-unresolved": whole(2),
			"six-four-misused": whole(2), "cadence-missing": whole(2),
			"leading-tone-doubled": whole(1), "fifth-missing": whole(2), "voice-crossing": whole(1),
			"seventh-unprepared": whole(2), "range": whole(1), "augmented-second": whole(1), "unrecovered-leap": whole(2),
			"harmony-held-into-strong-beat": whole(2), "diminished-triad-root-position": whole(2),
			"spacing": 1, "voice-overlap": 1,
		},
	},
	{
		Name:   "hundred",
		Source: Source{"Wieland, Part-writing quiz rubrics (Northern State University)", "later version", "a hundred points, three for each fault"},
		Fixed:  whole(100), Faults: whole(3), Cautions: 0,
	},
}

// Rubrics returns the rubrics that come with the program.
func Rubrics() []Rubric { return append([]Rubric(nil), rubrics...) }

// RubricByName returns the rubric of that name, and false where there is none.
func RubricByName(name string) (Rubric, bool) {
	for _, r := range rubrics {
		if r.Name == name {
			return r, true
		}
	}
	return Rubric{}, false
}

// cost returns what one finding takes off.
func (r *Rubric) cost(f *Finding) Points {
	full, named := r.Rules[f.Rule]
	switch {
	case f.Cause != "":
		return 0 // counted with the finding it follows from
	case f.Severity == Remark:
		return r.Remarks
	case f.Severity == Caution && named:
		return max(full/2, 1)
	case f.Severity == Caution:
		return r.Cautions
	case named:
		return full
	}
	return r.Faults
}

// Mark applies the rubric to findings in a passage. Nothing goes below 0.
func (r *Rubric) Mark(p *Passage, findings []Finding) Mark {
	m := Mark{Rubric: r.Name, Available: r.Fixed}
	if p.Harmony != nil {
		m.Available += r.PerChord * Points(len(p.chords))
	}
	lines := map[RuleID]*MarkLine{}
	phrases := map[int]Points{}
	var order []RuleID
	lost := Points(0)
	for i := range findings {
		f := &findings[i]
		cost := r.cost(f)
		if cost == 0 {
			continue
		}
		line := lines[f.Rule]
		if line == nil {
			line = &MarkLine{Rule: f.Rule}
			lines[f.Rule], order = line, append(order, f.Rule)
		}
		line.Count++
		phrase := p.phraseOf(f)
		allowed := cost
		if r.PerRule > 0 {
			allowed = min(allowed, r.PerRule-line.Lost)
		}
		if r.PerPhrase > 0 {
			allowed = min(allowed, r.PerPhrase-phrases[phrase])
		}
		line.Capped = line.Capped || allowed < cost
		line.Lost += allowed
		phrases[phrase] += allowed
		lost += allowed
	}
	for _, id := range order {
		m.Lines = append(m.Lines, *lines[id])
	}
	m.Earned = max(m.Available-lost, 0)
	if r.Praise {
		m.Praise = p.Praise(findings)
	}
	return m
}

// phraseOf returns the phrase in which a finding stands, by its first note.
func (p *Passage) phraseOf(f *Finding) int {
	if len(f.Notes) == 0 {
		return 0
	}
	return p.Phrase(p.MomentOf(f.Notes[len(f.Notes)-1]))
}

// String returns "21.5 of 24".
func (m Mark) String() string {
	return strings.Join([]string{m.Earned.String(), "of", m.Available.String()}, " ")
}
