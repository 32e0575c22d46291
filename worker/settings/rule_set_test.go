package settings

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

func TestReadRuleSet(t *testing.T) {
	yaml := `name: first year, autumn
based-on: keyboard
rules:
  direct-fifths: remark
  voice-overlap: off
settings:
  upper-spacing: M10
  contrary-pairs: any
compass: chorales
ranges:
  B: D2-D4
accepted:
  12: [direct-octaves, spacing]
  X3: range
`
	json := `{"name": "first year, autumn", "based-on": "keyboard",
 "rules": {"direct-fifths": "remark", "voice-overlap": "off"},
 "settings": {"upper-spacing": "M10", "contrary-pairs": "any"},
 "compass": "chorales", "ranges": {"B": "D2-D4"},
 "accepted": {"12": ["direct-octaves", "spacing"], "X3": "range"}}`
	for _, text := range []string{yaml, json} {
		set, err := ReadRuleSet("own.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		severity := func(id partwriting.RuleID) partwriting.Severity {
			return set.SeverityOf(partwriting.RuleByID(id))
		}
		if severity("direct-fifths") != partwriting.Remark || severity("voice-overlap") != partwriting.Off {
			t.Error("the file's own severities do not hold")
		}
		if severity("hand-span") != partwriting.Fault {
			t.Error("the hand's span is not taken over from the keyboard set")
		}
		if set.Limits.UpperSpacing != (theory.Interval{Steps: 9, Semitones: 16}) || set.Limits.ContraryPairs != partwriting.AnyPair {
			t.Errorf("settings: %+v", set.Limits)
		}
		if got := fmt.Sprint(set.Accepted); got != "map[12:[direct-octaves spacing] X3:[range]]" {
			t.Errorf("accepted: %s", got)
		}
		if got := set.Limits.Ranges["B"].String() + " " + set.Limits.Ranges["S"].String(); got != "D2-D4 D4-F#5" {
			t.Errorf("ranges: %s", got)
		}
	}
	if partwriting.RuleSetByName("keyboard").Severities["direct-fifths"] != partwriting.Off {
		t.Error("reading a file has changed the set it is based on")
	}
}

func TestRuleSetProblemsHaveLines(t *testing.T) {
	for _, test := range []struct{ text, want, why string }{
		{"name: x\nrules:\n  paralel-fifths: off\n", "own.yaml:3: there is no rule \"paralel-fifths\", did you mean parallel-fifths?", "a rule that does not exist"},
		{"name: x\nrules:\n  parallel-fifths: error\n", "own.yaml:3: parallel-fifths: \"error\" is no severity; write fault, caution, remark or off", "a severity that does not exist"},
		{"name: x\n\nsettings:\n  uper-spacing: P8\n", "own.yaml:4: there is no setting \"uper-spacing\", did you mean upper-spacing?", "a setting that does not exist"},
		{"name: x\nsettings:\n  upper-spacing: 12\n", "own.yaml:3: upper-spacing takes an interval such as P8 or M10: \"12\" is not an interval such as P5 or -m3", "a value of the wrong kind"},
		{"name: x\nbased-on: strict\n", "own.yaml:2: there is no rule set \"strict\"", "a base that does not exist"},
		{"name: x\nranges:\n  B: G5-C4\n", "own.yaml:3: B: \"G5-C4\" is not a range such as C4-G5", "a range upside down"},
		{"name: x\nranges:\n  Q: C4-G5\n", "own.yaml:3: \"Q\" is no voice", "a voice that does not exist"},
		{"name: x\naccepted:\n  3: [parallel-fifth]\n", "own.yaml:3: there is no rule \"parallel-fifth\", did you mean parallel-fifths?", "an accepted rule that does not exist"},
		{"name: x\naccepted:\n  3: [range@0]\n", "own.yaml:3: \"0\" is no beat; write it behind the sign @ as a number or fraction from 1 on, such as range@3 or range@5/2", "a beat before the first"},
		{"nmae: x\n", "own.yaml:1: nmae is not known, did you mean name?", "a key that does not exist"},
		{"rules: {}\n", "own.yaml:1: a rule set needs a name", "a set without a name"},
		{"name: keyboard\n", "own.yaml:1: keyboard is a name that comes with the program", "a name that is taken"},
		{"name: x\nrules: [a, b]\n", "own.yaml:2: rules must be a list of names with values", "a list in place of a mapping"},
		{"name: x\nname: y\n", "own.yaml:2: ", "a key that stands twice"},
		{"name: [x\n", "own.yaml", "broken YAML"},
		{"", "own.yaml: holds no rule set", "nothing at all"},
		{"just words", "own.yaml:1: the file must be a list of names with values", "no mapping"},
	} {
		set, err := ReadRuleSet("own.yaml", []byte(test.text))
		if err == nil || set != nil {
			t.Errorf("%s was accepted: %q", test.why, test.text)
			continue
		}
		if !strings.HasPrefix(err.Error(), test.want) {
			t.Errorf("%s:\n got %q\nwant %q", test.why, err, test.want)
		}
	}
}

func FuzzReadRuleSet(f *testing.F) {
	f.Add([]byte("name: x\nrules:\n  parallel-fifths: off\n"))
	f.Add([]byte(`{"name": "x", "settings": {"upper-spacing": "P8"}}`))
	f.Add([]byte("a: &a [*a]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		set, err := ReadRuleSet("own.yaml", data)
		if (set == nil) == (err == nil) {
			t.Error("neither a set nor an error, or both")
		}
		if set != nil {
			partwriting.Check(theory.NewTexture(&theory.Score{}, theory.NoVoices, "", nil), nil, set)
		}
	})
}
