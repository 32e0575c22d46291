package worker

import (
	"context"
	"errors"
	"testing"

	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// asked is a request that the engine has a plan for.
type asked[P request.Plan] interface {
	request.Request
	Plan() (P, error)
}

// planned binds pairs of a field and its text to a request and plans it.
func planned[P request.Plan](r asked[P], pairs ...string) (P, error) {
	said := request.Values{}
	for i := 0; i < len(pairs); i += 2 {
		said[pairs[i]] = request.Source{Name: pairs[i], Text: pairs[i+1]}
	}
	if err := request.Bind(r, said); err != nil {
		var none P
		return none, err
	}
	return r.Plan()
}

// do does what pairs of a field and its text ask for. An error is that of the request,
// of its plan or of the engine.
func do[P request.Plan](in Input, r asked[P], pairs ...string) (*answer.Answer, error) {
	plan, err := planned(r, pairs...)
	if err != nil {
		return nil, err
	}
	return (&Engine{}).Do(context.Background(), in, plan)
}

// done is do where nothing may fail, and the report of its kind.
func done[R any, P request.Plan](t testing.TB, in Input, r asked[P], pairs ...string) (*answer.Answer, R) {
	t.Helper()
	a, err := do(in, r, pairs...)
	if err != nil {
		t.Fatalf("%v: %v", pairs, err)
	}
	said, ok := a.Report.(R)
	if !ok {
		t.Fatalf("the report is a %T", a.Report)
	}
	return a, said
}

// voiced voices a score, or the progression that is among the pairs.
func voiced(t testing.TB, in Input, pairs ...string) (*answer.Answer, *report.Voicing) {
	t.Helper()
	return done[*report.Voicing](t, in, &request.Voice{}, pairs...)
}

// scoresOf are the scores of a kind, in the order of their numbers.
func scoresOf(a *answer.Answer, kind answer.Kind) [][]byte {
	var out [][]byte
	for i := range a.Files {
		var numbered answer.Answer
		numbered.AddScore(kind, len(out), a.Files[i].Data)
		if a.Files[i].Suffix == numbered.Files[0].Suffix {
			out = append(out, a.Files[i].Data)
		}
	}
	return out
}

// scoreOf is the one score of a kind, nil for none.
func scoreOf(a *answer.Answer, kind answer.Kind) []byte {
	if all := scoresOf(a, kind); len(all) > 0 {
		return all[0]
	}
	return nil
}

// refused tells an error of the request in a field, or, where that is "", of the engine
// over a request that does not fit the score.
func refused(err error, field string) bool {
	var wrong *request.Error
	if field != "" {
		return errors.As(err, &wrong) && wrong.Field == field
	}
	return errors.As(err, new(*RequestError))
}
