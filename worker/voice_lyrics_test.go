package worker

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// sungBass is a bass in G minor, a half a note, with the lyrics that follow each note.
func sungBass(line string) Input {
	score := figuredScore(-2, strings.Join(strings.Fields("G2:4 F#2:4 G2:4 D3:4 G2:8"), "|"))
	for i, verses := range strings.Split(line, "|") {
		var b strings.Builder
		for v, text := range strings.Fields(verses) {
			fmt.Fprintf(&b, `<lyric number="%d"><syllabic>single</syllabic><text>%s</text></lyric>`, v+1, text)
		}
		parts := strings.SplitAfterN(score, "</duration>", i+2)
		rest := parts[len(parts)-1]
		score = strings.TrimSuffix(score, rest) + b.String() + rest
	}
	return Input{Name: "sung.musicxml", Data: []byte(score)}
}

// Figures that are typed as lyrics mean what figures mean (Open Music Theory v1,
// Thoroughbass figures), one row or one verse below the other, and it is said; lyrics of
// which some are words are words, which is said too, and words alone need no saying.
func TestFiguresTypedAsLyrics(t *testing.T) {
	const read, words = "read as its figures", "is none"
	for _, tt := range []struct{ lyrics, numerals, notice string }{
		{"|6||#|", "i V6 i V i", read},
		{"|⁶₅||⁷/♯|", "i V65 i V7 i", read},
		{"|6 5||7 #|", "i V65 i V7 i", read},
		{"|6/5||7/#|", "i V65 i V7 i", read},
		{"|6||4-#|", "i V6 i V i", read},
		{"|6||la|", "i viio i v i", words},
		{"|sol||la|", "i viio i v i", ""},
	} {
		_, said := voiced(t, sungBass(tt.lyrics))
		var numerals []string
		for _, c := range said.Alternatives[0].Chords {
			numerals = append(numerals, c.Numeral)
		}
		if got := strings.Join(numerals, " "); got != tt.numerals {
			t.Errorf("%s: %s, want %s", tt.lyrics, got, tt.numerals)
		}
		if noticed := slices.ContainsFunc(said.Notices, func(n string) bool { return strings.Contains(n, "lyrics") }); noticed != (tt.notice != "") ||
			!strings.Contains(strings.Join(said.Notices, " "), tt.notice) {
			t.Errorf("%s: the notices are %q, want %q", tt.lyrics, said.Notices, tt.notice)
		}
	}
}

// Figures typed as lyrics are labels when a score is marked too: one that the notes bear out
// is no matter, another is a finding, and it is said that they were read. Words are words.
func TestFiguresTypedAsLyricsAreLabels(t *testing.T) {
	first, _ := voiced(t, Input{}, "progression", "g: bass G2*2 F#2/6*2 G2*2 D3/#*2 G2*4", "layout", "open", "annotate", "none")
	score := string(scoreOf(first, answer.Voiced))
	upper, bass, found := strings.Cut(score, `<part id="P4">`)
	if !found {
		t.Fatal("the bass is no part of its own")
	}
	sung := func(syllables ...string) Input {
		parts := strings.SplitAfter(bass, "</note>")
		var b strings.Builder
		for i, note := range parts {
			if i < len(syllables) && syllables[i] != "" {
				note = strings.Replace(note, "</note>", "<lyric><text>"+syllables[i]+"</text></lyric></note>", 1)
			}
			b.WriteString(note)
		}
		return Input{Name: "sung.musicxml", Data: []byte(upper + `<part id="P4">` + b.String())}
	}
	for _, tt := range []struct {
		syllables       []string
		noticed, differ bool
	}{
		{[]string{"", "6", "", "#", ""}, true, false},
		{[]string{"", "6", "", "6", ""}, true, true},
		{[]string{"", "6", "", "la", ""}, false, false},
		{nil, false, false},
	} {
		_, said := done[*report.Report](t, sung(tt.syllables...), &request.Check{})
		noticed := slices.ContainsFunc(said.Notices, func(n report.Notice) bool { return n.Code == "lyrics-are-figures" })
		differ := slices.ContainsFunc(said.Findings, func(f report.Finding) bool { return f.Rule == "label-disagrees" })
		if noticed != tt.noticed || differ != tt.differ {
			t.Errorf("%q: said %v, want %v; another label %v, want %v", tt.syllables, noticed, tt.noticed, differ, tt.differ)
		}
	}
}
