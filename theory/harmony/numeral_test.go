package harmony

import (
	"testing"

	"partwright/theory"
)

func TestNumeralText(t *testing.T) {
	cases := []struct {
		mode    theory.Mode
		numeral Numeral
		want    string
		why     string
	}{
		{theory.MajorMode, Numeral{Degree: 5, Quality: DominantSeventh, Inversion: 1}, "V65", "the fifth degree's seventh is dominant without a mark"},
		{theory.MajorMode, Numeral{Degree: 4, Quality: MajorSeventh}, "IVmaj7", "a major seventh is always said"},
		{theory.MajorMode, Numeral{Degree: 1, Quality: DominantSeventh}, "Id7", "a minor seventh on I is not the scale's own"},
		{theory.MajorMode, Numeral{Degree: 7, Quality: HalfDiminishedSeventh, Inversion: 2}, "viiø43", "half-diminished"},
		{theory.MinorMode, Numeral{Degree: 7, Alter: 1, Quality: DiminishedSeventh}, "viio7", "small letters mean the raised seventh degree"},
		{theory.MinorMode, Numeral{Degree: 7, Quality: MajorTriad}, "VII", "capitals mean the lowered seventh degree"},
		{theory.MinorMode, Numeral{Degree: 6, Alter: 1, Quality: HalfDiminishedSeventh}, "viø7", "raised sixth degree"},
		{theory.MinorMode, Numeral{Degree: 4, Quality: DominantSeventh, Inversion: 1}, "IV65", "in minor the scale's seventh above IV is minor"},
		{theory.MajorMode, Numeral{Degree: 2, Alter: -1, Quality: MajorTriad, Inversion: 1}, "N6", "Neapolitan sixth"},
		{theory.MinorMode, Numeral{Degree: 4, Alter: 1, Quality: GermanSixth, Inversion: 1}, "Ger65", "German sixth"},
		{theory.MinorMode, Numeral{Degree: 1, Quality: MinorTriad, Inversion: 2, Cadential: true}, "Cad64", "cadential six-four"},
		{theory.MajorMode, Numeral{Degree: 5, Quality: DominantSeventh, Of: Target{2, 0, theory.MinorMode}}, "V7/ii", "applied to a minor degree"},
		{theory.MinorMode, Numeral{Degree: 7, Alter: 0, Quality: DiminishedTriad, Inversion: 1, Of: Target{3, 0, theory.MajorMode}}, "viio6/III", "leading-tone triad of the relative"},
	}
	for _, c := range cases {
		if got := c.numeral.Text(c.mode); got != c.want {
			t.Errorf("%s: %v in %s = %q, want %q", c.why, c.numeral, c.mode, got, c.want)
		}
	}
}

func TestQualitiesAreStackedThirds(t *testing.T) {
	for q := range Quality(numQualities) {
		root := theory.PitchClass{Step: theory.C}
		for i := range q.Size() {
			if got, want := q.Member(root, i).Step, theory.Step(2*i%7); got != want {
				t.Errorf("%s: member %d is on letter %s, want %s", q, i, got, want)
			}
		}
	}
}

func TestLeadingTone(t *testing.T) {
	c := theory.MinorKey(theory.PitchClass{Step: theory.C})
	b := theory.PitchClass{Step: theory.B}
	if lead, ok := (Reading{c, Numeral{Degree: 5, Quality: MajorTriad}}).LeadingTone(); !ok || lead != b {
		t.Errorf("V in C minor: leading tone %v, %v; want B", lead, ok)
	}
	if _, ok := (Reading{c, Numeral{Degree: 5, Quality: MinorTriad}}).LeadingTone(); ok {
		t.Error("minor v has no leading tone")
	}
	fs := theory.PitchClass{Step: theory.F, Alter: 1}
	if lead, ok := (Reading{c, Numeral{Degree: 5, Quality: DominantSeventh, Of: Target{5, 0, theory.MajorMode}}}).LeadingTone(); !ok || lead != fs {
		t.Errorf("V7/V in C minor: leading tone %v, %v; want F#", lead, ok)
	}
}
