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
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// figuredScore is a bass line in 4/4 as MusicXML: notes with their lengths in eighths and
// stacks of figures behind strokes, each stack with the length that it holds, "G2:4 4:2 3:2".
func figuredScore(fifths int, line string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Bass</part-name></score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>2</divisions><key><fifths>%d</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>F</sign><line>4</line></clef></attributes>`, fifths)
	full, number := 0, 1
	for _, note := range strings.Split(line, "|") {
		words := strings.Fields(note)
		name, length, _ := strings.Cut(words[0], ":")
		if full == 8 {
			number++
			full = 0
			fmt.Fprintf(&b, `</measure><measure number="%d">`, number)
		}
		for _, stack := range words[1:] {
			figures, holds, _ := strings.Cut(stack, ":")
			b.WriteString("<figured-bass>")
			for _, f := range strings.Split(figures, "/") {
				b.WriteString("<figure>")
				for sign, word := range map[string]string{"#": "sharp", "b": "flat", "n": "natural", "+": "plus"} {
					if rest, ok := strings.CutPrefix(f, sign); ok {
						fmt.Fprintf(&b, "<prefix>%s</prefix>", word)
						f = rest
						break
					}
				}
				suffix := ""
				for sign, word := range map[string]string{"\\": "back-slash", "%": "slash", "+": "plus", "#": "sharp"} {
					if rest, ok := strings.CutSuffix(f, sign); ok {
						f, suffix = rest, word
						break
					}
				}
				switch {
				case f == "~":
					b.WriteString(`<extend type="continue"/>`)
				case f != "":
					fmt.Fprintf(&b, "<figure-number>%s</figure-number>", f)
				}
				if suffix != "" {
					fmt.Fprintf(&b, "<suffix>%s</suffix>", suffix)
				}
				b.WriteString("</figure>")
			}
			fmt.Fprintf(&b, "<duration>%s</duration></figured-bass>", holds)
		}
		p := theory.MustPitch(name)
		fmt.Fprintf(&b, "<note><pitch><step>%v</step><alter>%d</alter><octave>%d</octave></pitch><duration>%s</duration></note>", p.Step, p.Alter, p.Octave, length)
		var eighths int
		fmt.Sscan(length, &eighths)
		full += eighths
	}
	b.WriteString("</measure></part></score-partwise>")
	return b.String()
}

// Every figure and reading rule of Open Music Theory v1, "Thoroughbass figures", from a
// score: the abbreviations, lone and combined accidentals, strokes and crosses that raise by
// a semitone, suspensions one after the other over a note, and lines that hold. The
// suspensions are judged as such by the analysis and break no rule.
func TestFiguresOfScoresAreRealized(t *testing.T) {
	for _, tt := range []struct {
		fifths   int
		line     string
		numerals string
		delays   string
	}{
		{0, "C3:4|E3:4 6:4|F3:4|G3:4 6/4:2 5/3:2|C3:8", "I I6 IV Cad64 V I", ""},
		{0, "C3:4|B2:4 6/5:4|C3:8", "I V65 I", ""},
		{0, "C3:4|D3:4 4/3:4|E3:8 6:8", "I V43 I6", ""},
		{0, "C3:4|F3:4 4/2:4|E3:8 6:8", "I V42 I6", ""},
		{0, "C3:4|F3:4 2:4|E3:8 6:8", "I V42 I6", ""},
		{0, "C3:4|G2:4 7:4|C3:8", "I V7 I", ""},
		{-2, "G2:4|D3:4 #:4|G2:8", "i V i", ""},
		{-2, "G2:4|D3:4 7/#:4|G2:8", "i V7 i", ""},
		{-2, "G2:4|A2:4 #6:4|Bb2:8 6:8|G2:8", "i viio6 i6 i", ""},
		{-2, "G2:4|A2:4 6\\:4|Bb2:8 6:8|G2:8", "i viio6 i6 i", ""},
		{-2, "G2:4|A2:4 6%:4|Bb2:8 6:8|G2:8", "i viio6 i6 i", ""},
		{-2, "G2:4|A2:4 6#:4|Bb2:8 6:8|G2:8", "i viio6 i6 i", ""},
		{-2, "G2:4|A2:4 +6:4|Bb2:8 6:8|G2:8", "i viio6 i6 i", ""},
		{-3, "C3:4|G2:4 n:4|C3:8", "i V i", ""},
		{0, "C3:4|A2:4 #6/4/3:4|G2:8", "I V43/V V", ""},
		{0, "C3:4|G2:4 4:2 3:2|C3:8", "I V I", "4-3"},
		{0, "C3:4|F3:4|G3:8 5/4:4 5/3:4|C3:8", "I IV V I", "4-3"},
		{-3, "C3:8|G2:8 5/4:4 5/n:4|C3:8", "i V i", "4-3"},
		{0, "F3:4|E3:4 6:4|D3:8 7:4 6:4|C3:8", "IV I6 viio6 I", "7-6"},
		{0, "F3:8 6:8|E3:8 7:4 6:4|D3:8 7:4 6:4|C3:8", "ii6 I6 viio6 I", "7-6 7-6"},
		{0, "G2:8|C3:8 9:4 8:4|G2:8|C3:8", "V I V I", "9-8"},
		{0, "G2:8 7:8|C3:8 9/4:4 8/3:4", "V7 I", "9-8 4-3"},
		{0, "C3:4|G2:4 7:4|C3:8 7/4/2:4 8/5/3:4", "I V7 I", "4-3"},
		{0, "C3:8|G2:8 6/4:2 5/4:2 5/3:4|C3:8", "I Cad64 V I", "4-3"},
		{0, "C3:2|D3:2 ~:2|E3:4 6:4|F3:4|G3:4 7:4|C3:8", "I I6 IV V7 I", ""},
		{0, "C3:8|C3:4 5/2:4|B2:4 6:4|C3:8", "I V6 I", ""},
		{0, "C3:8|F3:4 5:2 6:2|G3:4 7:4|C3:8", "I IV ii6 V7 I", ""},
	} {
		in := Input{Name: "bass.musicxml", Data: []byte(figuredScore(tt.fifths, tt.line))}
		result, err := do(in, &request.Voice{}, "style", "keyboard")
		if err != nil {
			t.Errorf("%s: %v", tt.line, err)
			continue
		}
		said := result.Report.(*report.Voicing)
		var numerals []string
		for _, c := range said.Alternatives[0].Chords {
			numerals = append(numerals, c.Numeral)
		}
		if got := strings.Join(numerals, " "); got != tt.numerals || said.Alternatives[0].Faults > 0 {
			t.Errorf("%s: %s with %v, want %s", tt.line, got, said.Alternatives[0].ByRule, tt.numerals)
			continue
		}
		doc, err := musicxml.Read("sheet.musicxml", scoreOf(result, answer.Voiced), musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		texture := separation.FindVoices(doc.Score)
		var delays []string
		analysis := harmony.GuidedAs(texture, harmony.ScoreAnnotations(texture), harmony.Steer, harmony.ByTexture)
		for _, d := range analysis.Delays() {
			delays = append(delays, fmt.Sprintf("%d-%d", d.Number, d.Resolved))
		}
		for _, want := range strings.Fields(tt.delays) {
			if !strings.Contains(strings.Join(delays, " "), want) {
				t.Errorf("%s: the written sheet has %v, want %s", tt.line, delays, want)
			}
		}
		for _, f := range partwriting.Check(texture, analysis, partwriting.RuleSetByName("keyboard")) {
			if f.Severity == partwriting.Fault {
				t.Errorf("%s: the written sheet breaks %s at %v", tt.line, f.Rule, f.Onset)
			}
		}
		if given, printed := strings.Count(string(in.Data), "<figure>"), len(doc.Score.Figures); given > 0 && printed == 0 {
			t.Errorf("%s: the sheet prints no figures", tt.line)
		}
	}
}

func TestFiguresOfScoresThatAreRefused(t *testing.T) {
	for line, want := range map[string]string{
		"C3:4|C3:4 8/5/2:4|G3:8":   "8 5 2 over C",
		"C3:8|D3:8 9/7:8|G2:8":     "9 7 over D",
		"G2:8|G2:8 4:4 3:4|C3:8":   "hold over",
		"C3:4|G2:4 19:4|C3:8":      "19 is no figure",
		"C3:8|F3:8 7/5/4/2:8|C3:8": "over F",
		"C3:8 ~:8|G2:8":            "no chord before it",
	} {
		var input *musicxml.InputError
		_, err := do(Input{Name: "bass.musicxml", Data: []byte(figuredScore(0, line))}, &request.Voice{})
		if !errors.As(err, &input) || !strings.Contains(input.Problem, want) || input.Measure == "" {
			t.Errorf("%s: %v, want %q with its measure", line, err, want)
		}
	}
}
