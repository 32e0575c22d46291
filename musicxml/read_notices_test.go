package musicxml

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// What is odd is said once, at its place, and the rest is read.
func TestNotices(t *testing.T) {
	open := common(1)
	g := music("G4/4")
	two := func(a, b []barText) composition {
		return composition{parts: []voicePart{{"P1", a}, {"P2", b}}}
	}
	cases := []struct {
		name, why string
		score     composition
		want      string // "code part label" of every notice
	}{
		{"good", "nothing is said about a good score", alone(open+g, g), ""},
		{"overfull", "five quarters in 4/4", alone(open+g, music("G4/5"), g), "measure-overfull P1 2"},
		{"underfull", "three quarters in 4/4 in the middle", alone(open+g, music("G4/3"), g), "measure-underfull P1 2"},
		{"last measure", "the last measure may make up for a pickup", alone(open+g, g, music("G4/3")), ""},
		{"type and duration", "a quarter that lasts two", alone(open + note("G4", "2", "quarter", "") + music("G4/2")), "duration-and-type P1 1"},
		{"dots", "a dotted half lasts three", alone(open + note("G4", "3", "half", "<dot/>") + music("G4/1")), ""},
		{"two dots", "a double dotted half lasts three and a half", alone(common(2) + note("G4", "7", "half", "<dot/><dot/>") + music("G4/1")), ""},
		{"rounded tuplet", "a fifth of 4 divisions cannot be exact", alone(common(4) + strings.Repeat(note("G4", "1", "16th",
			"<time-modification><actual-notes>5</actual-notes><normal-notes>4</normal-notes></time-modification>"), 5) + music("G4/11")), ""},
		{"whole rest in 3/4", "a whole rest stands for any measure (common practice)", alone(
			attributes(divisions(1), metre("3", "4"))+"<note><rest/><duration>3</duration><type>whole</type></note>", music("G4/3")), ""},
		{"parts differ", "one part lacks a beat", two(measures(open+g, g, g), measures(open+g, music("G3/3"), g)), "parts-differ P2 2"},
		{"one part overfull", "the part with too much is named, not the good one", two(measures(open+g, g, g), measures(open+g, music("G3/5"), g)), "measure-overfull P2 2"},
		{"a part ends early", "the tenor has one measure fewer", two(measures(open+g, g), measures(open+g)), "part-shorter P2 -"},
		{"loose tie", "a tie that no note takes up", alone(open+music("G4/4~"), music("A4/4")), "tie-loose P1 1"},
		{"loose tie end", "a tie that no note began", alone(open+g, music("~G4/4")), "tie-loose P1 2"},
		{"tie in another voice", "a tie may go on in another voice", alone(open+music("v1 G4/4~"), music("v1 B4/4 back/4 v2 ~G4/4"), music("v1 B4/4 back/4 v2 G4/4")), ""},
		{"tie from a grace note", "a grace note tied to its main note", alone(open + "<note><grace/>" + pitchText("G4") + `<tie type="start"/></note>` + music("~G4/4")), ""},
		{"no divisions", "taken from the first note's type", alone(note("G4", "2", "half", "") + note("G4", "2", "half", "")), "divisions-missing P1 -"},
		{"no metre that is", "3/0", alone(attributes(divisions(1), metre("3", "0")) + g), "time-signature P1 1"},
		{"microtone", "a quarter tone", alone(open + "<note><pitch><step>G</step><alter>0.5</alter><octave>4</octave></pitch><duration>4</duration></note>"), "pitch-not-analyzed P1 1"},
		{"octave 12", "no such octave", alone(open + "<note><pitch><step>G</step><octave>12</octave></pitch><duration>4</duration></note>"), "pitch-not-analyzed P1 1"},
		{"nine sharps", "no such alteration", alone(open + "<note><pitch><step>G</step><alter>9</alter><octave>4</octave></pitch><duration>4</duration></note>"), "pitch-not-analyzed P1 1"},
		{"backup too far", "back to before the measure", alone(open + g + music("back/5 G3/4")), "backup-before-measure P1 1"},
		{"chord on its own", "a chord note without a note before it", alone(open + music("+G4/4")), "chord-without-note P1 1"},
		{"chord across the bar line", "a chord note needs its note in the same measure", alone(open+g, music("+B4/4")), "chord-without-note P1 2"},
		{"pitch and rest", "a note sounds or is silent", alone(open + "<note>" + pitchText("G4") + "<rest/><duration>4</duration></note>"), "note-twofold P1 1"},
		{"rest and pitch", "the same the other way round", alone(open + "<note><rest/>" + pitchText("G4") + "<duration>4</duration></note>"), "note-twofold P1 1"},
		{"no pitch and a pitch", "a note has a height or none", alone(open + "<note><unpitched/>" + pitchText("G4") + "<duration>4</duration></note>"), "unpitched P1 -; note-twofold P1 1"},
		{"two pitches", "two notes sound together by <chord/>", alone(open + "<note>" + pitchText("G4") + pitchText("B4") + "<duration>4</duration></note>"), "note-twofold P1 1"},
		{"two durations", "a note has one length", alone(open + "<note>" + pitchText("G4") + "<duration>4</duration><duration>2</duration></note>"), "note-twofold P1 1"},
		{"two voices", "a note is in one voice", alone(open + "<note>" + pitchText("G4") + "<duration>4</duration><voice>1</voice><voice>2</voice></note>"), "note-twofold P1 1"},
		{"chord with a rest", "a rest has no chord", alone(open + music("r/4 +G4/4")), "chord-with-rest P1 1"},
		{"rest in a chord", "nor has a note a rest", alone(open + music("G4/4 +r/4")), "chord-with-rest P1 1"},
		{"4/3", "a third of a whole note is no note value", alone(attributes(divisions(1), metre("4", "3")) + g), "time-signature P1 1"},
		{"3/64 is one", "a sixty-fourth is", alone(attributes(divisions(16), metre("3", "64")) + music("G4/3")), ""},
		{"no number", "a measure has to have one", composition{parts: []voicePart{{"P1", []barText{{"", open + g}, {`number="2"`, g}}}}}, "measure-number-missing P1 "},
		{"numbers left empty", "an empty number says that it has none", composition{parts: []voicePart{{"P1", []barText{{`number=""`, open + g}, {`number=""`, g}}}}}, ""},
		{"shifted numbers", "the first that differs is named", composition{parts: []voicePart{
			{"P1", measures(open+g, g, g)}, {"P2", []barText{{`number="1"`, open + g}, {`number="3"`, g}, {`number="4"`, g}}}}}, "measure-numbers-differ P2 2"},
		{"numbers without a pickup", "a part that begins after the pickup has the others' numbers", composition{parts: []voicePart{
			{"P1", []barText{{`number="0" implicit="yes"`, open + music("G4/1")}, {`number="1"`, g}, {`number="2"`, g}}}, {"P2", measures(open+g, g)}}}, "part-shorter P2 -"},
		{"a part of no name", "ids are names", composition{parts: []voicePart{{"", measures(open + g)}}}, "part-id  -"},
		{"a part of two words", "names have no spaces", composition{parts: []voicePart{{"the tenor", measures(open + g)}}}, "part-id the tenor -"},
		{"a part of a number", "names do not begin with a figure", composition{parts: []voicePart{{"1", measures(open + g)}}}, "part-id 1 -"},
		{"a part of an umlaut", "names may", composition{parts: []voicePart{{"Bläser-1.2", measures(open + g)}}}, ""},
		{"metre changes inside", "the measure is neither", alone(open+g, music("G4/2")+attributes(metre("3", "4"))+music("G4/3"), music("G4/3")), ""},
		{"tremolo on two notes", "each looks as long as both", alone(open +
			note("G4", "2", "whole", `<notations><ornaments><tremolo type="start">2</tremolo></ornaments></notations>`) +
			note("B4", "2", "whole", `<notations><ornaments><tremolo type="stop">2</tremolo></ornaments></notations>`)), ""},
		{"no duration", "taken from the type", alone(open + "<note>" + pitchText("G4") + "<type>whole</type></note>"), "duration-missing P1 1"},
		{"same id twice", "two parts P1", composition{parts: []voicePart{{"P1", measures(open + g)}, {"P1", measures(open + g)}}}, "part-id-repeated P1 -"},
		{"voice that vanishes", "voice 2 is there, and then not even as rests", alone(open+music("v1 B4/4 back/4 v2 G4/4"), music("v1 B4/4 back/4 v2 G4/4"), music("v1 B4/4")), "voice-vanishes P1 3"},
		{"voice now and then", "a second voice may come and go", alone(open+music("v1 B4/4 back/4 v2 G4/4"), music("v1 B4/4"), music("v1 B4/4 back/4 v2 G4/4"), music("v1 B4/4")), ""},
		{"transposition of no interval", "one letter and eleven semitones", alone(attributes(divisions(1), "<transpose><diatonic>1</diatonic><chromatic>11</chromatic></transpose>") + g), "transposition P1 1"},
		{"transposition in words", "a chromatic of two", alone(attributes(divisions(1), "<transpose><chromatic>two</chromatic></transpose>") + g), "transposition P1 1"},
		{"doubled at the octave", "cello and bass on one staff", alone(attributes(divisions(1), "<transpose><chromatic>0</chromatic><double/></transpose>") + g), "octave-doubling P1 1"},
		{"staff 0", "staves count from 1", alone(open + "<note>" + pitchText("G4") + "<duration>4</duration><staff>0</staff></note>"), "staff P1 1"},
		{"key of staff zero", "staves count from 1", alone(open + attributes(`<key number="0"><fifths>1</fifths></key>`) + g), "staff P1 1"},
		{"key in words", "fifths are a number", alone(attributes(divisions(1), "<key><fifths>two</fifths></key>") + g), "key-signature P1 1"},
		{"thirty sharps", "no such signature", alone(attributes(divisions(1), key(30)) + g), "key-signature P1 1"},
		{"offset in words", "offset is a number", alone(open + "<harmony><function>V</function><offset>later</offset></harmony>" + g), "offset P1 1"},
		{"root altered in words", "root-alter is a number", alone(open + "<harmony><root><root-step>G</root-step><root-alter>sharp</root-alter></root><kind>major</kind></harmony>" + g), "chord-not-analyzed P1 1"},
		{"figure in words", "a figure is a number", alone(open + "<figured-bass><figure><figure-number>six</figure-number></figure></figured-bass>" + g), "figure-not-analyzed P1 1"},
		{"repeat inside a measure", "repeats are followed from measure to measure", alone(open + music("G4/2") + `<barline location="middle"><repeat direction="backward"/></barline>` + music("G4/2")), "repeat-inside-measure P1 1"},
		{"drums", "nothing to analyze", alone(open + "<note><unpitched/><duration>4</duration></note>"), "unpitched P1 -"},
		{"tablature", "set aside", alone(attributes(divisions(1), "<clef><sign>TAB</sign></clef>") + g), "tablature P1 -"},
		{"jump to nowhere", "dal segno without a segno", alone(open + g + `<sound dalsegno="a"/>`), "jump-without-landing  1"},
	}
	seen := map[string]bool{}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, c.score.partwise())
			var got []string
			for _, n := range d.Notices {
				seen[n.Code] = true
				label := n.Label
				if n.Measure < 0 {
					label = "-"
				}
				got = append(got, fmt.Sprintf("%s %s %s", n.Code, n.Part, label))
				if n.Line == 0 || n.Message == "" || !strings.HasSuffix(n.Message, ".") {
					t.Errorf("a notice needs a line and a sentence: %+v", n)
				}
			}
			if text := strings.Join(got, "; "); text != c.want {
				t.Errorf("%q, want %q: %s", text, c.want, c.why)
			}
			if len(d.Score.Notes) == 0 {
				t.Error("nothing was read")
			}
		})
	}
	checkCodes(t, seen)
}

// checkCodes holds the codes seen in this file against the published list: none
// may be missing from it, and none in it may be dead.
func checkCodes(t *testing.T, seen map[string]bool) {
	t.Helper()
	score := string(eveningExercise().partwise())
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	if f, err := z.Create("evening.musicxml"); err != nil {
		t.Fatal(err)
	} else if _, err := f.Write([]byte(score)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	for code, data := range map[string][]byte{
		"part-not-listed":    []byte(strings.Replace(score, `<score-part id="T">`, `<score-part id="X">`, 1)),
		"part-without-music": []byte(strings.Replace(score, "</part-list>", `<score-part id="X"><part-name/></score-part></part-list>`, 1)),
		"container-unlisted": packed.Bytes(),
		"encoding-relabeled": []byte(strings.Replace(score, "UTF-8", "UTF-16", 1)),
	} {
		for _, n := range readText(t, data).Notices {
			seen[n.Code] = true
		}
		if !seen[code] {
			t.Errorf("nothing said about %s", code)
		}
	}
	for _, language := range partwriting.Languages() {
		catalog, _ := partwriting.CatalogFor(language)
		for _, c := range noticeCodes {
			if language != "en" && catalog.Notices[c.code] == "" {
				t.Errorf("%s: no words for the notice %s", language, c.code)
			}
		}
	}
	for i, c := range noticeCodes {
		if i > 0 && noticeCodes[i-1].code >= c.code {
			t.Errorf("%s is out of order", c.code)
		}
		if !strings.HasSuffix(c.says, ".") {
			t.Errorf("%s has no sentence", c.code)
		}
		if !seen[c.code] {
			t.Errorf("no score of the tests has %s", c.code)
		}
		delete(seen, c.code)
	}
	for code := range seen {
		t.Errorf("%s is not in the list of codes", code)
	}
}

// Of two things in a note the first counts, as it does where notes are written: what
// is read and what is mended are the same pitch.
func TestFirstOfTwoCounts(t *testing.T) {
	body := common(1) + "<note>" + pitchText("G4") + pitchText("B4") + "<duration>1</duration><duration>2</duration></note>" +
		"<note><rest/>" + pitchText("A4") + "<duration>1</duration></note><note>" + pitchText("C5") + "<rest/><duration>2</duration></note>"
	d := readText(t, alone(body).partwise())
	if got, want := sketch(d.Score), "0+1 G4, 1+1 rest, 2+2 C5"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// What the document says in place of divisions and durations is really used.
func TestWhatStandsIn(t *testing.T) {
	d := readText(t, alone(note("G4", "6", "half", "")+note("A4", "3", "quarter", "")+"<note>"+pitchText("B4")+"<type>quarter</type></note>").partwise())
	if got, want := sketch(d.Score), "0+2 G4, 2+1 A4, 3+1 B4"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A notice about a pitch says what is wrong with it.
func TestMicrotoneInWords(t *testing.T) {
	d := readText(t, alone(common(1)+"<note><pitch><step>G</step><alter>0.5</alter><octave>4</octave></pitch><duration>4</duration></note>").partwise())
	if len(d.Notices) != 1 || !strings.Contains(d.Notices[0].Message, "altered by 0.5 semitones") {
		t.Errorf("%+v", d.Notices)
	}
}

// One kind of oddity is listed twenty times and then counted, so that no
// document can flood the answer.
func TestNoticesAreCapped(t *testing.T) {
	bad := "<note><pitch><step>G</step><alter>0.5</alter><octave>4</octave></pitch><duration>1</duration></note>"
	d := readText(t, alone(common(1)+strings.Repeat(bad, 1000)).partwise())
	listed, rest := 0, ""
	for _, n := range d.Notices {
		switch {
		case n.Code == "pitch-not-analyzed" && n.Line > 0:
			listed++
		case n.Code == "pitch-not-analyzed":
			rest = n.Message
		}
	}
	if listed != maxNotices || !strings.HasPrefix(rest, "980 more") {
		t.Errorf("%d listed, then %q", listed, rest)
	}
	if d.Counts.Notes != 1000 || !d.Score.Notes[999].Flags.Has(theory.Microtone) {
		t.Error("the notes themselves must all be read and flagged")
	}
}

// A document that declares UTF-16 and is read at all cannot be UTF-16: its
// declaration would be unreadable (W3C XML 1.0, appendix F).
func TestWrongEncodingNameIsSaid(t *testing.T) {
	data := []byte(`<?xml version="1.0" encoding="UTF-16"?><score-partwise><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1"><measure number="1"/></part></score-partwise>`)
	d, err := Read("a.xml", data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range d.Notices {
		if n.Code == "encoding-relabeled" {
			return
		}
	}
	t.Errorf("no notice among %+v", d.Notices)
}
