package batch

import (
	"errors"
	"testing"

	"partwright/musicxml"
	"partwright/theory/harmony"
)

func TestOptionsOfTheAnalysis(t *testing.T) {
	w, err := (&Options{Marks: true, Annotate: "numerals,symbols", Given: "replace"}).work()
	if err != nil || w.Annotate != musicxml.Numerals|musicxml.Symbols || w.Given != harmony.Replace {
		t.Errorf("%v, %v, %v", w.Annotate, w.Given, err)
	}
	if w, err := (&Options{}).work(); err != nil || w.Annotate != 0 || w.Given != harmony.Steer {
		t.Errorf("without options: %v, %v, %v", w.Annotate, w.Given, err)
	}
	for name, o := range map[string]Options{"annotate": {Annotate: "numbers"}, "given": {Given: "perhaps"}} {
		_, err := o.work()
		var wrong *OptionError
		if !errors.As(err, &wrong) || wrong.Option != name {
			t.Errorf("%s: %v", name, err)
		}
	}
}
