package musicxml

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// What cannot be read is refused with its place and what to do.
func TestRefused(t *testing.T) {
	open := common(2)
	cases := []struct {
		name, why     string
		text          string
		code          string
		part, measure string
		says          string
	}{
		{"nothing", "no bytes", "", "empty", "", "", "empty"},
		{"blanks", "white space only", " \n", "empty", "", "", "empty"},
		{"another root", "roots are named", "<score/>", "wrong-root", "", "", "<score>"},
		{"another vocabulary", "the root found is named", `<mei xmlns="http://www.music-encoding.org/ns/mei"/>`, "wrong-root", "", "", "<mei>"},
		{"no parts", "a list without music", "<score-partwise><part-list/></score-partwise>", "no-measures", "", "", "no part"},
		{"no measures", "a part without music", `<score-partwise><part id="P1"/></score-partwise>`, "no-measures", "", "", "measure"},
		{"cut off", "the end is missing", string(alone(open + music("G4/8")).partwise()[:400]), "not-well-formed", "", "", "cannot be read"},
		{"duration in words", "duration is a number", string(alone(open+music("G4/8"), music("G4/quarter")).partwise()), "duration", "P1", "2", `"quarter"`},
		{"duration as a fraction", "4/3 is no xs:decimal", string(alone(open + "<note>" + pitchText("G4") + "<duration>4/3</duration></note>").partwise()), "duration", "P1", "1", `"4/3"`},
		{"no duration inside", "an empty duration", string(alone(open + music("G4/")).partwise()), "duration", "P1", "1", `""`},
		{"negative duration", "time does not run backwards in a note", string(alone(open + music("G4/-8")).partwise()), "duration-negative", "P1", "1", `"-8"`},
		{"endless duration", "20 figures", string(alone(open + music("G4/12345678901234567890")).partwise()), "duration-too-long", "P1", "1", "12345678901234567890"},
		{"10^14 quarters", "past what any score needs", string(alone(open + music("G4/99999999999999")).partwise()), "duration-too-long", "P1", "1", "99999999999999"},
		{"10^9 divisions", "past what any score needs", string(alone(open + music("G4/999999999")).partwise()), "duration-too-long", "P1", "1", "999999999"},
		{"many long notes", "each fits, together they do not", string(alone(open + strings.Repeat(music("fwd/30000000"), 3)).partwise()), "score-too-long", "P1", "1", "16777216"},
		{"many long measures", "each fits, together they do not", string(alone(open+music("fwd/30000000"), music("fwd/30000000")).partwise()), "score-too-long", "P1", "2", "16777216"},
		{"endless decimals", "finer than anything written", string(alone(open + music("G4/0.123456789")).partwise()), "duration-too-long", "P1", "1", "0.123456789"},
		{"divisions 0", "no division by zero", string(alone(attributes(divisions(0)) + music("G4/8")).partwise()), "divisions", "P1", "1", `"0"`},
		{"negative divisions", "divisions are positive", string(alone(attributes(divisions(-1)) + music("G4/8")).partwise()), "divisions", "P1", "1", `"-1"`},
		{"divisions in words", "divisions are a number", string(alone(attributes("<divisions>many</divisions>") + music("G4/8")).partwise()), "divisions", "P1", "1", `"many"`},
		{"divisions without a common unit", "two large primes", string(composition{parts: []voicePart{
			{"P1", measures(attributes(divisions(999983)) + music("G4/8"))}, {"P2", measures(attributes(divisions(999979)) + music("G4/8"))}}}.partwise()), "divisions-too-fine", "P2", "1", "common unit"},
		{"step H", "letters go from A to G", string(alone(open + "<note><pitch><step>H</step><octave>4</octave></pitch><duration>8</duration></note>").partwise()), "step", "P1", "1", `"H"`},
		{"no step", "a pitch needs its letter", string(alone(open + "<note><pitch><octave>4</octave></pitch><duration>8</duration></note>").partwise()), "pitch", "P1", "1", "step"},
		{"octave in words", "octaves are numbers", string(alone(open + "<note><pitch><step>G</step><octave>middle</octave></pitch><duration>8</duration></note>").partwise()), "octave", "P1", "1", `"middle"`},
		{"alter in words", "alterations are semitones", string(alone(open + "<note><pitch><step>G</step><alter>sharp</alter><octave>4</octave></pitch><duration>8</duration></note>").partwise()), "alter", "P1", "1", `"sharp"`},
		{"alter out of the world", "a thousand semitones", string(alone(open + "<note><pitch><step>G</step><alter>1000.123456</alter><octave>4</octave></pitch><duration>8</duration></note>").partwise()), "alter", "P1", "1", "1000.123456"},
		{"neither pitch nor rest", "a note is one of them", string(alone(open + "<note><duration>8</duration></note>").partwise()), "note-without-pitch", "P1", "1", "neither"},
		{"too many voices", "a label for every note", string(alone(open + everyNoteItsVoice(maxLayers+1)).partwise()), "too-many-voices", "P1", "1", "16384"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, err := Read("exercise.musicxml", []byte(c.text), Limits{})
			var input *InputError
			if !errors.As(err, &input) {
				t.Fatalf("%s: got %v, %v", c.why, d, err)
			}
			if d != nil {
				t.Error("a refused score leaves no document")
			}
			if input.Code != c.code || input.Part != c.part || input.Measure != c.measure || input.File != "exercise.musicxml" {
				t.Errorf("%s: %+v", c.why, input)
			}
			if c.code != "empty" && input.Line == 0 {
				t.Errorf("no line: %+v", input)
			}
			if !strings.Contains(input.Problem, c.says) || input.Advice == "" {
				t.Errorf("says %q, advises %q; want %q in it", input.Problem, input.Advice, c.says)
			}
		})
	}
}

func everyNoteItsVoice(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "<note><grace/>%s<voice>%d</voice></note>\n", pitchText("G4"), i)
	}
	return b.String()
}

// In a timewise score the part and the measure are named all the same.
func TestRefusedInTimewise(t *testing.T) {
	c := eveningExercise()
	c.parts[2].measures[1].body = music("B3/long")
	_, err := Read("exercise.musicxml", c.timewise(), Limits{})
	var input *InputError
	if !errors.As(err, &input) || input.Part != "T" || input.Measure != "2" {
		t.Errorf("%+v", err)
	}
}

// Limits of the caller reach the parser.
func TestLimitsAreKept(t *testing.T) {
	text := eveningExercise().partwise()
	for _, limits := range []Limits{{MaxBytes: 1000}, {MaxDepth: 3}, {MaxElements: 20}} {
		_, err := Read("exercise.musicxml", text, limits)
		var input *InputError
		if !errors.As(err, &input) || input.Code != "limit" {
			t.Errorf("%+v: %v", limits, err)
		}
	}
}

// A score over a bound is refused before it costs memory.
func TestBounds(t *testing.T) {
	root := func(body string) string {
		return `<score-partwise version="4.0"><part-list/>` + body + "</score-partwise>"
	}
	part := func(body string) string {
		return root(`<part id="P1"><measure number="1">` + body + "</measure></part>")
	}
	labels := maxLabels/2 + 1
	cases := []struct{ name, text, code string }{
		{"parts", root(strings.Repeat(`<part id="P1"><measure/></part>`, maxParts+1)), "too-many-parts"},
		{"parts in time order", `<score-timewise version="4.0"><measure>` + strings.Repeat(`<part id="P1"/>`, maxParts+1) + "</measure></score-timewise>", "too-many-parts"},
		{"measures", root(`<part id="P1">` + strings.Repeat("<measure/>", maxMeasures+1) + "</part>"), "too-many-measures"},
		{"chords", part(strings.Repeat("<harmony><function>I</function><function>V</function></harmony>", labels)), "too-many-labels"},
		{"figures", part("<figured-bass>" + strings.Repeat("<figure/>", maxLabels+1) + "</figured-bass>"), "too-many-labels"},
		{"keys", part(strings.Repeat("<attributes>"+key(1)+key(2)+"</attributes>", labels)), "too-many-labels"},
		{"metres", part(strings.Repeat("<attributes>"+metre("2", "4")+metre("3", "4")+"</attributes>", labels)), "too-many-labels"},
		{"jumps", part(strings.Repeat(`<sound dacapo="yes" segno="a"/>`, labels)), "too-many-labels"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("exercise.musicxml", []byte(c.text), Limits{})
			var input *InputError
			if !errors.As(err, &input) || input.Code != c.code || input.Line == 0 {
				t.Errorf("got %v, want %s", err, c.code)
			}
		})
	}
}

// Documents that would take forever where work grew with the square of their
// size; the test is that it ends.
func TestTrapsEnd(t *testing.T) {
	const many = 20_000
	repeat := `<barline location="left"><repeat direction="forward"/></barline>`
	back := `<barline location="right"><repeat direction="backward"/></barline>`
	var loops []string
	for range many {
		loops = append(loops, back+music("~G4/1"))
	}
	cases := []struct{ name, why, text string }{
		{"loose ties before jumps", "every repeat leads to the start, where a tie is loose", string(alone(append([]string{repeat + common(1) + strings.Repeat(music("~A4/1 back/1"), 500)}, loops...)...).partwise())},
		{"signs to jump", "as many leaps as landings", string(alone(common(1) + music("G4/1") + strings.Repeat(`<sound dalsegno="a" segno="b"/>`, many)).partwise())},
		{"fermatas on bar lines", "many bar lines and many notes in one measure", string(alone(common(1) + strings.Repeat(music("G4/1")+"<barline><fermata/></barline>", many)).partwise())},
		{"keys of every staff", "staves in turn", string(alone(common(1) + music("G4/1") + attributes(strings.Repeat(`<key number="1"><fifths>1</fifths></key><key number="2"><fifths>2</fifths></key>`, many))).partwise())},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, err := Read("exercise.musicxml", []byte(c.text), Limits{})
			if err != nil {
				t.Fatalf("%s: %v", c.why, err)
			}
			checkScore(t, d)
		})
	}
}
