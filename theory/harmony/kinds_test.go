package harmony

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"partwright/theory"
)

// kinds are all kind-values of W3C MusicXML 4.0 with the chord on C that each is read
// as, "" for those that are no stack of thirds of ours. What the values mean is said
// beside them in the schema: sevenths, ninths and so on are named after their triad
// and seventh.
var kinds = map[string]string{
	"major": "C", "minor": "Cm", "augmented": "C+", "diminished": "Cdim",
	"dominant": "C7", "major-seventh": "Cmaj7", "minor-seventh": "Cm7", "diminished-seventh": "Cdim7",
	"half-diminished": "Cm7b5", "major-minor": "Cm(maj7)",
	"dominant-ninth": "C7", "major-ninth": "Cmaj7", "minor-ninth": "Cm7",
	"dominant-11th": "C7", "major-11th": "Cmaj7", "minor-11th": "Cm7",
	"dominant-13th": "C7", "major-13th": "Cmaj7", "minor-13th": "Cm7",
	"Neapolitan":        "C",
	"augmented-seventh": "", "major-sixth": "", "minor-sixth": "", "suspended-second": "", "suspended-fourth": "",
	"Italian": "", "French": "", "German": "", // their root is not said
	"pedal": "", "power": "", "Tristan": "", "other": "", "none": "",
}

func TestKinds(t *testing.T) {
	for kind, want := range kinds {
		got := ""
		if c, ok := fromKind(&theory.GivenChord{Root: pc("C"), HasRoot: true, Kind: kind}); ok {
			got = c.Symbol()
		}
		if got != want {
			t.Errorf("%s is read as %q, want %q", kind, got, want)
		}
	}
}

// Degrees as W3C MusicXML 4.0 defines them (degree, degree-alter, degree-type).
func TestDegreesOfKinds(t *testing.T) {
	for _, c := range []struct {
		kind    string
		degrees []theory.GivenDegree
		want    string
		more    bool
	}{
		{"minor-seventh", []theory.GivenDegree{{Value: 5, Alter: -1, Type: "alter"}}, "Cm7b5", false},
		{"minor", []theory.GivenDegree{{Value: 5, Alter: -1, Type: "alter"}}, "Cdim", false},
		{"major", []theory.GivenDegree{{Value: 7, Alter: 0, Type: "add"}}, "C7", false},
		{"major", []theory.GivenDegree{{Value: 7, Alter: 1, Type: "add"}}, "Cmaj7", false},
		{"major", []theory.GivenDegree{{Value: 3, Alter: -1, Type: "alter"}}, "Cm", false},
		{"dominant", []theory.GivenDegree{{Value: 9, Alter: -1, Type: "add"}}, "C7", true},
		{"dominant", []theory.GivenDegree{{Value: 5, Type: "subtract"}}, "C7", true},
		{"dominant", []theory.GivenDegree{{Value: 5, Alter: -1, Type: "alter"}}, "C7", true},
		{"minor", []theory.GivenDegree{{Value: 4, Type: "alter"}, {Value: -3, Type: "alter"}, {Value: 99, Type: "alter"}}, "Cm", true},
		{"dominant-ninth", nil, "C7", true},
	} {
		g := theory.GivenChord{Root: pc("C"), HasRoot: true, Kind: c.kind, Degrees: c.degrees}
		chord, ok := fromKind(&g)
		if !ok || chord.Symbol() != c.want || saysMore(&g) != c.more {
			t.Errorf("%s with %v is %s, more %t, want %s, %t", c.kind, c.degrees, chord.Symbol(), saysMore(&g), c.want, c.more)
		}
	}
}

// The schema itself has no kind that is not in the table above.
func TestKindsAreAllOfTheSchema(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "..", "shared", "data", "musicxml-schema", "musicxml.xsd"))
	if err != nil {
		t.Skip("the MusicXML schema is not beside the project: ", err)
	}
	list := regexp.MustCompile(`(?s)<xs:simpleType name="kind-value">.*?</xs:simpleType>`).Find(text)
	values := regexp.MustCompile(`enumeration value="([^"]*)"`).FindAllSubmatch(list, -1)
	var names []string
	for _, v := range values {
		names = append(names, string(v[1]))
		if _, known := kinds[string(v[1])]; !known {
			t.Errorf("%s has no row", v[1])
		}
	}
	if len(names) != len(kinds) {
		t.Errorf("%d kinds in the schema, %d here", len(names), len(kinds))
	}
	for kind := range kinds {
		if !slices.Contains(names, kind) {
			t.Errorf("%s is no kind of the schema", kind)
		}
	}
}
