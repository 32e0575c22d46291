package worker

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

const (
	thoroughbassFigures = "Open Music Theory v1, Thoroughbass figures"
	continuoStyle       = "Open Music Theory v1, Basso continuo style"
	keyboardExercises   = "Open Music Theory v1, keyboard-style exercises"
	openCadences        = "Open Music Theory v1, cadences over the fifth degree"
	unfiguredBass       = "Open Music Theory v1, Unfigured bass"
	hutchinsonSuspends  = "Hutchinson, Music Theory for the 21st-Century Classroom, ch. 10 (suspension)"
	hutchinsonPractice  = "Hutchinson, Music Theory for the 21st-Century Classroom, practice exercises, ch. "
	butterfieldUnit     = "Butterfield, Integrated Music Theory, unit "
	olderPrints         = "common practice, no source"
)

// asScore is the line of a bass with figures that [figuredScore] takes, of what a text has
// after the word bass: notes with the stacks that share their time, "G2/6/4-5/3*2".
func asScore(t *testing.T, line string) string {
	t.Helper()
	var out []string
	for _, word := range strings.Fields(line) {
		word, times, counted := strings.Cut(word, "*")
		eighths := 2
		if counted {
			if _, err := fmt.Sscan(times, &eighths); err != nil {
				t.Fatal(err)
			}
			eighths *= 2
		}
		note, figures, figured := strings.Cut(word, "/")
		at := fmt.Sprintf("%s:%d", note, eighths)
		stages := strings.Split(figures, "-")
		if figures == "-" {
			stages = []string{"~"}
		}
		for _, stack := range stages {
			if figured {
				at += fmt.Sprintf(" %s:%d", stack, eighths/len(stages))
			}
		}
		out = append(out, at)
	}
	return strings.Join(out, "|")
}

// fromBoth voices a line from a text and from the score that says the same. The error is
// that of the text where both are refused.
func fromBoth(t *testing.T, text, score string, pairs ...string) (said map[string]*answer.Answer, err error) {
	t.Helper()
	said = map[string]*answer.Answer{}
	a, fromText := do(Input{}, &request.Voice{}, append([]string{"progression", text}, pairs...)...)
	b, fromScore := do(Input{Name: "given.musicxml", Data: []byte(score)}, &request.Voice{}, pairs...)
	if (fromText == nil) != (fromScore == nil) {
		t.Errorf("%s: the text gives %v, the score %v", text, fromText, fromScore)
	}
	var placed *musicxml.InputError
	if fromScore != nil && (!errors.As(fromScore, &placed) || placed.Measure == "") {
		t.Errorf("%s: refused without a place: %v", text, fromScore)
	}
	if fromText == nil {
		said["text"] = a
	}
	if fromScore == nil {
		said["score"] = b
	}
	return said, fromText
}

func numeralsIn(a *answer.Answer) string {
	var out []string
	for _, c := range a.Report.(*report.Voicing).Alternatives[0].Chords {
		out = append(out, c.Numeral)
	}
	return strings.Join(out, " ")
}

// checkedSheet reads the sheet of an answer again, marks it, and returns its faults with the
// suspensions that the analysis finds in it.
func checkedSheet(t *testing.T, a *answer.Answer, style string) (faults []string, delays string) {
	t.Helper()
	doc, err := musicxml.Read("sheet.musicxml", scoreOf(a, answer.Voiced), musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	texture := separation.FindVoices(doc.Score)
	analysis := harmony.GuidedAs(texture, harmony.ScoreAnnotations(texture), harmony.Steer, harmony.ByTexture)
	for _, d := range analysis.Delays() {
		delays += fmt.Sprintf(" %d-%d", d.Number, d.Resolved)
	}
	rules := voicing.Chorale().Rules
	if style == "keyboard" {
		rules = voicing.Keyboard().Rules
	}
	for _, f := range partwriting.Check(texture, analysis, rules) {
		if f.Severity == partwriting.Fault {
			faults = append(faults, fmt.Sprintf("%s at %v", f.Rule, f.Onset))
		}
	}
	return faults, delays
}

// Every figure and every rule of reading them, in a line that leads in and out: what the
// chords are with their inversions, and which suspensions are prepared and resolved; where
// no numerals stand the line is refused, with the figures that the error names. Text and
// score say the same, in both styles.
func TestFiguresMeanTheSameInTextAndScore(t *testing.T) {
	for _, tt := range []struct {
		rule, key, line, numerals, delays, source string // delays, or what is refused
	}{
		{"5/3: the root below", "C", "C3/5/3 F3/5/3 G3/5/3 C3/5/3", "I IV V I", "", thoroughbassFigures},
		{"no figure is 5/3", "C", "C3 F3 G3 C3", "I IV V I", "", thoroughbassFigures},
		{"6/3: the third below", "C", "C3 E3/6/3 F3 C3", "I I6 IV I", "", thoroughbassFigures},
		{"6 is 6/3", "C", "C3 E3/6 F3 C3", "I I6 IV I", "", thoroughbassFigures},
		{"6/4: the fifth below, passing", "C", "C3 D3/6/4 E3/6 F3", "I V64 I6 IV", "", thoroughbassFigures},
		{"7/5/3: a seventh over its root", "C", "C3 D3/6 G2/7/5/3 C3", "I viio6 V7 I", "", thoroughbassFigures},
		{"7 is 7/5/3", "C", "C3 F3 G3/7 C3", "I IV V7 I", "", thoroughbassFigures},
		{"6/5/3: a seventh over its third", "C", "C3 B2/6/5/3 C3*2", "I V65 I", "", thoroughbassFigures},
		{"6/5 is 6/5/3", "C", "C3 B2/6/5 C3*2", "I V65 I", "", thoroughbassFigures},
		{"6/4/3: a seventh over its fifth", "C", "C3 D3/6/4/3 E3/6 F3", "I V43 I6 IV", "", thoroughbassFigures},
		{"4/3 is 6/4/3", "C", "C3 D3/4/3 C3*2", "I V43 I", "", thoroughbassFigures},
		{"6/4/2: a seventh in the bass", "C", "C3 F3/6/4/2 E3/6 C3", "I V42 I6 I", "", thoroughbassFigures},
		{"4/2 is 6/4/2", "C", "C3 F3/4/2 E3/6 C3", "I V42 I6 I", "", thoroughbassFigures},
		{"2 is 6/4/2", "C", "C3 F3/2 E3/6 C3", "I V42 I6 I", "", thoroughbassFigures},
		{"a fifth is understood with 4", "C", "C3 F3 G3/4-3*2 C3*4", "I IV V I", "4-3", thoroughbassFigures},
		{"a fifth is understood with 9", "C", "G2*2 C3/9-8*2 G2*2 C3*2", "V I V I", "9-8", thoroughbassFigures},
		{"figures count in the signature", "Bb", "Bb2 Eb3/4/2 D3/6 Bb2", "I V42 I6 I", "", thoroughbassFigures},
		{"and in that of minor", "e", "E3 G3/6 A3 E3", "i i6 iv i", "", thoroughbassFigures},
		{"a sharp alone raises the third", "e", "E3 A2 B2/# E3", "i iv V i", "", thoroughbassFigures},
		{"a natural alone raises a flat third", "f", "F3 Bb2 C3/n F2", "i iv V i", "", thoroughbassFigures},
		{"a flat alone lowers the third", "C", "C3 F3/b G3 C3", "I iv V I", "", thoroughbassFigures},
		{"a sharp before a six raises it", "a", "A2 B2/#6 C3/6 A2", "i viio6 i6 i", "", thoroughbassFigures},
		{"a flat before a six lowers it", "C", "C3 C3/b6/b G2/6/4-5/3*2 C3*4", "I bVI6 Cad64 V I", "", thoroughbassFigures},
		{"a natural before a six", "c", "C3 D3/n6 Eb3/6 C3", "i viio6 i6 i", "", thoroughbassFigures},
		{"a natural before a seven", "C", "C3 F3 G3/n7 C3", "I IV V7 I", "", thoroughbassFigures},
		{"seven over a raised third", "b", "B2 E3 F#3/7/# B2", "i iv V7 i", "", thoroughbassFigures},
		{"a raised six among three figures", "b", "B2 C#3/#6/4/3 D3/6 B2", "i V43 i6 i", "", thoroughbassFigures},
		{"a stroke through six raises it", "a", "A2 B2/6\\ C3/6 A2", "i viio6 i6 i", "", thoroughbassFigures},
		{"a cross beside four raises it", "C", "C3 C3/4+/2 B2/6 C3", "I V42/V V6 I", "", thoroughbassFigures},
		{"a cross before four raises it", "C", "C3 C3/+4/2 B2/6 C3", "I V42/V V6 I", "", thoroughbassFigures},
		{"in older prints a sharp cancels a flat", "g", "G2 D3/# G2*2", "i V i", "", olderPrints},
		{"in older prints a sharp on six cancels its flat", "c", "C3 D3/#6 Eb3/6 C3", "i viio6 i6 i", "", olderPrints},
		{"the bass is altered by its note", "g", "G2 F#2/6 G2*2", "i V6 i", "", continuoStyle},
		{"4-3 is a suspension", "C", "C3*2 G2/4-3*2 C3*4", "I V I", "4-3", thoroughbassFigures},
		{"4-3 under a raised third", "a", "A2*2 E3/4-#*2 A2*4", "i V i", "4-3", thoroughbassFigures},
		{"5/4-5/3", "C", "C3*2 G2/5/4-5/3*2 C3*4", "I V I", "4-3", thoroughbassFigures},
		{"7-6 is a suspension", "C", "F3 E3/6 D3/7-6*2 C3*4", "IV I6 viio6 I", "7-6", thoroughbassFigures},
		{"a chain of 7-6", "C", "F3/6*2 E3/7-6*2 D3/7-6*2 C3*2", "ii6 I6 viio6 I", "7-6 7-6", thoroughbassFigures},
		{"9-8 is a suspension", "C", "G2*2 C3/9-8*2 F3*2 C3*2", "V I IV I", "9-8", thoroughbassFigures},
		{"9-8 over a sixth chord", "C", "F3*2 E3/9/6-8/6*2 F3*2 C3*2", "IV I6 IV I", "9-8", butterfieldUnit + "10"},
		{"two suspensions at once", "C", "G2/7*2 C3/9/4-8/3*2 F3*2 C3*2", "V7 I IV I", "9-8 4-3", butterfieldUnit + "10"},
		{"2-3 in the bass", "C", "C3*2 C3/5/2 B2/6 C3*4", "I V6 I", "", hutchinsonSuspends},
		{"6/4-5/3 is the cadential six-four", "C", "C3 F3 G3/6/4-5/3*2 C3*4", "I IV Cad64 V I", "", thoroughbassFigures},
		{"6/4-7/3 likewise", "C", "C3 F3 G3/6/4-7/3*2 C3*4", "I IV Cad64 V7 I", "", thoroughbassFigures},
		{"the double cadence", "C", "C3 G2/6/4-5/4-5/3*3 C3*4", "I Cad64 V I", "4-3", openCadences},
		{"5-6 over a note is two chords", "C", "C3/5-6*2 D3 G2 C3*4", "I vi6 ii V I", "", thoroughbassFigures},
		{"8-7 adds the seventh", "C", "C3 F3 G3/8-7*2 C3*4", "I IV V V7 I", "", thoroughbassFigures},
		{"a dash holds the chord", "C", "C3 D3/- E3/6 F3 G3/7*2 C3*2", "I I6 IV V7 I", "", thoroughbassFigures},
		{"5/4 is read as it stands", "C", "C3 F3 G3/5/4 G3/5/3 C3*4", "I IV V I", "4-3", thoroughbassFigures},
		{"7/6/3 is read as it stands", "C", "F3 E3/6 D3/7/6/3-8/6/3*2 C3*4", "IV I6 viio6 I", "7-8", thoroughbassFigures},
		{"and refused where nothing resolves it", "C", "F3 D3/7/6/3 E3*2", "", "7 6 3 over D", thoroughbassFigures},
		{"so is 5/4", "C", "C3 G3/5/4 A3*2", "", "5 4 over G", thoroughbassFigures},
		{"an Italian sixth", "C", "C3 Ab2/#6 G2*2", "I It6 V", "", hutchinsonPractice + "29"},
		{"a French sixth", "C", "C3 Ab2/#6/4/3 G2*2", "I Fr43 V", "", hutchinsonPractice + "29"},
		{"a German sixth", "c", "C3 Ab2/#6/5 G2/6/4-5/n*2 C3*4", "i Ger65 Cad64 V i", "", hutchinsonPractice + "29"},
		{"a sixth with a stroke over flat six is augmented", "c", "C3 Ab2/6\\ G2/n*2", "i It6 V", "", hutchinsonPractice + "29"},
		{"1 is no figure", "C", "C3 G2/1 C3*2", "", "", thoroughbassFigures},
	} {
		key, err := theory.ParseKey(tt.key)
		if err != nil {
			t.Fatal(err)
		}
		for _, style := range []string{"keyboard", "chorale"} {
			name := fmt.Sprintf("%s (%s; %s)", tt.rule, tt.source, style)
			said, err := fromBoth(t, tt.key+": bass "+tt.line, figuredScore(key.Signature(), asScore(t, tt.line)), "style", style)
			if err != nil != (tt.numerals == "") {
				t.Errorf("%s: %v", name, err)
			}
			if err != nil && !strings.Contains(err.Error(), tt.delays) {
				t.Errorf("%s: %v, want %q", name, err, tt.delays)
			}
			for from, a := range said {
				faults, delays := checkedSheet(t, a, style)
				if got := numeralsIn(a); got != tt.numerals || len(faults) > 0 {
					t.Errorf("%s: from the %s %s with %v, want %s", name, from, got, faults, tt.numerals)
				}
				for _, want := range strings.Fields(tt.delays) {
					if !strings.Contains(delays, want) {
						t.Errorf("%s: from the %s the suspensions are %s, want %s", name, from, delays, want)
					}
				}
			}
		}
	}
}

// Given lines that were published with their realizations are realized in both styles
// without a fault, from text and from score, with the chords that the source has.
func TestPublishedLinesAreRealized(t *testing.T) {
	for _, tt := range []struct {
		source, key string
		// given is a bass with figures, else numerals or the notes of a soprano.
		given, line string
		numerals    string
		refused     string
	}{
		{continuoStyle + ", G minor", "g", "bass", "G2*2 F#2/6*2 G2*2 A2/#6*2 Bb2/6*2 D3/#*2 G3*2 F3/6*2 Eb3/6*2 C3*2 D3/#*2 D3/7/#*2 G3*2", "i V6 i viio6 i6 V i v6 iv6 iv V V7 i", ""},
		{keyboardExercises + ", B minor", "b", "bass", "B3*2 G3/6*2 D3/6*2 C#3/#6/4/3*2 B2*2 F#3/7/#*2 B2*2", "i iv6 i6 V43 i V7 i", ""},
		{keyboardExercises + ", B flat", "Bb", "bass", "Bb2*2 Eb3/4/2*2 D3/6*2 G3/6*2 F3/8/6/4*2 F2/7/5/3*2 Bb2*2", "I V42 I6 IV6 Cad64 V7 I", ""},
		{continuoStyle + ", C major", "C", "bass", "C4*2 B3/6*2 A3/#6/4/3*2 G3*2 F3/6/5*2 G3*2 C3*2", "I V6 V43/V V ii65 V I", ""},
		{hutchinsonPractice + "26, G minor", "g", "bass", "G2*2 A2/6*2 Bb2/6*2 D3/#*2 Eb3*2", "i VII6 i6 V VI", ""},
		{hutchinsonPractice + "26, G minor, the six with a stroke", "g", "bass", "G2*2 A2/6\\*2 Bb2/6*2 D3/#*2 Eb3*2", "i viio6 i6 V VI", ""},
		{hutchinsonPractice + "26, B minor", "b", "bass", "B2*2 C#3/6/4*2 D3/6*2 E3/6*2 F#3/6/4*2 F#3/#*2 G3*2", "i v64 i6 iio6 Cad64 V VI", ""},
		{hutchinsonPractice + "26, C minor", "c", "numerals", "i iv i64 iv6 iio6 Cad64 V VI", "i iv i64 iv6 iio6 Cad64 V VI", ""},
		{hutchinsonPractice + "26, D minor", "d", "numerals", "i VII III iv V VI iv i", "i VII III iv V VI iv i", ""},
		{hutchinsonPractice + "27, sevenths in root position", "b", "numerals", "i7 iv7 VII7 IIImaj7 VImaj7 iiø7 V7 i", "i7 iv7 VII7 IIImaj7 VImaj7 iiø7 V7 i", ""},
		{hutchinsonPractice + "29, applied dominants", "Ab", "bass", "Ab2*2 C3/7/n*2 F3/7/n*2 Bb2/7/n*2 Eb3*2 E3/b7*2 F3*2", "I V7/vi V7/ii V7/V V viio7/vi vi", ""},
		{hutchinsonPractice + "28, suspensions", "b", "bass", "B2*2 E3*2 B2/4-3*2 D3*2 E3/9-8*2 F#3/4-#*2 G3*2", "i iv i III iv V VI", ""},
		{hutchinsonPractice + "29, chromatic chords", "Ab", "numerals", "vi Fr43 V7 bVI N6 viio7/V V vi", "vi Fr43 V7 bVI N6 viio7/V V vi", ""},
		{butterfieldUnit + "11a", "C", "soprano", "C5 A4 B4 C5", "", ""},
		{butterfieldUnit + "11b", "C", "numerals", "I vi ii V I", "I vi ii V I", ""},
		{openCadences + ", compound", "C", "bass", "G3/6/4*2 G2/7*2 C3*2", "Cad64 V7 I", ""},
		{openCadences + ", double", "C", "bass", "G3/5/3*2 G3/6/4-5/4-5/3*3 C3*3", "V Cad64 V I", ""},
		{unfiguredBass + ", D major", "D", "bass", "D3*2 E3/6/4*2 F#3/6*2 G3*2 A3/4*2 A2/3*2 D3*4", "I V64 I6 IV V I", ""},
		{unfiguredBass + ", F minor", "f", "bass", "F3*2 Bb3/6*2 Bb3/#4/2*2 Ab3/6*2 Db4/6*2 C4/7/n*2 F3*2", "i iio6 V42 i6 iv6 V7 i", ""},
	} {
		key, err := theory.ParseKey(tt.key)
		if err != nil {
			t.Fatal(err)
		}
		var text, score string
		switch tt.given {
		case "bass":
			text, score = tt.key+": bass "+tt.line, figuredScore(key.Signature(), asScore(t, tt.line))
		case "soprano":
			text, score = tt.key+": soprano "+tt.line, figuredScore(key.Signature(), asScore(t, tt.line))
		default:
			text, score = tt.key+": "+tt.line, numeralScore(key, tt.line)
		}
		for _, style := range []string{"keyboard", "chorale"} {
			name := fmt.Sprintf("%s, %s", tt.source, style)
			said, err := fromBoth(t, text, score, "style", style)
			if err != nil && (tt.refused == "" || !strings.Contains(err.Error(), tt.refused)) {
				t.Errorf("%s: %v", name, err)
			}
			for from, a := range said {
				faults, _ := checkedSheet(t, a, style)
				if got := numeralsIn(a); tt.numerals != "" && got != tt.numerals || len(faults) > 0 {
					t.Errorf("%s: from the %s %s with %v, want %s", name, from, got, faults, tt.numerals)
				}
			}
		}
	}
}

// numeralScore has numerals over rests, a half each.
func numeralScore(key theory.Key, line string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Voice</part-name></score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions><key><fifths>%d</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`, key.Signature())
	for i, numeral := range strings.Fields(line) {
		if i > 0 && i%2 == 0 {
			fmt.Fprintf(&b, `</measure><measure number="%d">`, i/2+1)
		}
		fmt.Fprintf(&b, `<harmony><function>%s: %s</function><kind>other</kind></harmony><note><rest/><duration>2</duration></note>`, key.Abbreviation(), numeral)
	}
	b.WriteString("</measure></part></score-partwise>")
	return b.String()
}
