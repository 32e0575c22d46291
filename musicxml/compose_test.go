package musicxml

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
)

// composition is a score written for a test; it can be laid out both ways.
type composition struct {
	// header stands before the part-list, such as a title.
	header string
	parts  []voicePart
}

type voicePart struct {
	id       string
	measures []barText
}

// barText is one measure: its attributes and what stands in it.
type barText struct{ attributes, body string }

// measures numbers measures from 1.
func measures(bodies ...string) []barText {
	out := make([]barText, len(bodies))
	for i, body := range bodies {
		out[i] = barText{fmt.Sprintf(`number="%d"`, i+1), body}
	}
	return out
}

// alone is a composition of one part P1.
func alone(bodies ...string) composition {
	return composition{parts: []voicePart{{"P1", measures(bodies...)}}}
}

func (c composition) partList() string {
	var b strings.Builder
	b.WriteString("<part-list>")
	for _, p := range c.parts {
		fmt.Fprintf(&b, `<score-part id="%s"><part-name>%s</part-name></score-part>`, p.id, "Part "+p.id)
	}
	b.WriteString("</part-list>\n")
	return b.String()
}

func (c composition) partwise() []byte {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n<score-partwise version=\"4.0\">\n" + c.header + c.partList())
	for _, p := range c.parts {
		fmt.Fprintf(&b, "<part id=\"%s\">\n", p.id)
		for _, m := range p.measures {
			fmt.Fprintf(&b, "<measure %s>\n%s</measure>\n", m.attributes, m.body)
		}
		b.WriteString("</part>\n")
	}
	b.WriteString("</score-partwise>\n")
	return []byte(b.String())
}

// timewise needs parts with the same measures.
func (c composition) timewise() []byte {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n<score-timewise version=\"4.0\">\n" + c.header + c.partList())
	for i, m := range c.parts[0].measures {
		fmt.Fprintf(&b, "<measure %s>\n", m.attributes)
		for _, p := range c.parts {
			fmt.Fprintf(&b, "<part id=\"%s\">\n%s</part>\n", p.id, p.measures[i].body)
		}
		b.WriteString("</measure>\n")
	}
	b.WriteString("</score-timewise>\n")
	return []byte(b.String())
}

// music writes notes as words: "C5/2" is a pitch and a duration in divisions,
// "r/4" a rest, "+E5/2" a chord note, "gD5" a grace note, "back/8" and "fwd/2"
// move in time, "v2" and "s2" set voice and staff for what follows in this call.
// "C5/2~" begins a tie and "~C5/2" ends one. It panics on anything else.
func music(words string) string {
	var b strings.Builder
	voice, staff := "", ""
	for _, word := range strings.Fields(words) {
		switch {
		case word[0] == 'v':
			voice = "<voice>" + word[1:] + "</voice>"
			continue
		case word[0] == 's':
			staff = "<staff>" + word[1:] + "</staff>"
			continue
		}
		name, duration, _ := strings.Cut(word, "/")
		if name == "back" || name == "fwd" {
			tag := map[string]string{"back": "backup", "fwd": "forward"}[name]
			fmt.Fprintf(&b, "<%s><duration>%s</duration></%s>\n", tag, duration, tag)
			continue
		}
		b.WriteString("<note>")
		if name, found := strings.CutPrefix(name, "g"); found {
			b.WriteString("<grace/>" + pitchText(name) + voice + "<type>eighth</type>" + staff + "</note>\n")
			continue
		}
		name, chord := strings.CutPrefix(name, "+")
		if chord {
			b.WriteString("<chord/>")
		}
		name, stop := strings.CutPrefix(name, "~")
		duration, start := strings.CutSuffix(duration, "~")
		if name == "r" {
			b.WriteString("<rest/>")
		} else {
			b.WriteString(pitchText(name))
		}
		b.WriteString("<duration>" + duration + "</duration>")
		if stop {
			b.WriteString(`<tie type="stop"/>`)
		}
		if start {
			b.WriteString(`<tie type="start"/>`)
		}
		b.WriteString(voice + staff + "</note>\n")
	}
	return b.String()
}

func pitchText(name string) string {
	p := theory.MustPitch(name)
	alter := ""
	if p.Alter != 0 {
		alter = fmt.Sprintf("<alter>%d</alter>", p.Alter)
	}
	return fmt.Sprintf("<pitch><step>%s</step>%s<octave>%d</octave></pitch>", p.Step, alter, p.Octave)
}

// attributes writes an <attributes> element around its children.
func attributes(children ...string) string {
	return "<attributes>" + strings.Join(children, "") + "</attributes>\n"
}

func divisions(n int) string { return fmt.Sprintf("<divisions>%d</divisions>", n) }

func key(fifths int) string { return fmt.Sprintf("<key><fifths>%d</fifths></key>", fifths) }

func metre(beats, beatType string) string {
	return "<time><beats>" + beats + "</beats><beat-type>" + beatType + "</beat-type></time>"
}

// common is an opening with n divisions in 4/4.
func common(n int) string { return attributes(divisions(n), key(0), metre("4", "4")) }

func readText(t testing.TB, text []byte) *Document {
	t.Helper()
	d, err := Read("exercise.musicxml", text, Limits{})
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return d
}

// sketch writes the notes of a score as "onset+duration pitch" with flags, parts
// separated by " | ".
func sketch(s *theory.Score) string {
	var b strings.Builder
	for i := range s.Notes {
		n := &s.Notes[i]
		switch {
		case i == 0:
		case n.Part != s.Notes[i-1].Part:
			b.WriteString(" | ")
		default:
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%s+%s %s", n.Onset, n.Duration, soundOf(n))
	}
	return b.String()
}

func soundOf(n *theory.Note) string {
	sound := n.Pitch.String()
	switch {
	case n.Flags.Has(theory.Rest):
		sound = "rest"
	case n.Flags.Has(theory.Unpitched):
		sound = "unpitched"
	}
	for _, f := range []struct {
		flag theory.NoteFlags
		word string
	}{
		{theory.Grace, "grace"}, {theory.Cue, "cue"}, {theory.Hidden, "hidden"}, {theory.WholeMeasure, "whole-measure"},
		{theory.Microtone, "microtone"}, {theory.Fermata, "fermata"}, {theory.Breath, "breath"},
		{theory.LyricComma, "comma"}, {theory.LyricStop, "stop"}, {theory.TieStop, "tied-from"}, {theory.TieStart, "tied-on"},
		{theory.Tablature, "tablature"},
	} {
		if n.Flags.Has(f.flag) {
			sound += " " + f.word
		}
	}
	return sound
}
