package worker

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/worker/answer"
	"partwright/worker/request"
)

// leadSheet is a staff in C and 4/4 with a chord symbol over each of its notes: pairs of
// the note and what the <kind> and its root say; the length is in quarters.
func leadSheet(measures ...string) Input {
	return Input{Name: "lead.musicxml", Data: []byte(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Lead</part-name></score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>` +
		strings.Join(measures, `</measure><measure number="2">`) + `</measure></part></score-partwise>`)}
}

func symbolOf(root, kind, degrees string) string {
	return "<harmony><root><root-step>" + root + "</root-step></root><kind>" + kind + "</kind>" + degrees + "</harmony>"
}

const (
	restOf2  = "<note><rest/><duration>2</duration></note>"
	slashOf2 = "<note><pitch><step>B</step><octave>4</octave></pitch><duration>2</duration><notehead>slash</notehead></note>"
)

// Chord symbols stand by themselves: over rests, over slashes, with what MusicXML's kinds
// and degrees ask for (W3C MusicXML 4.0, kind-value and degree).
func TestSymbolsWithoutNotesAreVoiced(t *testing.T) {
	seventh := "<degree><degree-value>7</degree-value><degree-alter>0</degree-alter><degree-type>add</degree-type></degree>"
	for _, under := range []string{restOf2, slashOf2} {
		in := leadSheet(symbolOf("C", "major", "")+under+symbolOf("F", "major-sixth", "")+under,
			symbolOf("G", "suspended-fourth", seventh)+under+symbolOf("G", "dominant-ninth", "")+under+
				`</measure><measure number="3">`+symbolOf("C", "none", "")+under+symbolOf("C", "major", "")+under)
		_, said := voiced(t, in)
		var symbols []string
		for _, c := range said.Alternatives[0].Chords {
			symbols = append(symbols, c.Symbol)
		}
		if got, want := strings.Join(symbols, " "), "C F6 G7sus4 G9 C"; got != want || said.Alternatives[0].Faults > 0 {
			t.Errorf("%s with %v, want %s", got, said.Alternatives[0].ByRule, want)
		}
	}
}

// Ninths and the like leave out the fifth (Hutchinson, Music Theory for the 21st-Century
// Classroom, ch. 37). Where the melody has it, it is the ninth that is left out, which is said.
func TestMelodiesOnTheFifthOfANinth(t *testing.T) {
	note := func(step string) string {
		return "<note><pitch><step>" + step + "</step><octave>4</octave></pitch><duration>2</duration></note>"
	}
	for _, tt := range []struct{ kind, melody, symbols, notice string }{
		{"dominant-ninth", "D", "G7 C", "G9 in measure 1 is voiced as G7"},
		{"dominant-13th", "D", "G7 C", "G13 in measure 1 is voiced as G7"},
		{"dominant-ninth", "B", "G9 C", ""},
		{"dominant", "D", "G7 C", ""},
	} {
		_, said := voiced(t, leadSheet(symbolOf("G", tt.kind, "")+note(tt.melody)+symbolOf("C", "major", "")+note("C")))
		a := &said.Alternatives[0]
		var symbols []string
		for _, c := range a.Chords {
			symbols = append(symbols, c.Symbol)
		}
		if got := strings.Join(symbols, " "); got != tt.symbols || a.Chords[0].Pitches[0] != tt.melody+"4" {
			t.Errorf("%s under %s: %s with %s above, want %s", tt.kind, tt.melody, got, a.Chords[0].Pitches[0], tt.symbols)
		}
		if got := strings.Join(said.Notices, " "); !strings.Contains(got, tt.notice) || tt.notice == "" && got != "" {
			t.Errorf("%s under %s: the notices are %q, want %q", tt.kind, tt.melody, got, tt.notice)
		}
	}
}

// What is refused is named with its place and the smallest change.
func TestSymbolsAndSpellingsThatAreRefused(t *testing.T) {
	chord := func(pitches ...string) string {
		var b strings.Builder
		for i, p := range pitches {
			b.WriteString("<note>")
			if i > 0 {
				b.WriteString("<chord/>")
			}
			alter := map[byte]string{'b': "-1", '#': "1"}[p[1]]
			if alter == "" {
				alter = "0"
			}
			b.WriteString("<pitch><step>" + p[:1] + "</step><alter>" + alter + "</alter><octave>" + p[len(p)-1:] + "</octave></pitch><duration>2</duration></note>")
		}
		return b.String()
	}
	for _, tt := range []struct{ score, problem, advice string }{
		{symbolOf("C", "power", "") + restOf2, "power", ""},
		{symbolOf("C", "dominant", "<degree><degree-value>11</degree-value><degree-alter>1</degree-alter><degree-type>add</degree-type></degree>") + restOf2, "the nearest is C7", ""},
		{chord("E5", "Db5", "A4") + chord("D5", "A4", "F4"), "as they are spelled", "Spell Db as C#: then they are A"},
		{chord("E5", "D5", "C5") + restOf2, "no chord stacked in thirds", "without notes foreign"},
	} {
		var input *musicxml.InputError
		_, err := do(leadSheet(tt.score), &request.Voice{})
		if !errors.As(err, &input) || !strings.Contains(input.Problem, tt.problem) || !strings.Contains(input.Advice, tt.advice) || input.Measure != "1" {
			t.Errorf("%v, want %q and %q in measure 1", err, tt.problem, tt.advice)
		}
	}
}

// The inner voices are set against all of the melody: notes that are foreign to the chord
// that is named, on the beat or off it, are no reason to refuse it (Hutchinson, ch. 10,
// appoggiatura and passing note), and no voice moves in parallel with what the melody does
// last in a chord and first in the next.
func TestMelodiesAreHarmonizedWhole(t *testing.T) {
	note := func(name, length string) string {
		return "<note><pitch><step>" + name[:1] + "</step><octave>" + name[1:] + "</octave></pitch><duration>" + length + "</duration></note>"
	}
	in := leadSheet(
		symbolOf("C", "major", "")+note("G4", "1")+note("A4", "1")+symbolOf("A", "minor", "")+note("B4", "1")+note("C5", "1"),
		symbolOf("F", "major", "")+note("D5", "1")+note("C5", "1")+symbolOf("G", "dominant", "")+note("B4", "1")+note("D5", "1")+
			`</measure><measure number="3">`+symbolOf("C", "major", "")+note("C5", "4"))
	result, said := voiced(t, in)
	a := said.Alternatives[0]
	if a.Faults > 0 || len(a.Chords) != 5 || a.Chords[1].Pitches[0] != "C5" || a.Chords[2].Pitches[0] != "C5" {
		t.Errorf("%d faults, %v, %v", a.Faults, a.ByRule, a.Chords)
	}
	doc, err := musicxml.Read("sheet.musicxml", scoreOf(result, answer.Voiced), musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var line []string
	for _, n := range separation.FindVoices(doc.Score).Voices[0].Notes {
		line = append(line, n.Pitch.String())
	}
	if got, want := strings.Join(line, " "), "G4 A4 B4 C5 D5 C5 B4 D5 C5"; got != want {
		t.Errorf("the melody is %s, want %s", got, want)
	}
	var input *musicxml.InputError
	_, err = do(leadSheet(symbolOf("C", "major", "")+note("A4", "4"), symbolOf("C", "major", "")+note("C5", "4")), &request.Voice{})
	if !errors.As(err, &input) || !strings.Contains(input.Advice, "Name the chord C6") {
		t.Errorf("%v, want C6 offered", err)
	}
}

// All of a melody counts for the voices below it: a seventh or leading tone that it comes to
// on a beat is in no other voice meanwhile (Butterfield, Integrated Music Theory, unit 10a),
// none is further than an octave below any of its notes, and what it does between two beats
// makes no parallels with the next chord.
func TestInnerVoicesHeedTheWholeMelody(t *testing.T) {
	for _, tt := range []struct{ name, melody string }{
		{"a seventh that comes later", "C:C5,E5,D5,C5 F:A4,C5,A4,C5 G7:B4,D5,F5,D5 C:E5,C5,C5,C5"},
		{"a leading tone that comes later", "C:E5,D5,C5,C5 F:A4,A4,C5,C5 G7:G4,A4,B4,D5 C:C5,C5,C5,C5"},
		{"a line that rises away from the voice below it", "C:C5,B4,C5,D5 Am:E5,F5,G5,F5 F:C5,D5,C5,B4 G7:D5,E5,F5,D5 C:C5,C5,C5,C5"},
	} {
		var measures []string
		for i, word := range strings.Fields(tt.melody) {
			symbol, notes, _ := strings.Cut(word, ":")
			kind := map[string]string{"": "major", "m": "minor", "7": "dominant"}[symbol[1:]]
			of := symbolOf(symbol[:1], kind, "")
			for _, n := range strings.Split(notes, ",") {
				of += "<note><pitch><step>" + n[:1] + "</step><octave>" + n[1:] + "</octave></pitch><duration>1</duration></note>"
			}
			if i > 1 {
				of = strings.Join([]string{`</measure><measure number="`, `">`}, strconv.Itoa(i+1)) + of
				measures[1] += of
				continue
			}
			measures = append(measures, of)
		}
		result, said := voiced(t, leadSheet(measures...))
		if a := &said.Alternatives[0]; a.Faults > 0 {
			t.Errorf("%s: %v", tt.name, a.ByRule)
		}
		if faults, _ := checkedSheet(t, result, "chorale"); len(faults) > 0 {
			t.Errorf("%s: the sheet has %v", tt.name, faults)
		}
	}
}

// A melody alone is set with what it passes through as well: eighths between its chords make
// no parallel fifths or octaves with the voices below.
func TestPassingNotesOfAMelodyMakeNoParallels(t *testing.T) {
	score := `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Melody</part-name></score-part></part-list><part id="P1"><measure number="0" implicit="yes"><attributes><divisions>2</divisions><key><fifths>2</fifths></key><time><beats>3</beats><beat-type>4</beat-type></time></attributes>`
	for _, word := range strings.Fields("D5:1 E5:1 | F#5:2 G5:2 A5:2 | G5:1 F#5:1 E5:2 D5:2 | C#5:2 D5:4") {
		if word == "|" {
			score += `</measure><measure>`
			continue
		}
		name, length, _ := strings.Cut(word, ":")
		alter := ""
		if strings.Contains(name, "#") {
			alter = "<alter>1</alter>"
		}
		score += "<note><pitch><step>" + name[:1] + "</step>" + alter + "<octave>" + name[len(name)-1:] + "</octave></pitch><duration>" + length + "</duration></note>"
	}
	_, said := voiced(t, Input{Name: "melody.musicxml", Data: []byte(score + "</measure></part></score-partwise>")})
	for rule, n := range said.Alternatives[0].ByRule {
		if strings.HasPrefix(rule, "parallel-") || strings.HasPrefix(rule, "contrary-") {
			t.Errorf("%d of %s", n, rule)
		}
	}
}

// Where no chord is to sound for a whole measure, the sheet says so (W3C MusicXML 4.0,
// kind-value none) and the measure is not taken for one that is not written yet.
func TestMeasuresWithoutChordAreMeant(t *testing.T) {
	lead := leadSheet(symbolOf("C", "major", "")+restOf2+symbolOf("G", "dominant", "")+restOf2, symbolOf("C", "none", "")+restOf2+restOf2+
		`</measure><measure number="3">`+symbolOf("G", "dominant", "")+restOf2+symbolOf("C", "major", "")+restOf2)
	for name, in := range map[string]struct {
		Input
		pairs []string
	}{
		"text":  {pairs: []string{"progression", "C: I*2 V7*2 N.C.*4 V7*2 I*2"}},
		"score": {Input: lead},
	} {
		result, said := voiced(t, in.Input, in.pairs...)
		if a := &said.Alternatives[0]; a.Faults > 0 {
			t.Errorf("%s: %v", name, a.ByRule)
		}
		data := string(scoreOf(result, answer.Voiced))
		if got := strings.Count(data, `<kind text="N.C.">none</kind>`); got != 1 {
			t.Errorf("%s: the sheet says %d times that no chord sounds, want once", name, got)
		}
		if faults, _ := checkedSheet(t, result, "chorale"); len(faults) > 0 {
			t.Errorf("%s: the sheet has %v", name, faults)
		}
		unsaid := strings.ReplaceAll(data, `<kind text="N.C.">none</kind>`, `<kind>major</kind>`)
		doc, err := musicxml.Read("sheet.musicxml", []byte(unsaid), musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		empty := false
		for _, f := range partwriting.Check(separation.FindVoices(doc.Score), nil, nil) {
			empty = empty || f.Problem == partwriting.MeasuresEmpty
		}
		if !empty {
			t.Errorf("%s: an empty measure under a chord is not found", name)
		}
	}
}
