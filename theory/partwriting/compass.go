package partwriting

import (
	"slices"

	"partwright/theory"
)

// Compass is a published set of ranges for the voices of a choir.
type Compass struct {
	// Name is our own; Source tells where the figures come from.
	Name   string
	Source Source
	// Advice is set where the ranges are a rule of thumb for growing voices:
	// what lies outside is then a remark and never a fault, and the teacher or
	// voice coach decides.
	Advice bool
	Ranges map[string]Range
}

var compasses = []Compass{
	{
		Name: "conservative", Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", ""},
		Ranges: fourRanges("C4-G5", "G3-D5", "C3-G4", "E2-D4"),
	},
	{
		Name: "staff-lines", Source: Source{"Butterfield, Integrated Music Theory", "unit 11a", "rule of thumb by the lines of the staff"},
		Ranges: fourRanges("E4-A5", "A3-F5", "D3-G4", "E2-A3"),
	},
	{
		Name: "chorales", Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "fig. 26.4.1", "what Bach's chorales mostly use"},
		Ranges: fourRanges("D4-F#5", "G3-C#5", "Eb3-F#4", "E2-C4"),
	},
	{
		Name: "narrow-inner", Source: Source{"Aldwell & Schachter, Harmony and Voice Leading", "through two published study lists", ""},
		Ranges: fourRanges("C4-G5", "G3-C5", "C3-G4", "E2-C4"),
	},
	{
		Name: "volunteer-choir", Source: Source{"A singers' forum, twenty years of practice with volunteer church choirs", "", ""},
		Ranges: fourRanges("Bb3-E5", "G3-C5", "C3-E4", "F2-C4"),
	},
	{
		Name: "growing-voices", Source: Source{"Stages of the changing voice after Cooksey and Cooper, from memory", "", "unchanged trebles, girls of 11 to 15, cambiata, new baritone"},
		Advice: true,
		Ranges: fourRanges("A3-F5", "B3-E5", "F3-C5", "B2-D#4"),
	},
}

func fourRanges(soprano, alto, tenor, bass string) map[string]Range {
	ranges := map[string]Range{}
	for name, text := range map[string]string{"S": soprano, "A": alto, "T": tenor, "B": bass} {
		r, err := ParseRange(text)
		if err != nil {
			panic(err)
		}
		ranges[name] = r
	}
	return ranges
}

// Compasses returns the published ranges, the default first.
func Compasses() []Compass { return slices.Clone(compasses) }

// CompassByName returns the ranges of that name, and false where there are none.
func CompassByName(name string) (Compass, bool) {
	for _, c := range compasses {
		if c.Name == name {
			return c, true
		}
	}
	return Compass{}, false
}

// ConservativeRanges returns the default ranges, by voice name.
func ConservativeRanges() map[string]Range {
	copied := map[string]Range{}
	for name, r := range compasses[0].Ranges {
		copied[name] = r
	}
	return copied
}

// Range is the compass of a voice, both ends included.
type Range struct{ Low, High theory.Pitch }

// Holds reports whether a pitch lies within the range.
func (r Range) Holds(p theory.Pitch) bool { return r.excess(p) == 0 }

// excess returns how many semitones a pitch lies outside.
func (r Range) excess(p theory.Pitch) int {
	return max(p.Semitones()-r.High.Semitones(), r.Low.Semitones()-p.Semitones(), 0)
}
