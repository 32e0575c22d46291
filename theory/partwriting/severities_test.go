package partwriting

import "testing"

// Every rule of a family has one row in the table of severities, every row is of
// a rule, and every set that comes with the program says of every rule how much
// it weighs: what a set leaves out would leak in at the severity of another.
func TestSeveritiesAreComplete(t *testing.T) {
	rows := map[RuleID]int{}
	for i := range severities {
		rows[severities[i].rule]++
	}
	for id := range families {
		if rows[id] != 1 {
			t.Errorf("%s has %d rows in severities, want one", id, rows[id])
		}
	}
	for id := range rows {
		if families[id] == nil {
			t.Errorf("severities has a row for %q, which no family has", id)
		}
	}
	for _, set := range builtins {
		for id := range families {
			if _, ok := set.Severities[id]; !ok {
				t.Errorf("the set %s does not say how much %s weighs", set.Name, id)
			}
		}
	}
}

// What the sets are for, in a few severities: keyboard style lets direct fifths
// pass and holds the right hand to its span (Open Music Theory v1,
// keyboard-style voice-leading); species counterpoint has none of the rules that
// read a harmony.
func TestSeveritiesSayWhatSetsAreFor(t *testing.T) {
	for _, test := range []struct {
		set  string
		rule RuleID
		want Severity
	}{
		{DefaultRuleSet, "parallel-fifths", Fault},
		{"keyboard", "direct-fifths", Off},
		{"keyboard", "hand-span", Fault},
		{DefaultRuleSet, "hand-span", Off},
		{"free", "parallel-fifths", Caution},
		{"species-first", "parallel-fifths", Fault},
		{"species-fifth", "species-dissonance", Fault},
	} {
		if got := RuleSetByName(test.set).SeverityOf(RuleByID(test.rule)); got != test.want {
			t.Errorf("%s weighs %v in %s, want %v", test.rule, got, test.set, test.want)
		}
	}
	for _, r := range suite {
		switch r.Family {
		case ChordTones, Tendency, Progression:
			for _, name := range []string{"species-first", "species-second", "species-third", "species-fourth", "species-fifth"} {
				got := RuleSetByName(name).SeverityOf(r)
				if speciesRule := r.ID == "species-opening" || r.ID == "species-close"; (got != Off) != speciesRule {
					t.Errorf("%s weighs %v in %s", r.ID, got, name)
				}
			}
		}
	}
}
