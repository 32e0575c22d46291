package request_test

import (
	"errors"
	"testing"

	"partwright/musicxml"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker/request"
	"partwright/worker/settings"
)

func TestPlansSayWhatCannotBeDone(t *testing.T) {
	tests := []struct {
		name  string
		said  request.Values
		field string
		is    func(error) bool
	}{
		{"notes into marks that nobody asked for", said("annotate", "numerals"), "annotate", nil},
		{"a newer version of marks that nobody asked for", said("upgrade", "true"), "upgrade", nil},
		{"a language without sentences", said("language", "tlh"), "language",
			func(err error) bool { return errors.Is(err, request.ErrLanguage) }},
		{"a rule set that is none", said("own_rule_set", "rules: {parallel-fiths: off}"), "own_rule_set",
			func(err error) bool { return errors.As(err, new(*settings.Error)) }},
		{"a rule that is none", said("mend", "true", "only", "parallel-fiths@3"), "only",
			func(err error) bool { return errors.As(err, new(*request.ChoiceError)) }},
		{"a key that is none", said("voice", "true", "voice_key", "H"), "voice_key", nil},
		{"nothing and something", said("voice", "true", "voice_annotate", "none,numerals"), "voice_annotate", nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := bound(t, test.said).Plan()
			var wrong *request.Error
			if !errors.As(err, &wrong) || wrong.Field != test.field || test.is != nil && !test.is(err) {
				t.Errorf("got %v, want an error of %s", err, test.field)
			}
		})
	}
}

// TestRuleSetsOfVoicings: a keyboard texture is judged by the keyboard's rules unless
// somebody names others.
func TestRuleSetsOfVoicings(t *testing.T) {
	for _, test := range []struct {
		said request.Values
		want string
	}{
		{said(), partwriting.DefaultRuleSet},
		{said("style", "keyboard"), "keyboard"},
		{said("style", "keyboard", "rule_set", "free"), "free"},
	} {
		var v request.Voice
		if err := request.Bind(&v, test.said); err != nil {
			t.Fatal(err)
		}
		plan, err := v.Plan()
		if err != nil {
			t.Fatal(err)
		}
		if plan.RuleSet.Name != test.want {
			t.Errorf("%v: judged by %s, want %s", test.said, plan.RuleSet.Name, test.want)
		}
	}
}

func TestBatchesAreMendedAlike(t *testing.T) {
	plan, err := bound(t, said("mend", "true", "rule_set", "free", "only", "parallel-fifths@3,spacing")).Plan()
	if err != nil {
		t.Fatal(err)
	}
	if plan.Mend == nil || !plan.Mend.Alike || plan.Mend.RuleSet.Name != "free" {
		t.Fatalf("the plan to mend is %+v", plan.Mend)
	}
	if w := plan.Mend.Only; len(w) != 2 || w[0].Rule != "parallel-fifths" || w[0].Measure == nil || *w[0].Measure != "3" || w[1].Measure != nil {
		t.Errorf("%+v is to go", w)
	}
	if plan.Voice != nil {
		t.Error("nobody asked for a voicing")
	}
}

func TestPlansOfTheAnalysis(t *testing.T) {
	for _, test := range []struct {
		said  request.Values
		layer musicxml.Layers
		given harmony.LabelUse
	}{
		{said(), 0, harmony.Steer},
		{said("marks", "true", "annotate", "numerals,symbols", "given", "replace"), musicxml.Numerals | musicxml.Symbols, harmony.Replace},
		{said("marks", "true", "annotate", "figures", "given", "ignore"), musicxml.Figures, harmony.Ignore},
	} {
		plan, err := bound(t, test.said).Plan()
		if err != nil {
			t.Fatal(err)
		}
		if c := plan.Check; c.Annotate != test.layer || c.Given != test.given || !c.Files {
			t.Errorf("%v: annotations %v, given labels %v, all files %v", test.said, c.Annotate, c.Given, c.Files)
		}
	}
}
