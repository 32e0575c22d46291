package musicxml

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
)

func jumpText(s *theory.Score) string {
	var words []string
	for _, j := range s.Jumps {
		words = append(words, fmt.Sprintf("%d>%d", j.From+1, j.To+1))
	}
	return strings.Join(words, " ")
}

// Where a performance goes (W3C MusicXML 4.0: repeat, ending, sound). Measures
// are counted from 1 in the cases; what follows on the page is no jump.
func TestJumps(t *testing.T) {
	const (
		forward  = `<barline location="left"><repeat direction="forward"/></barline>`
		backward = `<barline location="right"><repeat direction="backward"/></barline>`
	)
	ending := func(number, kind, side, more string) string {
		return fmt.Sprintf(`<barline location="%s"><ending number="%s" type="%s"/>%s</barline>`, side, number, kind, more)
	}
	sound := func(attributes string) string { return "<direction><sound " + attributes + "/></direction>" }
	const again = `<repeat direction="backward"/>`
	g := music("G4/4")
	cases := []struct {
		name, why string
		bodies    []string
		want      string
	}{
		{"none", "a score without repeats has no jumps", []string{g, g}, ""},
		{"to the start", "without a forward repeat the piece begins again", []string{g, g + backward, g}, "2>1"},
		{"to the forward repeat", "a backward repeat leads to its forward one", []string{g, forward + g, g + backward, g}, "3>2"},
		{"one measure", "a measure repeated by itself", []string{g, forward + g + backward, g}, "2>2"},
		{"two in a row", "a second backward repeat leads to behind the first", []string{g, g + backward, g, g + backward}, "2>1 4>3"},
		{
			"endings", "the first ending leads back, and the measure before it on to the second",
			[]string{g, g, ending("1", "start", "left", "") + g + ending("1", "stop", "right", again), ending("2", "start", "left", "") + g + ending("2", "discontinue", "right", ""), g},
			"2>4 3>1",
		},
		{
			"long endings", "an ending may last two measures",
			[]string{
				forward + g, ending("1", "start", "left", "") + g, g + ending("1", "stop", "right", again),
				ending("2", "start", "left", "") + g, g + ending("2", "stop", "right", ""), g,
			},
			"1>4 3>1",
		},
		{
			"three endings", "every later ending follows the measure before the first",
			[]string{
				g, ending("1", "start", "left", "") + g + ending("1", "stop", "right", again),
				ending("2", "start", "left", "") + g + ending("2", "stop", "right", again),
				ending("3", "start", "left", "") + g + ending("3", "discontinue", "right", ""),
			},
			"1>3 1>4 2>1 3>1",
		},
		{
			"endings twice", "a forward repeat begins anew",
			[]string{
				g, ending("1", "start", "left", "") + g + ending("1", "stop", "right", again), ending("2", "start", "left", "") + g + ending("2", "stop", "right", ""),
				forward + g, ending("1", "start", "left", "") + g + ending("1", "stop", "right", again), ending("2", "start", "left", "") + g + ending("2", "stop", "right", ""),
			},
			"1>3 2>1 4>6 5>4",
		},
		{
			"endings twice without a forward repeat", "the second section begins behind the endings of the first (common practice)",
			[]string{
				g, ending("1", "start", "left", "") + g + ending("1", "stop", "right", again), ending("2", "start", "left", "") + g + ending("2", "stop", "right", ""),
				g, ending("1", "start", "left", "") + g + ending("1", "stop", "right", again), ending("2", "start", "left", "") + g + ending("2", "stop", "right", ""),
			},
			"1>3 2>1 4>6 5>4",
		},
		{
			"an ending never closed", "a forward repeat closes it",
			[]string{
				g, ending("1", "start", "left", "") + g + backward, forward + g,
				ending("1", "start", "left", "") + g + ending("1", "stop", "right", again), ending("2", "start", "left", "") + g,
			},
			"1>3 2>1 3>5 4>3", // the first ending is left out the second time
		},
		{"not da capo", "dacapo is yes or no", []string{g, g + sound(`dacapo="no"`), g}, ""},
		{"da capo", "dacapo leads to the beginning from the end of its measure", []string{g, g + sound(`dacapo="yes"`), g}, "2>1"},
		{"dal segno", "dalsegno leads to the segno of the same name", []string{g, sound(`segno="a"`) + g, g, g + sound(`dalsegno="a"`)}, "4>2"},
		{"two segnos of one name", "the first one counts", []string{g, sound(`segno="a"`) + g, g, sound(`segno="a"`) + g, g + sound(`dalsegno="a"`)}, "5>2"},
		{"coda", "tocoda at the end of a measure leaves from there", []string{g, g + sound(`tocoda="c"`), g, sound(`coda="c"`) + g}, "2>4"},
		{"coda from the bar line", "tocoda at the start of a measure leaves from the one before", []string{g, g, sound(`tocoda="d"`) + g, sound(`coda="d"`) + g}, "2>4"},
		{"nowhere to go", "a dal segno without a segno is not followed", []string{g, g + sound(`dalsegno="a"`)}, ""},
		{"never closed", "45g of the MusicXML test suite: a forward repeat alone leads nowhere", []string{g, forward + g, g}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			bodies := append([]string{}, c.bodies...)
			bodies[0] = common(1) + bodies[0]
			// A second part with the same bar lines adds nothing.
			d := readText(t, composition{parts: []voicePart{{"P1", measures(bodies...)}, {"P2", measures(bodies...)}}}.partwise())
			if got := jumpText(d.Score); got != c.want {
				t.Errorf("%q, want %q: %s", got, c.want, c.why)
			}
		})
	}
}

// A tie may lead across the jump into a second ending.
func TestTieIntoSecondEnding(t *testing.T) {
	first := `<barline location="left"><ending number="1" type="start"/></barline>`
	back := `<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>`
	second := `<barline location="left"><ending number="2" type="start"/></barline>`
	d := readText(t, alone(
		common(1)+music("G4/4~"), first+music("~G4/4")+back, second+music("~G4/4"),
	).partwise())
	if len(d.Notices) > 0 {
		t.Errorf("a tie into both endings is sound: %v", d.Notices)
	}
	d = readText(t, alone(common(1)+music("G4/4~"), music("A4/4"), music("~G4/4")).partwise())
	if len(d.Notices) != 2 || d.Notices[0].Code != "tie-loose" {
		t.Errorf("a tie with a measure in between is loose at both ends: %v", d.Notices)
	}
}
