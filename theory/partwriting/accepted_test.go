package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// What is accepted for one score is added to what the set accepts, which stays as
// it is.
func TestAcceptingMore(t *testing.T) {
	own := &partwriting.RuleSet{Name: "own", Accepted: map[string][]partwriting.RuleID{"1": {"spacing"}}}
	wider := own.Accepting(map[string][]partwriting.RuleID{"1": {"range"}, "2": {"unison"}})
	if len(wider.Accepted["1"]) != 2 || len(wider.Accepted["2"]) != 1 || wider.Name != "own" || len(own.Accepted["1"]) != 1 {
		t.Errorf("%v from %v", wider.Accepted, own.Accepted)
	}
	if none := (*partwriting.RuleSet)(nil).Accepting(nil); none.Title() != partwriting.DefaultRuleSet {
		t.Errorf("%+v", none)
	}
}

func TestAcceptedFindingIsARemark(t *testing.T) {
	texture := theorytest.Chords("C3 G3 | D3 A3 / C3 G3 | D3 A3")
	set := &partwriting.RuleSet{Accepted: map[string][]partwriting.RuleID{"2": {"parallel-fifths"}}}
	var got []partwriting.Severity
	for _, f := range partwriting.Check(texture, nil, set) {
		if f.Rule == "parallel-fifths" && f.Onset.Num()%2 == 1 {
			got = append(got, f.Severity)
		}
	}
	if len(got) != 2 || got[0] != partwriting.Fault || got[1] != partwriting.Remark {
		t.Errorf("severities %v, want a fault in measure 1 and a remark in measure 2", got)
	}
}

// A rule with a beat behind it is let stand at that beat alone.
func TestAcceptedAtOneBeat(t *testing.T) {
	texture := theorytest.Chords("C3 G3 | D3 A3 / C3 G3 | D3 A3")
	for beat, want := range map[string]string{"2": "fault remark", "1": "fault fault", "3": "fault fault"} {
		set := &partwriting.RuleSet{Accepted: map[string][]partwriting.RuleID{"2": {partwriting.RuleID("parallel-fifths").AtBeat(beat)}}}
		var got []string
		for _, f := range partwriting.Check(texture, nil, set) {
			if f.Rule == "parallel-fifths" && f.Onset.Num()%2 == 1 {
				got = append(got, f.Severity.String())
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("beat %s of measure 2 is accepted: %v, want %s", beat, got, want)
		}
	}
	if rule, beat := partwriting.RuleID("spacing@5/2").CutBeat(); rule != "spacing" || beat != "5/2" {
		t.Errorf("%s at %s", rule, beat)
	}
}

// A text in the score lets the findings of the rules it names stand in its measure,
// and one that names none all that begins where it stands; a set can pass over them,
// since a pupil may have written them.
func TestTextsInTheScoreAccept(t *testing.T) {
	for _, test := range []struct {
		text   theory.AcceptedText
		ignore bool
		want   string
	}{
		{theory.AcceptedText{Onset: theory.Whole(2), Measure: 1, Words: "parallel-fifths, spacing"}, false, "1 fault, 3 remark"},
		{theory.AcceptedText{Onset: theory.Whole(2), Measure: 1, Words: "parallel-fifths"}, true, "1 fault, 3 fault"},
		{theory.AcceptedText{Onset: theory.Whole(2), Measure: 1, Words: "spacing"}, false, "1 fault, 3 fault"},
		{theory.AcceptedText{Onset: theory.Whole(3), Measure: 1}, false, "1 fault, 3 remark"},
		{theory.AcceptedText{Onset: theory.Whole(2), Measure: 1}, false, "1 fault, 3 fault"},
	} {
		texture := theorytest.Chords("C3 G3 | D3 A3 / C3 G3 | D3 A3")
		texture.Score.Accepted = []theory.AcceptedText{test.text}
		set := &partwriting.RuleSet{Limits: partwriting.Limits{IgnoreAcceptedTexts: test.ignore}}
		var got []string
		for _, f := range partwriting.Check(texture, nil, set) {
			if f.Rule == "parallel-fifths" && f.Onset.Num()%2 == 1 {
				got = append(got, fmt.Sprint(f.Onset, " ", f.Severity))
			}
		}
		if strings.Join(got, ", ") != test.want {
			t.Errorf("%+v: %v, want %s", test, got, test.want)
		}
	}
	score := &theory.Score{Accepted: []theory.AcceptedText{{Words: "paralel-fifths spacing"}, {Words: "paralel-fifths"}}}
	if got := partwriting.UnknownAccepted(score); len(got) != 1 || got[0] != "paralel-fifths" {
		t.Errorf("unknown: %q", got)
	}
}
