package partwriting

import (
	"slices"

	"partwright/theory"
)

// link says how much two findings have to have in common for one to follow from
// the other.
type link int8

const (
	// twoNotes: both notes of the cause, or the one that it names.
	twoNotes link = iota + 1
	// oneNote: a single note of the cause.
	oneNote
	// related: a note that the cause has beside it.
	related
	// samePlace: the same onset and all voices of the cause.
	samePlace
)

// causes lists which findings bring which others along: a note that is doubled and
// must not be makes octaves on its way in or out, a wrong one leaves the right one
// missing, and a slip of spelling makes intervals that nobody meant. No chain in it
// leads back to where it began, and nothing begins before what it follows from.
var causes = map[RuleID]map[RuleID]link{
	"leading-tone-doubled": merged(consecutiveOctaves, map[RuleID]link{"leading-tone-unresolved": oneNote, "inner-leading-tone-unresolved": oneNote, "applied-leading-tone-unresolved": oneNote}),
	"seventh-doubled":      merged(consecutiveOctaves, map[RuleID]link{"seventh-unresolved": oneNote}),
	"altered-tone-doubled": merged(consecutiveOctaves, map[RuleID]link{"altered-tone-unresolved": oneNote, "augmented-sixth-unresolved": oneNote, "neapolitan-unresolved": oneNote}),

	"diminished-interval": leapsAlong,
	"augmented-interval":  leapsAlong,
	"augmented-second":    leapsAlong,
	"leap-of-seventh":     merged(leapsAlong, leadsAlong, map[RuleID]link{"voice-overlap": oneNote}),
	"leap-over-octave":    merged(leapsAlong, map[RuleID]link{"range": oneNote, "spacing": oneNote, "voice-crossing": oneNote, "voice-overlap": oneNote}),
	"range":               {"spacing": oneNote, "bass-gap": oneNote},

	"voice-crossing": {"voice-overlap": samePlace, "spacing": samePlace},

	"leading-tone-misspelled": merged(misspelt, missingMembers),
	"leading-tone-not-raised": merged(misspelt, map[RuleID]link{"cadence-missing": related}),
	"member-misspelled":       merged(misspelt, missingMembers),
	"inflection-not-as-named": merged(misspelt, missingMembers, map[RuleID]link{"leading-tone-not-raised": oneNote}),
	"note-outside-chord":      missingMembers,
	"inversion-not-as-named":  {"label-disagrees": oneNote, "six-four-misused": oneNote, "bass-doubled-in-six": oneNote, "fifth-missing": oneNote},
	"seventh-missing":         {"label-disagrees": oneNote, "seventh-unresolved": oneNote},
}

var (
	consecutiveOctaves = map[RuleID]link{"parallel-octaves": twoNotes, "parallel-unisons": twoNotes, "contrary-octaves": twoNotes}
	leapsAlong         = map[RuleID]link{"unrecovered-leap": twoNotes, "successive-leaps": twoNotes, "leap-after-leap": twoNotes}
	leadsAlong         = map[RuleID]link{"leading-tone-unresolved": twoNotes, "inner-leading-tone-unresolved": twoNotes, "applied-leading-tone-unresolved": twoNotes}
	missingMembers     = map[RuleID]link{"root-missing": oneNote, "third-missing": oneNote, "fifth-missing": oneNote, "seventh-missing": oneNote}
	// misspelt are the findings that a wrong letter or accidental brings along.
	misspelt = map[RuleID]link{
		"augmented-second": oneNote, "augmented-interval": oneNote, "diminished-interval": oneNote, "cross-relation": oneNote,
		"label-disagrees": oneNote, "nonchord-tone-unexplained": oneNote, "leading-tone-unresolved": oneNote, "inner-leading-tone-unresolved": oneNote,
		"altered-tone-doubled": oneNote, "altered-tone-unresolved": oneNote, "chromatic-doubling": oneNote,
	}
)

func merged(tables ...map[RuleID]link) map[RuleID]link {
	all := map[RuleID]link{}
	for _, table := range tables {
		for rule, l := range table {
			all[rule] = l
		}
	}
	return all
}

// groupByCause marks findings that follow from another one, lets the cause name
// the notes of what it brings along, and puts what follows behind what it follows
// from: each group stands where its first cause does. The findings come in reading
// order.
func groupByCause(findings []Finding, work *theory.Work) {
	byMeasure := map[int][]int{}
	for i := range findings {
		byMeasure[findings[i].Measure] = append(byMeasure[findings[i].Measure], i)
	}
	follows := make([]int, len(findings)) // the index of the cause, -1 for none
	for i := range follows {
		follows[i] = -1
	}
	for i := range findings {
		cause := &findings[i]
		effects := causes[cause.Rule]
		if effects == nil || cause.Licence != "" {
			continue // what is excused is no excuse for something else
		}
		for measure := cause.Measure - 1; measure <= cause.Measure+1; measure++ {
			work.Step(len(byMeasure[measure]) / 8)
			for _, j := range byMeasure[measure] {
				if follows[j] < 0 && !findings[j].Onset.Less(cause.Onset) && cause.brings(&findings[j], effects[findings[j].Rule]) {
					follows[j] = i
					cause.name(findings[j].Notes)
				}
			}
		}
	}
	arrange(findings, follows)
}

// brings reports whether an effect has as much in common with its cause as the
// link asks for.
func (f *Finding) brings(effect *Finding, l link) bool {
	switch l {
	case twoNotes:
		return shared(f.Notes, effect.Notes) >= min(2, len(f.Notes))
	case oneNote:
		return shared(f.Notes, effect.Notes) > 0
	case related:
		return shared(f.Related, effect.Notes) > 0
	case samePlace:
		for _, v := range f.Voices {
			if !slices.Contains(effect.Voices, v) {
				return false
			}
		}
		return f.Onset == effect.Onset
	}
	return false
}

// name adds notes that the finding does not name yet to those that are related.
func (f *Finding) name(notes []NoteRef) {
	for _, r := range notes {
		if !slices.Contains(f.Notes, r) && !slices.Contains(f.Related, r) {
			f.Related = append(f.Related, r)
		}
	}
}

// arrange puts each finding behind its cause and gives it the cause's number.
func arrange(findings []Finding, follows []int) {
	effects := make([][]int, len(findings))
	for i, cause := range follows {
		if cause >= 0 {
			effects[cause] = append(effects[cause], i)
		}
	}
	arranged := make([]Finding, 0, len(findings))
	var put func(i, cause int)
	put = func(i, cause int) {
		f := findings[i]
		if f.Follows = cause; cause > 0 {
			f.Cause = arranged[cause-1].Rule
		}
		arranged = append(arranged, f)
		number := len(arranged)
		for _, effect := range effects[i] {
			put(effect, number)
		}
	}
	for i, cause := range follows {
		if cause < 0 {
			put(i, 0)
		}
	}
	copy(findings, arranged)
}

// shared counts the notes that two lists have in common.
func shared(a, b []NoteRef) int {
	n := 0
	for _, r := range a {
		if slices.Contains(b, r) {
			n++
		}
	}
	return n
}
