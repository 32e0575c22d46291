package harmony

import (
	"errors"
	"testing"

	"partwright/theory"
)

// The labels are those of the RomanText standard (Tymoczko, Gotham, Cuthbert and Ariza
// 2019): ninths and above, brackets that add, alter and leave out, suspensions.
func TestExactNumeral(t *testing.T) {
	for _, tt := range []struct {
		text string
		mode theory.Mode
		// want is the numeral as it stands, or the label that would stand instead.
		want, instead string
	}{
		{text: "V7[no5]", want: "V7[no5]"},
		{text: "V[no3]", want: "V[no3]"},
		{text: "V65[no5][no7]", want: "V65[no5][no7]"},
		{text: "V7[no5]/V", want: "V7[no5]/V"},
		{text: "vii/o6/5", want: "viiø65"},
		{text: "V8/5/3", want: "V"},
		{text: "It6", want: "It6"},
		{text: "Fr4/3", want: "Fr43"},
		{text: "Cad64", want: "Cad64"},
		{text: "N6", mode: theory.MinorMode, want: "N6"},
		{text: "iv64", mode: theory.MinorMode, want: "iv64"},
		{text: "V9", instead: "V7"},
		{text: "N9", instead: "N"},
		{text: "N65", instead: "N6"},
		{text: "viio9", instead: "viio7"},
		{text: "V13/ii", instead: "V7/ii"},
		{text: "V11", instead: "V7"},
		{text: "V7b9", instead: "V7"},
		{text: "V9[b9]", mode: theory.MinorMode, instead: "V7"},
		{text: "V[add4]", instead: "V"},
		{text: "V7[b5]", instead: "V7"},
		{text: "V[no7]", instead: "V"},
		{text: "V6[no3]", instead: "V6"},
		{text: "V54", instead: "V"},
		{text: "V4", instead: "V"},
		{text: "V6/#5", instead: "V65"},
		{text: "V/V7", instead: "V/V"},
		{text: "V+7", instead: "V+maj7"},
		{text: "iv+", instead: "IV+"},
		{text: "Cad54", instead: "Cad64"},
	} {
		n, err := ExactNumeral(tt.text, tt.mode)
		var loss *LossError
		switch {
		case tt.instead != "":
			if !errors.As(err, &loss) || loss.Instead != tt.instead {
				t.Errorf("%s: %v, want it refused with %s instead", tt.text, err, tt.instead)
				continue
			}
			if _, err := ExactNumeral(loss.Instead, tt.mode); err != nil {
				t.Errorf("%s: what is advised is refused too: %v", tt.text, err)
			}
		case err != nil || n.Text(tt.mode) != tt.want:
			t.Errorf("%s is read as %s, %v, want %s", tt.text, n.Text(tt.mode), err, tt.want)
		}
	}
}
