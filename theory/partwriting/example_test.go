package partwriting_test

import (
	"fmt"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Two chords in which tenor and bass move in fifths.
func ExampleCheck() {
	texture := theorytest.Chords("D3 A3 F4 D5 | E3 B3 E4 G#4")
	english, _ := partwriting.CatalogFor("en")
	for _, f := range partwriting.Check(texture, harmony.Analyze(texture), nil) {
		if f.Severity == partwriting.Fault {
			fmt.Printf("%s: %s\n", english.Place(&f, texture), english.Message(&f, texture))
		}
	}
	// Output:
	// measure 1, beat 2: parallel fifths between tenor and bass, D3–A3 to E3–B3
}

// A rule set changes what counts, and how much.
func ExampleRuleSet() {
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 F4 A4")
	lenient := &partwriting.RuleSet{
		Name:       "first weeks",
		Severities: map[partwriting.RuleID]partwriting.Severity{"parallel-fifths": partwriting.Remark},
	}
	for _, set := range []*partwriting.RuleSet{nil, lenient} {
		fmt.Println(set.Title(), partwriting.Check(texture, nil, set)[0].Severity)
	}
	// Output:
	// strict-chorale fault
	// first weeks remark
}
