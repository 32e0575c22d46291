package voicing

import (
	"fmt"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

// phrase16 is a phrase of sixteen chords with two cadences.
var phrase16 = []harmony.Numeral{one, six, two, five, one, four, oneSix, twoSix, fiveSev, six, four, two, cadSix4, fiveSev, one, one}

// chords returns the first n chords of the phrase, sung again and again.
func chords(n int) []harmony.Numeral {
	var out []harmony.Numeral
	for k := range n {
		out = append(out, phrase16[k%len(phrase16)])
	}
	return out
}

func benchmarkVoicing(b *testing.B, p *Problem, k int) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Alternatives(p, k); err != nil {
			b.Fatal(err)
		}
	}
}

// How the cost grows with the number of chords, for the best voicing and for ten.
func BenchmarkChords(b *testing.B) {
	for _, n := range []int{4, 16, 50, 100, 200} {
		for _, k := range []int{1, 10} {
			b.Run(fmt.Sprintf("%d/best-%d", n, k), func(b *testing.B) {
				benchmarkVoicing(b, progression(Chorale(), chords(n)...), k)
			})
		}
	}
}

// How the cost grows with the number of voices, for sixteen chords. The cadence is
// plain: in three voices no V7 can take the sixth of a six-four down.
func BenchmarkVoices(b *testing.B) {
	phrase := slices.Clone(phrase16)
	phrase[13] = five
	for _, style := range []Style{ThreeVoices(), Chorale(), Keyboard(), FiveVoices()} {
		b.Run(style.Name, func(b *testing.B) { benchmarkVoicing(b, progression(style, phrase...), 1) })
	}
}

// How the cost grows with the compass: each voice of the chorale keeps its easy
// middle, has its range, or a third more on both sides.
func BenchmarkCompass(b *testing.B) {
	for _, c := range []struct {
		name string
		more int
	}{{"middle", -1}, {"range", 0}, {"third-more", 1}} {
		style := Chorale()
		for v := range style.Voices {
			r := &style.Voices[v]
			switch c.more {
			case -1:
				r.Low, r.High = r.EasyLow, r.EasyHigh
			case 1:
				r.Low, r.High = r.Low.Transpose(theory.MajorThird.Invert()), r.High.Transpose(theory.MajorThird)
			}
		}
		b.Run(c.name, func(b *testing.B) { benchmarkVoicing(b, progression(style, phrase16...), 1) })
	}
}

// A free bass gives each chord a choice of inversions.
func BenchmarkFreeBass(b *testing.B) {
	p := progression(Chorale(), phrase16...)
	for k := 1; k < len(p.Slots)-1; k++ {
		if !phrase16[k].Cadential {
			p.Slots[k] = Inversions(reading(phrase16[k]))
		}
	}
	benchmarkVoicing(b, p, 1)
}

func BenchmarkOptions(b *testing.B) {
	from := chord(one, "E5", "G4", "C4", "C3")
	q := Question{From: from, To: reading(five), Style: Chorale(), Best: 3, Onward: []harmony.Reading{reading(one), reading(six), reading(four)}}
	b.ReportAllocs()
	for b.Loop() {
		if len(Options(q)) == 0 {
			b.Fatal("no option")
		}
	}
}

// How a phrase of sixteen chords goes on after each of the ways to its second chord.
func BenchmarkFinishEach(b *testing.B) {
	p, err := ReadProgression("C: I vi ii V I IV I6 ii6 V7 vi IV ii Cad64 V7 I I")
	if err != nil {
		b.Fatal(err)
	}
	first, _, err := p.Finish(b.Context(), Chorale())
	if err != nil {
		b.Fatal(err)
	}
	p.Hold(0, first.Chords[0].Pitches)
	var ways [][]theory.Pitch
	for _, o := range Options(Question{From: first.Chords[0], To: p.Chords[1].Reading, Style: Chorale(), Best: 3}) {
		ways = append(ways, o.Pitches)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.FinishEach(b.Context(), Chorale(), 1, ways); err != nil {
			b.Fatal(err)
		}
	}
}

// The reasons for every change of sixteen chords, with the runners-up.
func BenchmarkExplain(b *testing.B) {
	p := progression(Chorale(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := explained(p, s); err != nil {
			b.Fatal(err)
		}
	}
}

// The reasons for ten voicings of a hundred chords and one, the search included;
// search-only is what they come on top of.
func BenchmarkExplainTen(b *testing.B) {
	p := progression(Chorale(), chords(101)...)
	for _, reasons := range []bool{false, true} {
		b.Run(map[bool]string{false: "search-only", true: "with-reasons"}[reasons], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				search, err := NewSearch(b.Context(), p)
				if err != nil {
					b.Fatal(err)
				}
				all, err := search.Alternatives(b.Context(), 10)
				if err != nil || len(all) != 10 {
					b.Fatal(len(all), err)
				}
				for _, s := range all {
					if !reasons {
						break
					}
					if _, err := search.Explain(b.Context(), s); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// A florid version of sixteen chords, each note tried against the rules.
func BenchmarkElaborate(b *testing.B) {
	p := progression(Chorale(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		Elaborate(p, s, Layout{}, Elaboration{Density: 1})
	}
}
