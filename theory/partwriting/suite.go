package partwriting

// families holds the rules of every family; each stands in the files that begin
// with the family's name.
var families = index(
	handIns,
	consecutives, directs,
	placements, spacings, ranges,
	lines, outerLines, linesTogether,
	doublings, omissions, namedChordTones,
	leadingTones, sevenths, cadentialSixFours, chromatics,
	progressions, cadences,
	embellishments,
	spellings,
)

// suite is every rule, in the order in which findings at one place are reported.
var suite = inOrder()

func index(lists ...[]*Rule) map[RuleID]*Rule {
	m := map[RuleID]*Rule{}
	for _, rules := range lists {
		for _, r := range rules {
			m[r.ID] = r
		}
	}
	return m
}

// inOrder takes order and severity of the rules from their table. A test holds
// the table to the families.
func inOrder() []*Rule {
	var all []*Rule
	for i := range severities {
		if r := families[severities[i].rule]; r != nil {
			r.Severity = severities[i].strict
			all = append(all, r)
		}
	}
	return all
}

// Rules returns every rule, in a fixed order.
func Rules() []*Rule { return append([]*Rule(nil), suite...) }

// RuleByID returns the rule of that name, nil where there is none.
func RuleByID(id RuleID) *Rule { return families[id] }
