package partwriting

// suite is every rule, by family, in the order in which findings at one place
// are told.
var suite = join(
	consecutives,
	repeats,
	directs,
	unequals,
	masked,
	motions,
	placements,
	ranges,
	sonorities,
	lines,
	leaps,
	crossRelations,
	doublings,
	omissions,
	wrongNotes,
	labels,
	resolutions,
	tritones,
	sixFours,
	progressions,
	weakProgressions,
	askedCadences,
	embellishments,
	chromatics,
	misspellings,
	habits,
	outerLines,
	species,
)

var byID = index(suite)

func join(families ...[]*Rule) []*Rule {
	var all []*Rule
	for _, f := range families {
		all = append(all, f...)
	}
	return all
}

func index(rules []*Rule) map[RuleID]*Rule {
	m := make(map[RuleID]*Rule, len(rules))
	for _, r := range rules {
		m[r.ID] = r
	}
	return m
}

// Rules returns every rule, in a fixed order.
func Rules() []*Rule { return append([]*Rule(nil), suite...) }

// RuleByID returns the rule of that name, nil where there is none.
func RuleByID(id RuleID) *Rule { return byID[id] }
