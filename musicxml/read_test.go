package musicxml

import (
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/theory"
)

// The facts below follow the element pages of W3C MusicXML 4.0; each case names
// the element it rests on.
func TestReadNotes(t *testing.T) {
	const triplet = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
	cases := []struct {
		name, why string
		bodies    []string
		want      string
	}{
		{
			"divisions", "divisions: a duration of 3 with 2 to the quarter is a dotted quarter",
			[]string{common(2) + music("G4/3 A4/1 B4/4")},
			"0+3/2 G4, 3/2+1/2 A4, 2+2 B4",
		},
		{
			"divisions change", "divisions hold until the next ones, also inside a measure",
			[]string{common(1) + music("G4/1 A4/1") + attributes(divisions(3)) + music("B4/1 C5/2 D5/3"), music("G4/12")},
			"0+1 G4, 1+1 A4, 2+1/3 B4, 7/3+2/3 C5, 3+1 D5, 4+4 G4",
		},
		{
			"decimal divisions", "divisions and durations are xs:decimal",
			[]string{attributes("<divisions>0.5</divisions>") + music("G4/0.5 A4/0.25 B4/1.25")},
			"0+1 G4, 1+1/2 A4, 3/2+5/2 B4",
		},
		{
			"backup", "backup: the second voice starts on the second beat, and nothing is invented for the first",
			[]string{common(1) + music("v1 D5/4 back/3 v2 G4/1 F#4/2")},
			"0+4 D5, 1+1 G4, 2+2 F#4",
		},
		{
			"forward", "forward moves on without a rest",
			[]string{common(1) + music("D5/1 fwd/2 E5/1")},
			"0+1 D5, 3+1 E5",
		},
		{
			"chord", "chord: shares the onset of the note before and takes no time of its own",
			[]string{common(1) + music("G3/1 +B3/1 +D4/1 G4/3")},
			"0+1 G3, 0+1 B3, 0+1 D4, 1+3 G4",
		},
		{
			"chord after backup", "chord belongs to the note before it, wherever that stands",
			[]string{common(1) + music("D5/4 back/4 G4/2 +B4/2 A4/2")},
			"0+4 D5, 0+2 G4, 0+2 B4, 2+2 A4",
		},
		{
			"grace", "grace: takes no time, before a beat or at a measure's end",
			[]string{common(1) + music("gC5 B4/3 gA4 G4/1 gF#4"), music("G4/4")},
			"0+0 C5 grace, 0+3 B4, 3+0 A4 grace, 3+1 G4, 4+0 F#4 grace, 4+4 G4",
		},
		{
			"cue", "cue notes are written and not played",
			[]string{common(1) + "<note><cue/>" + pitchText("E5") + "<duration>4</duration></note>"},
			"0+4 E5 cue",
		},
		{
			"rests", "rest: whole-measure and hidden ones keep their duration",
			[]string{
				attributes(divisions(1), metre("3", "4")) + `<note><rest measure="yes"/><duration>3</duration></note>`,
				`<note print-object="no"><rest/><duration>1</duration></note>` + music("G4/2"),
			},
			"0+3 rest whole-measure, 3+1 rest hidden, 4+2 G4",
		},
		{
			"multiple rest", "multiple-rest is a way of printing; every measure is written out",
			[]string{
				attributes(divisions(1), metre("2", "4"), `<measure-style><multiple-rest>2</multiple-rest></measure-style>`) + music("r/2"),
				music("r/2"), music("G4/2"),
			},
			"0+2 rest, 2+2 rest, 4+2 G4",
		},
		{
			"tuplet", "time-modification explains the look; the duration tells the length",
			[]string{common(3) + note("G4", "1", "eighth", triplet) + note("A4", "1", "eighth", triplet) + note("B4", "1", "eighth", triplet) + music("C5/9")},
			"0+1/3 G4, 1/3+1/3 A4, 2/3+1/3 B4, 1+3 C5",
		},
		{
			"nested tuplets", "a quintuplet inside a triplet: 1/15 of a half note each, exactly",
			[]string{common(15) + music("G4/2 A4/2 B4/2 C5/2 D5/2 G4/10 A4/10 B4/30")},
			"0+2/15 G4, 2/15+2/15 A4, 4/15+2/15 B4, 2/5+2/15 C5, 8/15+2/15 D5, 2/3+2/3 G4, 4/3+2/3 A4, 2+2 B4",
		},
		{
			"tie across measures", "tie: flags on both halves, which stay two written notes",
			[]string{common(1) + music("G4/2 A4/2~"), music("~A4/1 B4/3")},
			"0+2 G4, 2+2 A4 tied-on, 4+1 A4 tied-from, 5+3 B4",
		},
		{
			"tied only", "tied: a tie drawn counts where the program writes no tie that sounds",
			[]string{common(1) + note("G4", "2", "half", `<notations><tied type="start"/></notations>`) + note("G4", "2", "half", `<notations><tied type="stop"/></notations>`)},
			"0+2 G4 tied-on, 2+2 G4 tied-from",
		},
		{
			"let ring", "tied: let-ring leads to no note",
			[]string{common(1) + note("G4", "4", "whole", `<notations><tied type="let-ring"/></notations>`)},
			"0+4 G4",
		},
		{
			"tremolo on two notes", "tremolo: each note looks as long as both together",
			[]string{common(1) +
				note("G4", "2", "whole", `<notations><ornaments><tremolo type="start">2</tremolo></ornaments></notations>`) +
				note("B4", "2", "whole", `<notations><ornaments><tremolo type="stop">2</tremolo></ornaments></notations>`)},
			"0+2 G4, 2+2 B4",
		},
		{
			"fermatas", "fermata: on a note, on a rest, and on the bar line for the notes that end there",
			[]string{
				common(1) + note("G4", "2", "half", `<notations><fermata/></notations>`) + `<note><rest/><duration>2</duration><notations><fermata/></notations></note>`,
				music("v1 B4/2 A4/2 back/4 v2 G4/4") + `<barline location="right"><fermata type="upright"/></barline>`,
				`<barline location="left"><bar-style>light-light</bar-style></barline>` + music("G4/4"),
			},
			"0+2 G4 fermata, 2+2 rest fermata, 4+2 B4, 6+2 A4 fermata, 4+4 G4 fermata, 8+4 G4",
		},
		{
			"fermata on a left bar line", "a bar line on the left closes the measure before",
			[]string{common(1) + music("G4/4"), `<barline location="left"><fermata/></barline>` + music("A4/4")},
			"0+4 G4 fermata, 4+4 A4",
		},
		{
			"breath", "breath-mark and caesura come after their note",
			[]string{common(1) +
				note("G4", "2", "half", `<notations><articulations><staccato/><breath-mark/></articulations></notations>`) +
				note("A4", "2", "half", `<notations><articulations/></notations><notations><articulations><caesura/></articulations></notations>`)},
			"0+2 G4 breath, 2+2 A4 breath",
		},
		{
			"lyrics", "lyric: how the first verse's syllable ends; quotation marks do not hide it",
			[]string{common(1) +
				note("G4", "1", "quarter", lyric("Rest,")) + note("A4", "1", "quarter", lyric("now;")) +
				note("B4", "1", "quarter", lyric("said")+lyric("night.")) + note("C5", "1", "quarter", lyric("“Sleep!”"))},
			"0+1 G4 comma, 1+1 A4 comma, 2+1 B4, 3+1 C5 stop",
		},
		{
			"octave clef and octave shift", "clef-octave-change and octave-shift change no pitch: pitch is as it sounds",
			[]string{attributes(divisions(1), metre("4", "4"), "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>") +
				`<direction><direction-type><octave-shift type="down" size="8"/></direction-type></direction>` + music("C4/4")},
			"0+4 C4",
		},
		{
			"microtone", "alter may have decimals: flagged and not rounded",
			[]string{common(1) + "<note><pitch><step>B</step><alter>-0.5</alter><octave>4</octave></pitch><duration>4</duration></note>"},
			"0+4 B4 microtone",
		},
		{
			"sixth of a tone", "decimals without end are a microtone too",
			[]string{common(1) + "<note><pitch><step>B</step><alter>-0.333333333</alter><octave>4</octave></pitch><duration>4</duration></note>"},
			"0+4 B4 microtone",
		},
		{
			"alter in decimals", "an alter of 1.0 is a sharp",
			[]string{common(1) + "<note><pitch><step>F</step><alter>1.0</alter><octave>4</octave></pitch><duration>4</duration></note>"},
			"0+4 F#4",
		},
		{
			"accidental", "accidental is a way of printing; alter tells the pitch",
			[]string{attributes(divisions(1), key(1)) + note("F#4", "4", "whole", "") + note("F4", "4", "whole", "<accidental>sharp</accidental>")},
			"0+4 F#4, 4+4 F4",
		},
		{
			"unpitched", "unpitched notes have a place on the staff and no pitch",
			[]string{common(1) + "<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched><duration>4</duration></note>"},
			"0+4 unpitched",
		},
		{
			"character references and comments", "XML 1.0: a reference or a comment inside a number changes nothing",
			[]string{attributes("<divisions>&#50;</divisions>") + "<note>" + pitchText("G4") + "<duration> <!-- long -->8 </duration></note>"},
			"0+4 G4",
		},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, alone(c.bodies...).partwise())
			if diff := cmp.Diff(c.want, sketch(d.Score)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", c.why, diff)
			}
		})
	}
}

// note writes one note with what else it has.
func note(pitch, duration, kind, rest string) string {
	// The order of children is that of the standard: type, accidental,
	// time-modification, notations, lyric.
	return "<note>" + pitchText(pitch) + "<duration>" + duration + "</duration><type>" + kind + "</type>" + rest + "</note>\n"
}

func lyric(text string) string { return "<lyric><text>" + text + "</text></lyric>" }

// eveningExercise is the same phrase in every layout: G major, four voices.
func eveningExercise() composition {
	open := attributes(divisions(1), key(1), metre("4", "4"))
	return composition{
		header: "<work><work-title>Evening exercise in G</work-title></work>\n",
		parts: []voicePart{
			{"S", measures(open+music("B4/1 A4/1 G4/1 F#4/1"), music("G4/4"))},
			{"A", measures(open+music("G4/1 F#4/1 E4/1 D4/1"), music("D4/4"))},
			{"T", measures(open+music("D4/1 D4/1 B3/1 A3/1"), music("B3/4"))},
			{"B", measures(open+music("G3/1 D3/1 E3/1 D3/1"), music("G2/4"))},
		},
	}
}

func TestTimewiseIsPartwise(t *testing.T) {
	c := eveningExercise()
	a, b := readText(t, c.partwise()), readText(t, c.timewise())
	if diff := cmp.Diff(a.Score, b.Score, cmp.AllowUnexported(theory.Fraction{})); diff != "" {
		t.Errorf("score-timewise differs (-partwise +timewise):\n%s", diff)
	}
	if a.Counts != b.Counts {
		t.Errorf("counts: %+v and %+v", a.Counts, b.Counts)
	}
	if len(a.Notices)+len(b.Notices) > 0 {
		t.Errorf("notices about a good score: %v %v", a.Notices, b.Notices)
	}
	if got := a.Score.Title; got != "Evening exercise in G" {
		t.Errorf("title %q", got)
	}
}

// A measure of a timewise score may leave a part out; the part takes up again at
// the right place.
func TestTimewiseWithGaps(t *testing.T) {
	text := strings.Replace(string(eveningExercise().timewise()),
		"<part id=\"T\">\n"+music("B3/4")+"</part>\n", "", 1)
	d := readText(t, []byte(text))
	if want := (Counts{Parts: 4, Measures: 2, Notes: 19, Layers: 4, Quarters: theory.Whole(8), High: 71, Low: 43, Pitched: true}); d.Counts != want {
		t.Errorf("counts %+v, want %+v", d.Counts, want)
	}
	late := strings.Replace(string(eveningExercise().timewise()), music("D4/1 D4/1 B3/1 A3/1"), "", 1)
	late = strings.Replace(late, "<part id=\"T\">\n"+attributes(divisions(1), key(1), metre("4", "4"))+"</part>\n", "", 1)
	late = strings.Replace(late, music("B3/4"), attributes(divisions(2))+music("B3/8"), 1)
	tenor := readText(t, []byte(late)).Score
	if last := tenor.Notes[len(tenor.Notes)-1]; last.Onset != theory.Whole(4) || last.Pitch.String() != "B3" || last.Measure != 1 {
		t.Errorf("the tenor enters at %s in measure %d with %s", last.Onset, last.Measure, last.Pitch)
	}
	if !hasNotice(d, "part-shorter", "T") {
		t.Errorf("no word about the tenor's missing measure: %v", d.Notices)
	}
}

// What a document counts is not what it sounds: rests make no voice, grace and
// cue notes are no notes, microtones keep their decimals.
func TestCounts(t *testing.T) {
	const flat = "<note><pitch><step>B</step><alter>-1.5</alter><octave>3</octave></pitch><duration>1</duration><voice>1</voice></note>"
	d := readText(t, composition{parts: []voicePart{
		{"P1", measures(common(2)+music("v1 gC6 G4/2 +B4/2")+flat+music("v1 r/3 back/8 v2 r/8 back/8 v3 gG2"), music("v1 G4/3"))},
		{"P2", measures(common(2)+"<note><cue/>"+pitchText("C7")+"<duration>8</duration></note>", music("v1 G4/4"))},
	}}.partwise())
	want := Counts{Parts: 2, Measures: 2, Notes: 5, Grace: 2, Layers: 3, Quarters: theory.Frac(11, 2), High: 71, Low: 57.5, Pitched: true}
	if d.Counts != want {
		t.Errorf("%+v, want %+v", d.Counts, want)
	}
}

func hasNotice(d *Document, code, part string) bool {
	for _, n := range d.Notices {
		if n.Code == code && n.Part == part {
			return true
		}
	}
	return false
}

// One voice may move between the staves of its part, note by note.
func TestCrossStaffVoice(t *testing.T) {
	d := readText(t, alone(common(1)+
		music("v1 s1 G4/1 v1 s2 D4/1 B3/1 v1 s1 G4/1 back/4 v5 s2 G2/4")).partwise())
	var staves []int
	for i := range 4 {
		at := d.Locate(theory.NoteID(i))
		staves = append(staves, at.Staff)
		if at.Layer != "1" || at.Part != "P1" {
			t.Errorf("note %d at %+v", i, at)
		}
	}
	if want := []int{1, 2, 2, 1}; !reflect.DeepEqual(staves, want) {
		t.Errorf("staves %v, want %v", staves, want)
	}
	p := d.Score.Parts[0]
	if p.Staves != 2 || !reflect.DeepEqual(p.Layers, []string{"1", "5"}) {
		t.Errorf("part %+v", p)
	}
}

// Locate gives the line and column of the note's start tag.
func TestLocate(t *testing.T) {
	text := alone(common(1)+"  <note>"+pitchText("G4")+"<duration>4</duration><voice>2</voice></note>\n", music("A4/4")).partwise()
	d := readText(t, text)
	lines := strings.Split(string(text), "\n")
	for id, want := range []Location{{Part: "P1", Staff: 1, Layer: "2"}, {Part: "P1", Staff: 1, Layer: "1"}} {
		got := d.Locate(theory.NoteID(id))
		if !strings.HasPrefix(lines[got.Line-1][got.Column-1:], "<note>") {
			t.Errorf("note %d: no <note> at %+v", id, got)
		}
		if d.tree.NameOf(d.places[id]) != "note" {
			t.Errorf("note %d stands in <%s>", id, d.tree.NameOf(d.places[id]))
		}
		if got.Line, got.Column = 0, 0; got != want {
			t.Errorf("note %d at %+v, want %+v", id, got, want)
		}
	}
}

// MusicXML 4.0, identification: creators have a type, and rights may be given again in
// another language or for another part of the work.
func TestOrigin(t *testing.T) {
	for _, c := range []struct{ name, header, composer, rights string }{
		{"both", "<identification><creator type=\"composer\">A. B.</creator><rights>CC0</rights></identification>", "A. B.", "CC0"},
		{"several", "<identification><creator type=\"composer\">A. B.</creator><creator type=\"lyricist\">X</creator><creator type=\"composer\">C. D.</creator>" +
			"<rights>of the music: none</rights><rights type=\"words\">of the words</rights></identification>", "A. B.; C. D.", "of the music: none; of the words"},
		{"in lines", "<identification><creator type=\"composer\">\n  A.\n  B.\n</creator></identification>", "A. B.", ""},
		{"a creator of no kind", "<identification><creator>A. B.</creator><rights/></identification>", "", ""},
		{"none", "", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, composition{header: c.header, parts: alone(music("G4/4")).parts}.partwise())
			if d.Score.Composer != c.composer || d.Score.Rights != c.rights {
				t.Errorf("%q and %q, want %q and %q", d.Score.Composer, d.Score.Rights, c.composer, c.rights)
			}
		})
	}
}

func TestTitle(t *testing.T) {
	cases := []struct{ name, why, header, want string }{
		{"work", "work-title comes first", "<work><work-title>Evening exercise</work-title></work><movement-title>No. 2</movement-title>", "Evening exercise"},
		{"movement", "an empty work-title gives way to movement-title", "<work><work-title/></work><movement-title>No. 2</movement-title>", "No. 2"},
		{"credit", "some programs write the title only as a credit", "<credit><credit-type>composer</credit-type><credit-words>us</credit-words></credit>" +
			"<credit><credit-type>title</credit-type><credit-words>Evening exercise</credit-words></credit>", "Evening exercise"},
		{"entities", "XML 1.0, predefined entities", "<movement-title>Fa &amp; &#x266D;</movement-title>", "Fa & ♭"},
		{"none", "a score need not have a title", "", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, composition{header: c.header, parts: alone(music("G4/4")).parts}.partwise())
			if d.Score.Title != c.want {
				t.Errorf("%q, want %q: %s", d.Score.Title, c.want, c.why)
			}
		})
	}
}
