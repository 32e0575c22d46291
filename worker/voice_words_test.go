package worker

import (
	"fmt"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/worker/request"
)

// songScore is a melody in G, its notes as pitch:eighths, each followed by its lyrics.
func songScore(notes ...string) Input {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Song</part-name></score-part></part-list><part id="P1"><measure number="1">` +
		`<attributes><divisions>2</divisions><key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>`)
	full := 0
	for i, note := range notes {
		name, lyrics, _ := strings.Cut(note, " ")
		var step, octave, eighths = name[:1], name[1:2], int(name[3] - '0')
		if full == 8 {
			full = 0
			fmt.Fprintf(&b, `</measure><measure number="%d">`, i)
		}
		full += eighths
		fmt.Fprintf(&b, `<note><pitch><step>%s</step><octave>%s</octave></pitch><duration>%d</duration>%s</note>`, step, octave, eighths, lyrics)
	}
	b.WriteString(`</measure></part></score-partwise>`)
	return Input{Name: "song.musicxml", Data: []byte(b.String())}
}

// wordsIn are the lyrics of the first part of a score by onset, as they are written.
func wordsIn(t *testing.T, data []byte) string {
	t.Helper()
	doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, sung := range doc.Lyrics(0) {
		out = append(out, fmt.Sprint(doc.Score.Notes[sung.Note].Onset, sung.Lyrics))
	}
	return strings.Join(out, " ")
}

// Every sheet that shows a given melody has its words under the same notes: verses, syllables,
// elisions, melismas and words that only passing notes have (W3C MusicXML 4.0, lyric).
func TestSheetsKeepTheWords(t *testing.T) {
	lyric := func(number int, inner string) string {
		return fmt.Sprintf(`<lyric number="%d">%s</lyric>`, number, inner)
	}
	in := songScore(
		"B4:2 "+lyric(1, "<syllabic>begin</syllabic><text>Glo</text>")+lyric(2, "<syllabic>single</syllabic><text>Now</text>"),
		"A4:1 "+lyric(1, "<syllabic>end</syllabic><text>ry</text>"), "G4:1 "+lyric(1, "<syllabic>single</syllabic><text>be</text>"),
		"A4:2 "+lyric(1, "<syllabic>single</syllabic><text>de</text><elision>‿</elision><syllabic>single</syllabic><text>o</text>"),
		"B4:2 "+lyric(1, `<text>high</text><extend type="start"/>`), "C5:2 "+lyric(1, `<extend type="stop"/>`), "B4:2", "A4:4 "+lyric(1, "<text>on</text>"),
		"G4:8 "+lyric(1, `<text>high.</text>`))
	given := wordsIn(t, in.Data)
	if strings.Count(given, "[") < 8 {
		t.Fatalf("the song has %s", given)
	}
	a, _ := voiced(t, in, "levels", "2", "alternatives", "2", "exercise", request.GivesSoprano)
	for kind, want := range map[string]int{".voiced.musicxml": 1, ".voiced-2.musicxml": 1, ".exercise.musicxml": 1, ".level-1.musicxml": 1, ".level-2.musicxml": 1} {
		found := 0
		for _, f := range a.Files {
			if f.Suffix != kind {
				continue
			}
			found++
			if got := wordsIn(t, f.Data); got != given {
				t.Errorf("%s has %s, want %s", kind, got, given)
			}
		}
		if found != want {
			t.Errorf("there are %d sheets %s, want %d", found, kind, want)
		}
	}
	if bass, _ := voiced(t, sungBass("sol||la|")); !strings.Contains(string(bass.Score().Data), "<text>sol</text>") {
		t.Error("the words under a bass are not in its sheet")
	}
	if bass, _ := voiced(t, sungBass("|6||#|")); strings.Contains(string(bass.Score().Data), "<text>6</text>") {
		t.Error("figures that are typed as lyrics stand in the sheet as words too")
	}
}
