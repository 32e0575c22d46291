package settings

import (
	"errors"
	"strings"
	"testing"

	"partwright/theory/voicing"
)

// A teacher's costs change what they name and nothing else, from YAML and JSON alike.
func TestReadCosts(t *testing.T) {
	for _, text := range []string{"# lines that move\nleap: 1.25\nsoprano-stays: 0\n", `{"leap": 1.25, "soprano-stays": 0}`} {
		costs, err := ReadCosts("own.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		style := voicing.Keyboard()
		costs.Apply(&style.Weights)
		want := voicing.Keyboard().Weights
		want.Leap, want.SopranoStays = 125, 0
		if style.Weights != want {
			t.Errorf("%s: %+v", text, style.Weights)
		}
	}
}

func TestCostsThatCannotBeRead(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"leap: 1\nsemitnoe: 2\n", `own.yaml:2: there is no charge "semitnoe", did you mean semitone?`},
		{"leap: 1\narch: -1\n", `own.yaml:2: arch: "-1" is no cost; write a number from 0 to 20`},
		{"leap: 21\n", "own.yaml:1: leap"},
		{"leap: 0.125\n", "at most two decimals"},
		{"leap: much\n", `"much" is no cost`},
		{"leap: .nan\n", "is no cost"},
		{"leap: [1]\n", "takes one word or number"},
		{"leap: 1\nleap: 2\n", "own.yaml:2"},
		{"choice: 1\n", `there is no charge "choice"`},
		{"- leap\n", "must be a list of names with values"},
		{"{}\n", "no charge is named"},
		{"", "holds no list of costs"},
		{strings.Repeat(" ", MaxBytes+1), "larger than"},
	} {
		_, err := ReadCosts("own.yaml", []byte(tt.text))
		if e := (*Error)(nil); !errors.As(err, &e) || e.What != CostsFile || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%.40q: %v, want %s", tt.text, err, tt.want)
		}
	}
}
