package request_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/worker/request"
)

func bound(t *testing.T, v request.Values) *request.Batch {
	t.Helper()
	b := &request.Batch{}
	if err := request.Bind(b, v); err != nil {
		t.Fatal(err)
	}
	return b
}

// TestRequestsAreKeptAsText writes and reads requests: the same request is the same
// text, and nothing is lost on the way but the names of files.
func TestRequestsAreKeptAsText(t *testing.T) {
	tests := []struct {
		name string
		said request.Values
		want string
	}{
		{"nothing", said(), `{}`},
		{"what is so anyway", said("language", "en", "fixes", "0", "marks", "false", "given", "steer"), `{}`},
		{"how the scores come in", said("labels", "beside"), `{}`},
		{"a check", said("fixes", "2", "rule_set", "free", "marks", "true", "annotate", "figures,numerals"),
			`{"rule_set":"free","marks":true,"annotate":["figures","numerals"],"fixes":2}`},
		{"a set of one's own", said("own_rule_set", "name: \"a\"\n"), `{"own_rule_set":"name: \"a\"\n"}`},
		{"mending as it is", said("mend", "true"), `{"mend":{}}`},
		{"mending", said("mend", "true", "keep", "S,B", "alternatives", "2", "both", "true"),
			`{"mend":{"keep":["S","B"],"alternatives":2,"both":true}}`},
		{"voicing", said("voice", "true", "voice_style", "keyboard", "voice_seed", "0"), `{"voice":{"style":"keyboard","seed":0}}`},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			b := bound(t, test.said)
			text := request.Encode(b)
			if diff := cmp.Diff(test.want, string(text)); diff != "" {
				t.Fatalf("want -, got +:\n%s", diff)
			}
			var again request.Batch
			if err := request.Decode(text, &again); err != nil {
				t.Fatal(err)
			}
			b.Labels, b.OwnRuleSet.Name, again.OwnRuleSet.Name = "", "", ""
			if diff := cmp.Diff(b, &again); diff != "" {
				t.Errorf("written -, read +:\n%s", diff)
			}
		})
	}
}

// TestEarlierRequestsAreRead reads options as the version before this package kept
// them with batches.
func TestEarlierRequestsAreRead(t *testing.T) {
	const kept = `{"rule_set":"free","language":"de","marks":true,"upgrade":true,"analysis":true,` +
		`"annotate":"numerals,symbols","given":"replace","fixes":3,"rubric":"hundred","accepted":"3: [spacing]\n","voices":true,` +
		`"mend":{"severity":"caution","keep":["S"],"keep_measures":["1","X1"],"only":["spacing@3"],"alternatives":2,"both":true}}`
	want := bound(t, said("rule_set", "free", "language", "de", "marks", "true", "upgrade", "true", "analysis", "true",
		"annotate", "numerals,symbols", "given", "replace", "fixes", "3", "rubric", "hundred", "accepted", "3: [spacing]\n",
		"voices", "true", "mend", "true", "severity", "caution", "keep", "S", "keep_measures", "1,X1", "only", "spacing@3",
		"alternatives", "2", "both", "true"))
	var got request.Batch
	if err := request.Decode([]byte(kept), &got); err != nil {
		t.Fatal(err)
	}
	want.Accepted.Name, got.Accepted.Name = "", ""
	if diff := cmp.Diff(want, &got); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"rule_set":"free","mend":{"keep":["S"]}}`))
	f.Add([]byte(`{"voice":{"seed":0,"density":0.5},"annotate":"numerals"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var b request.Batch
		if request.Decode(data, &b) != nil {
			return
		}
		text := request.Encode(&b)
		var again request.Batch
		if err := request.Decode(text, &again); err != nil {
			t.Fatalf("%s is not read again: %v", text, err)
		}
		if second := request.Encode(&again); string(second) != string(text) {
			t.Errorf("%s is written as %s the second time", text, second)
		}
	})
}
