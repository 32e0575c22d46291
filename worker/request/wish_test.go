package request_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"partwright/worker/request"
)

// own is a rule set of the user's own, which has to come through with the name that
// errors speak of.
var own = request.Source{Name: "first year.yaml", Text: "name: first year\nbased-on: free\nrules: {parallel-fifths: remark}\n"}

// A plan that went to another process as text is the plan that was made here: all that
// the engine sees of it is the same.
func TestWishMakesTheSamePlan(t *testing.T) {
	text := func(pairs ...string) request.Values {
		v := request.Values{}
		for i := 0; i < len(pairs); i += 2 {
			v[pairs[i]] = request.Source{Text: pairs[i+1]}
		}
		return v
	}
	with := func(v request.Values, name string, s request.Source) request.Values {
		v[name] = s
		return v
	}
	check := func(said request.Values, files bool) func() (request.Plan, error) {
		return func() (request.Plan, error) {
			var c request.Check
			if err := request.Bind(&c, said); err != nil {
				return nil, err
			}
			p, err := c.Plan()
			if err == nil {
				p.Files = files
			}
			return p, err
		}
	}
	batch := func(said request.Values, of func(*request.BatchPlan) request.Plan) func() (request.Plan, error) {
		return func() (request.Plan, error) {
			var b request.Batch
			if err := request.Bind(&b, said); err != nil {
				return nil, err
			}
			p, err := b.Plan()
			if err != nil {
				return nil, err
			}
			return of(p), nil
		}
	}
	all := text("mend", "true", "keep", "S,B", "voice", "true", "voice_seed", "7", "voice_style", "keyboard", "analysis", "true", "marks", "true")
	all = with(with(all, "own_rule_set", own), "accepted", request.Source{Name: "accepted.yaml", Text: "3: [direct-fifths]\n"})
	for _, tt := range []struct {
		name string
		plan func() (request.Plan, error)
	}{
		{"check", check(nil, false)},
		{"check with files", check(text("fixes", "2", "rubric", "hundred", "voices", "true"), true)},
		{"check by rules of one's own", check(with(text("language", "de", "marks", "true", "annotate", "numerals,figures"), "own_rule_set", own), true)},
		{"check with the notes", check(text("ids", "true", "notes", "true"), false)},
		{"revision", func() (request.Plan, error) {
			var r request.Revise
			if err := request.Bind(&r, text("edits", `[{"note": "pw-n1-1-1", "pitch": "F#4"}]`, "ids", "true")); err != nil {
				return nil, err
			}
			return r.Plan()
		}},
		{"mend", func() (request.Plan, error) {
			var m request.Mend
			if err := request.Bind(&m, text("severity", "caution", "only", "parallel-fifths@3", "alternatives", "3", "all", "true")); err != nil {
				return nil, err
			}
			p, err := m.Plan()
			p.Alike = true
			return p, err
		}},
		{"voice", func() (request.Plan, error) {
			var v request.Voice
			if err := request.Bind(&v, text("progression", "C: I V I", "density", "0.5", "key", "g", "start", "3", "annotate", "none")); err != nil {
				return nil, err
			}
			return v.Plan()
		}},
		{"continue", func() (request.Plan, error) {
			var c request.Continue
			if err := request.Bind(&c, text("chords", "C: I V", "from", "E5 G4 C4 C3", "best", "7")); err != nil {
				return nil, err
			}
			return c.Plan()
		}},
		{"clean", func() (request.Plan, error) { return (&request.Clean{}).Plan() }},
		{"check of a batch", batch(all, func(p *request.BatchPlan) request.Plan { return p.Check })},
		{"mending of a batch", batch(all, func(p *request.BatchPlan) request.Plan { return p.Mend })},
		{"voicing of a batch", batch(all, func(p *request.BatchPlan) request.Plan { return p.Voice })},
	} {
		t.Run(tt.name, func(t *testing.T) {
			plan, err := tt.plan()
			if err != nil {
				t.Fatal(err)
			}
			sent, err := json.Marshal(plan.Wish())
			if err != nil {
				t.Fatal(err)
			}
			var wish request.Wish
			if err := json.Unmarshal(sent, &wish); err != nil {
				t.Fatal(err)
			}
			again, err := wish.Plan()
			if err != nil {
				t.Fatal(err)
			}
			a, b := reflect.ValueOf(plan).Elem(), reflect.ValueOf(again).Elem()
			if a.Type() != b.Type() {
				t.Fatalf("a %v became a %v", a.Type(), b.Type())
			}
			for i := range a.NumField() {
				if f := a.Type().Field(i); f.IsExported() && !reflect.DeepEqual(a.Field(i).Interface(), b.Field(i).Interface()) {
					t.Errorf("%s is %v there and %v here", f.Name, b.Field(i), a.Field(i))
				}
			}
		})
	}
}
