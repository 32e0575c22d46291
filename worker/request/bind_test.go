package request_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/worker/request"
)

// all are the requests that there are.
func all() map[string]request.Request {
	return map[string]request.Request{
		"check": &request.Check{}, "mend": &request.Mend{}, "voice": &request.Voice{},
		"continue": &request.Continue{}, "clean": &request.Clean{}, "batch": &request.Batch{},
	}
}

func said(pairs ...string) request.Values {
	v := request.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v[pairs[i]] = request.Source{Name: pairs[i] + ".yaml", Text: pairs[i+1]}
	}
	return v
}

// TestFieldsAreWhole holds every field to what the ways in need of it.
func TestFieldsAreWhole(t *testing.T) {
	for job, r := range all() {
		names, flags := map[string]bool{}, map[string]bool{}
		for _, f := range r.Fields() {
			if f.Name == "" || names[f.Name] {
				t.Errorf("%s: the name %q is empty or stands twice", job, f.Name)
			}
			names[f.Name] = true
			if f.Flag != "" && flags[f.Flag] {
				t.Errorf("%s: the flag --%s stands twice", job, f.Flag)
			}
			flags[f.Flag] = true
			if f.Flag != "" && f.Help == "" {
				t.Errorf("%s: --%s says nothing of itself", job, f.Flag)
			}
			if f.Kind == request.Yes && f.Default != "false" {
				t.Errorf("%s: %s is true where nothing is said: no flag could say otherwise", job, f.Name)
			}
			if len(f.Choices) > 0 && f.Noun == "" && !f.Open {
				t.Errorf("%s: nobody knows what the choices of %s are", job, f.Name)
			}
		}
		for _, f := range r.Fields() {
			for _, other := range []string{f.InsteadOf, f.Group} {
				if other != "" && !names[other] {
					t.Errorf("%s: %s names %s, which is no field", job, f.Name, other)
				}
			}
		}
	}
}

func TestWhatCannotBeAskedFor(t *testing.T) {
	tests := []struct {
		name   string
		into   request.Request
		said   request.Values
		field  string
		reason string
	}{
		{"a typing error", &request.Check{}, said("rule_sett", "free"), "rule_sett", "nothing of that name"},
		{"no such rule set", &request.Check{}, said("rule_set", "strict-choral"), "rule_set", "strict-chorale"},
		{"no such layer", &request.Check{}, said("annotate", "numerals,chords"), "annotate", `"chords"`},
		{"a place left empty", &request.Mend{}, said("keep", "S,,B"), "keep", "empty place"},
		{"too many fixes", &request.Check{}, said("fixes", "6"), "fixes", "from 0 to 5"},
		{"fewer fixes than none", &request.Check{}, said("fixes", "-1"), "fixes", "from 0 to 5"},
		{"a number in words", &request.Check{}, said("fixes", "two"), "fixes", "whole number"},
		{"not a number at all", &request.Voice{}, said("density", "NaN"), "density", "from 0 to 1"},
		{"one level", &request.Voice{}, said("levels", "1"), "levels", "from 2 to 6"},
		{"neither yes nor no", &request.Check{}, said("analysis", "1"), "analysis", `"true" nor "false"`},
		{"a name and a file", &request.Check{}, said("rule_set", "free", "own_rule_set", "name: mine\nbased-on: free\n"), "own_rule_set", "only one can apply"},
		{"an empty file", &request.Check{}, said("own_rubric", ""), "own_rubric", "empty"},
		{"mending that was not asked for", &request.Batch{}, said("keep", "B"), "keep", "only with mend"},
		{"a title of more than a line", &request.Voice{}, said("title", strings.Repeat("a", 201)), "title", "201 bytes"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			err := request.Bind(test.into, test.said)
			var wrong *request.Error
			if !errors.As(err, &wrong) || wrong.Field != test.field || !strings.Contains(err.Error(), test.reason) {
				t.Errorf("got %v, want an error of %s that says %q", err, test.field, test.reason)
			}
		})
	}
}

func TestBindSetsWhatIsSaidAndDefaultsElse(t *testing.T) {
	v := request.Voice{Voicing: request.Voicing{Reasons: true}} // of an earlier request
	err := request.Bind(&v, said("style", "keyboard", "seed", "0", "annotate", "numerals,symbols", "levels", "4"))
	if err != nil {
		t.Fatal(err)
	}
	want := request.Voicing{
		Gives: "auto", Style: "keyboard", Contour: "arch", Harmony: "applied", Position: "any", Bass: "given", Ending: "given", Alternatives: 1, Seed: 0,
		Annotate: []string{"numerals", "symbols"}, Levels: 4,
	}
	if diff := cmp.Diff(want, v.Voicing); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

func TestNotesMayBeApartAsPeopleWriteThem(t *testing.T) {
	for _, text := range []string{"E5 G4 C4 C3", "E5, G4, C4, C3", "E5,G4,C4,C3", " E5\tG4  C4\nC3 "} {
		var c request.Continue
		if err := request.Bind(&c, said("from", text)); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if diff := cmp.Diff([]string{"E5", "G4", "C4", "C3"}, c.From); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
	}
}
