package musicxml

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/theory"
)

// A tempo is what a metronome mark counts or a sound says (W3C MusicXML 4.0, metronome, sound:
// tempo is in quarters a minute); other directions are none.
func TestTempos(t *testing.T) {
	mark := func(inside, sound string) string {
		return `<direction><direction-type><words>Andante</words></direction-type>` + inside + sound + `</direction>`
	}
	metronome := func(inside string) string {
		return `<direction-type><metronome>` + inside + `</metronome></direction-type>`
	}
	whole, half := theory.Whole, theory.Frac
	for _, tt := range []struct {
		name, direction string
		want            []theory.Tempo
	}{
		{"words alone", mark("", ""), nil},
		{"words that sound", mark("", `<sound tempo="66.5"/>`), []theory.Tempo{{Words: "Andante", Quarters: half(133, 2)}}},
		{"dotted quarters", mark(metronome(`<beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>60</per-minute>`), ""),
			[]theory.Tempo{{Words: "Andante", Beat: half(3, 2), PerMinute: whole(60), Quarters: whole(90)}}},
		{"doubly dotted halves", mark(metronome(`<beat-unit>half</beat-unit><beat-unit-dot/><beat-unit-dot/><per-minute>20</per-minute>`), ""),
			[]theory.Tempo{{Words: "Andante", Beat: half(7, 2), PerMinute: whole(20), Quarters: whole(70)}}},
		{"another tempo is played", mark(metronome(`<beat-unit>half</beat-unit><per-minute>40</per-minute>`), `<sound tempo="84"/>`),
			[]theory.Tempo{{Words: "Andante", Beat: whole(2), PerMinute: whole(40), Quarters: whole(84)}}},
		{"one value as long as another", mark(metronome(`<beat-unit>quarter</beat-unit><beat-unit>half</beat-unit>`), ""), nil},
		{"no number", mark(metronome(`<beat-unit>quarter</beat-unit><per-minute>ca. 60</per-minute>`), ""), nil},
		{"no tempo", mark("", `<sound tempo="0"/>`) + mark("", `<sound tempo="1e9"/>`) + mark("", `<sound tempo="99999"/>`), nil},
		{"a sound by itself", `<sound tempo="50"/>`, []theory.Tempo{{Quarters: whole(50)}}},
		{"said twice", `<sound tempo="50"/><sound tempo="60"/>`, []theory.Tempo{{Quarters: whole(50)}}},
	} {
		d := readText(t, alone(common(1)+music("G4/1")+tt.direction+music("A4/3")).partwise())
		for i := range tt.want {
			tt.want[i].Onset = whole(1)
		}
		if diff := cmp.Diff(tt.want, d.Score.Tempos, cmp.AllowUnexported(theory.Fraction{})); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, diff)
		}
	}
}
