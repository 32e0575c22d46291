package musicxml

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"
	"unicode/utf16"
)

// markDocument is a score of our own that marks have to leave unharmed.
type markDocument struct {
	name, why string
	data      []byte
}

const partList = `<part-list><score-part id="P1"><part-name>Choir</part-name></score-part></part-list>`

// note4 writes a quarter note.
func note4(pitch string, rest ...string) string {
	return "<note" + strings.Join(rest, "") + "><pitch><step>" + pitch[:1] + "</step><octave>" + pitch[1:] +
		"</octave></pitch><duration>1</duration><type>quarter</type></note>"
}

const fourQuarters = `<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`

func partwise(header, measures string) []byte {
	return []byte(`<score-partwise version="4.0">` + header + partList + `<part id="P1">` + measures + `</part></score-partwise>`)
}

// indented is a score laid out as most programs do, with two voices on each of
// two staves.
const indented = `<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 3.1 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">
<!-- two voices on each staff -->
<score-partwise version="3.1">
  <work>
    <work-title>Evening</work-title>
  </work>
  <identification>
    <creator type="composer">Class 2b</creator>
    <encoding>
      <software>by hand</software>
    </encoding>
  </identification>
  <part-list>
    <score-part id="P1">
      <part-name>Keyboard</part-name>
    </score-part>
  </part-list>
  <?page fold?>
  <part id="P1">
    <measure number="1">
      <print new-system="no"/>
      <attributes>
        <divisions>2</divisions>
        <key><fifths>-1</fifths></key>
        <time><beats>2</beats><beat-type>4</beat-type></time>
        <staves>2</staves>
        <clef number="1"><sign>G</sign><line>2</line></clef>
        <clef number="2"><sign>F</sign><line>4</line></clef>
      </attributes>
      <direction placement="above">
        <direction-type><words font-weight="bold">Calm</words></direction-type>
      </direction>
      <note default-x="80.5">
        <pitch><step>A</step><octave>4</octave></pitch>
        <duration>2</duration><voice>1</voice><type>quarter</type><stem>up</stem><staff>1</staff>
        <lyric number="1"><syllabic>single</syllabic><text>Night</text></lyric>
      </note>
      <note>
        <grace/>
        <pitch><step>A</step><octave>4</octave></pitch><voice>1</voice><type>eighth</type><staff>1</staff>
      </note>
      <note color='#C00000'>
        <pitch><step>B</step><alter>-1</alter><octave>4</octave></pitch>
        <duration>2</duration><voice>1</voice><type>quarter</type><stem>up</stem><staff>1</staff>
      </note>
      <backup><duration>4</duration></backup>
      <note>
        <pitch><step>F</step><octave>4</octave></pitch>
        <duration>2</duration><voice>2</voice><type>quarter</type><stem>down</stem><staff>1</staff>
      </note>
      <forward><duration>2</duration><voice>2</voice><staff>1</staff></forward>
      <backup><duration>4</duration></backup>
      <note>
        <pitch><step>C</step><octave>3</octave></pitch>
        <duration>4</duration><voice>5</voice><type>half</type><staff>2</staff>
      </note>
      <note>
        <chord/>
        <pitch><step>F</step><octave>3</octave></pitch>
        <duration>4</duration><voice>5</voice><type>half</type><staff>2</staff>
      </note>
      <note id="n9">
        <chord/>
        <pitch><step>A</step><octave>3</octave></pitch>
        <duration>4</duration><voice>5</voice><type>half</type><staff>2</staff>
      </note>
    </measure>
    <measure number="2">
      <note>
        <rest measure="yes"/>
        <duration>4</duration><voice>1</voice><staff>1</staff>
      </note>
      <backup><duration>4</duration></backup>
      <note>
        <pitch><step>F</step><octave>2</octave></pitch>
        <duration>4</duration><voice>5</voice><type>half</type><staff>2</staff>
      </note>
      <barline location="right"><bar-style>light-heavy</bar-style></barline>
    </measure>
  </part>
</score-partwise>
`

var timewise = `<?xml version="1.0"?>
<score-timewise version="2.0">
	<part-list>
		<score-part id="S"><part-name>Soprano</part-name></score-part>
		<score-part id="B"><part-name>Bass</part-name></score-part>
	</part-list>
	<measure number="1">
		<part id="S">
			<attributes><divisions>1</divisions></attributes>
			` + note4("C5") + `
			` + note4("D5") + `
		</part>
		<part id="B">
			<attributes><divisions>1</divisions></attributes>
			` + note4("F3") + `
			` + note4("G3", ` color="#937000"`) + `
		</part>
	</measure>
	<measure number="2">
		<part id="S">
			` + note4("E5") + `
		</part>
		<part id="B"/>
	</measure>
</score-timewise>`

var markDocuments = []markDocument{
	{"two staves", "indentation, grace notes, chords, backup, a color and a direction of the author's own", []byte(indented)},
	{"CRLF", "line ends are those of the file", []byte(strings.ReplaceAll(indented, "\n", "\r\n"))},
	{"lone CR", "an old line end is white space too", []byte(strings.ReplaceAll(indented, "\n", "\r"))},
	{"flush left", "lines without indentation", []byte(flushLeft(indented))},
	{"tabs, timewise", "score-timewise; the last measure of the lowest part is an empty tag", []byte(timewise)},
	{"one line", "no white space at all", partwise("", `<measure number="1">`+fourQuarters+note4("C4")+note4("D4")+`</measure>`)},
	{"version 1.0", "no color in MusicXML 1.0", []byte(`<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 1.0 Partwise//EN" "x.dtd"><score-partwise>` +
		partList + `<part id="P1"><measure number="1">` + fourQuarters + `<direction><direction-type><words>1=</words></direction-type></direction>` +
		note4("C4") + note4("D4") + `</measure></part></score-partwise>`)},
	{"no version", "nothing declared", []byte(`<score-partwise>` + partList + `<part id="P1"><measure number="1">` + fourQuarters + note4("C4") + `</measure></part></score-partwise>`)},
	{"empty identification tag", "the tag is opened and closed again", partwise(`<identification />`, `<measure number="1">`+note4("C4")+`</measure>`)},
	{"empty identification", "start and end tag stay", partwise("<identification>\n</identification>", `<measure number="1">`+note4("C4")+`</measure>`)},
	{"empty miscellaneous tag", "the tag is opened and closed again", partwise("<identification><rights>free</rights>\n <miscellaneous\t/></identification>", `<measure number="1">`+note4("C4")+`</measure>`)},
	{"empty miscellaneous", "start and end tag stay", partwise("<identification><miscellaneous></miscellaneous></identification>", `<measure number="1">`+note4("C4")+`</measure>`)},
	{"miscellaneous fields", "others' fields stay", partwise("<identification>\n  <miscellaneous>\n    <miscellaneous-field name=\"grade\">B</miscellaneous-field>\n  </miscellaneous>\n</identification>", `<measure number="1">`+note4("C4")+`</measure>`)},
	{"comment behind the last child", "what is behind an insertion stays behind it", partwise("<identification><rights>free</rights><!-- a --> <!-- b -->\n</identification>", "<measure number=\"1\"><!-- c -->\n"+note4("C4")+"<!-- d --></measure>")},
	{"titles only", "identification goes behind the titles", partwise("\n<work><work-title>x</work-title></work>\n<movement-title>y</movement-title>\n", `<measure number="1">`+note4("C4")+`</measure>`)},
	{"empty last measure", "the key goes into a measure without notes", partwise("", `<measure number="1">`+note4("C4")+"</measure>\n<measure number=\"2\">\n</measure>")},
	{"empty tag as last measure", "the tag is opened and closed again", partwise("", `<measure number="1">`+note4("C4")+`</measure><measure number="2" />`)},
	{"attributes only in the last measure", "no note to stand before", partwise("", `<measure number="1">`+note4("C4")+"</measure>\n  <measure number=\"2\">\n    <attributes/>\n    <barline/>\n  </measure>")},
	{"no notes at all", "only the key", partwise("", `<measure number="1"/>`)},
	{"own colors", "colors of the author's own, ours among them, in every spelling", partwise("", `<measure number="1">`+fourQuarters+
		note4("C4", ` color="#282CC4"`)+note4("D4", ` default-x="1"  color = '#ff937000'`)+note4("E4", "\n color=\"a&quot;b\"")+note4("F4", ` color=""`)+`</measure>`)},
	{"own texts", "directions of the author's own that look like marks, but for a colored heading", partwise("", `<measure number="1">`+fourQuarters+
		`<direction><direction-type><words color="#282CC4">[1=]</words></direction-type></direction>`+note4("C4")+
		`<direction><direction-type><words>[*] Key</words></direction-type></direction>`+
		`<direction><direction-type><words color="#937000">2+ see below</words></direction-type></direction>`+note4("D4")+
		`<direction><direction-type><words>3/</words></direction-type></direction>`+
		`<direction><direction-type><words color="#282CC4">n= mine</words></direction-type></direction></measure>`)},
	{"chord without a head", "a chord member that comes first", partwise("", `<measure number="1"><note><chord/><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration></note></measure>`)},
	{"byte order mark", "the mark stays", append([]byte("\xEF\xBB\xBF"), indented...)},
	{"UTF-16LE", "the encoding stays", utf16Text(strings.Replace(indented, "UTF-8", "UTF-16", 1), false)},
	{"UTF-16BE", "the encoding stays", utf16Text(strings.Replace(indented, "UTF-8", "UTF-16", 1), true)},
	{"Latin-1", "the encoding stays; what it lacks becomes references", []byte(strings.Replace(strings.Replace(indented, "UTF-8", "ISO-8859-1", 1), "Evening", "Pri\xE8re", 1))},
	{"ASCII", "the encoding stays", []byte(strings.Replace(indented, "UTF-8", "US-ASCII", 1))},
}

func flushLeft(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = strings.TrimLeft(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}

func utf16Text(text string, bigEndian bool) []byte {
	var out []byte
	for _, c := range append([]uint16{0xFEFF}, utf16.Encode([]rune(text))...) {
		if bigEndian {
			out = append(out, byte(c>>8), byte(c))
		} else {
			out = append(out, byte(c), byte(c>>8))
		}
	}
	return out
}

// packed puts a score and a picture into a container.
func packed(t testing.TB, score []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, entry := range []struct{ name, text string }{
		{"META-INF/container.xml", `<container><rootfiles><rootfile full-path="a/score.xml"/></rootfiles></container>`},
		{"a/score.xml", string(score)},
		{"a/picture.png", "\x89PNG not really"},
	} {
		f, err := w.Create(entry.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte(entry.text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
