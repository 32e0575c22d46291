package musicxml

import (
	"fmt"
	"testing"
)

// Lyrics are read verse by verse, with the texts that an elision joins (W3C MusicXML 4.0,
// lyric and elision).
func TestSyllables(t *testing.T) {
	lyric := func(texts string) string {
		n := note4("C3")
		return n[:len(n)-len("</note>")] + texts + "</note>"
	}
	d := mustParse(t, []byte(quarters(note4("C3"),
		lyric(`<lyric number="1"><text> la</text></lyric><lyric number="2"><text>6</text></lyric>`),
		lyric(`<lyric><text>de</text><elision>‿</elision><text>o</text></lyric>`),
		lyric(`<lyric><extend/></lyric>`))))
	if got, want := fmt.Sprint(d.Syllables(0)), "[{1 [la 6]} {2 [deo]}]"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if other := d.Syllables(1); other != nil {
		t.Errorf("a part that is not there sings %v", other)
	}
}
