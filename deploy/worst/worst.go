// Package worst makes the worst that somebody can send, for each way into the program,
// in any size: [Cases]. Its tests send it to the engine and to a running service, and
// measure how soon work past its deadline ends and how much memory it takes.
package worst

import (
	"fmt"
	"strings"

	"partwright/worker/request"
)

// Case is one kind of request that asks for much.
type Case struct {
	Name string
	Job  request.Job
	// Said is what is asked for; Score and Text make the score and the text of so many
	// bytes, nil for none. Field is where the text goes.
	Said  map[string]string
	Score func(bytes int) []byte
	Field string
	Text  func(bytes int) string
}

// Cases lists all.
func Cases() []Case {
	fixes := map[string]string{"fixes": "5", "analysis": "true", "rule_set": "free"}
	all := []Case{
		{Name: "short notes", Job: request.JobCheck, Said: map[string]string{"analysis": "true"}, Score: func(n int) []byte { return notes(n, 4, 64) }},
		{Name: "many voices", Job: request.JobCheck, Said: map[string]string{"analysis": "true"}, Score: func(n int) []byte { return notes(n, 60, 4) }},
		{Name: "ways to mend", Job: request.JobCheck, Said: fixes, Score: func(n int) []byte { return notes(n, 4, 4) }},
		{Name: "ways to mend many voices", Job: request.JobCheck, Said: fixes, Score: func(n int) []byte { return notes(n, 32, 4) }},
		{Name: "one cluster", Job: request.JobCheck, Score: cluster},
		{Name: "held notes", Job: request.JobCheck, Score: held},
		{Name: "ties to everywhere", Job: request.JobCheck, Score: ties},
		{Name: "layers without end", Job: request.JobCheck, Score: layers},
		{Name: "empty elements", Job: request.JobCheck, Score: func(n int) []byte { return repeated(n, "<a/>") }},
		{Name: "one comment", Job: request.JobCheck, Score: func(n int) []byte { return []byte(head(1) + "<!--" + strings.Repeat("x", n) + "--></score-partwise>") }},
		{Name: "attributes", Job: request.JobCheck, Score: func(n int) []byte { return repeated(n, `<a b="1" c="2" d="3" e="4"/>`) }},
		{Name: "deep", Job: request.JobCheck, Score: func(n int) []byte { return []byte(strings.Repeat("<a>", n/7) + strings.Repeat("</a>", n/7)) }},
		{Name: "every note a mark", Job: request.JobCheck, Said: map[string]string{"marks": "true", "annotate": "numerals,figures,symbols"}, Score: func(n int) []byte { return notes(n, 4, 4) }},
		{Name: "mend eight voices", Job: request.JobMend, Said: map[string]string{"all": "true", "severity": "remark", "alternatives": "5", "both": "true"}, Score: func(n int) []byte { return notes(n, 8, 4) }},
		{Name: "mend sixty voices", Job: request.JobMend, Said: map[string]string{"all": "true", "severity": "remark", "alternatives": "5"}, Score: func(n int) []byte { return notes(n, 60, 4) }},
		{Name: "mend one fault", Job: request.JobMend, Score: func(n int) []byte { return notes(n, 4, 8) }},
		{Name: "mend very long notes", Job: request.JobMend, Said: map[string]string{"both": "true"}, Score: spanning},
		{Name: "voice a very long bass", Job: request.JobVoice, Said: map[string]string{"gives": "bass", "compare": "true"}, Score: func(n int) []byte {
			return bass(min(n, 4<<10), 1000000)
		}},
		{Name: "free bass in five voices", Job: request.JobVoice, Said: map[string]string{"style": "five-voices", "bass": "free", "alternatives": "20", "compare": "true"},
			Field: "progression", Text: progression},
		{Name: "florid levels", Job: request.JobVoice, Said: map[string]string{"density": "1", "levels": "6", "alternatives": "20"}, Field: "progression", Text: progression},
		{Name: "a melody without end", Job: request.JobVoice, Score: func(n int) []byte { return notes(n, 1, 1) }},
		{Name: "a bass of short notes", Job: request.JobVoice, Said: map[string]string{"gives": "bass", "bass": "free"}, Score: func(n int) []byte { return bass(n, 64) }},
		{Name: "what can follow in five voices", Job: request.JobContinue,
			Said: map[string]string{"chords": "C: I V", "from": "G5 E5 C5 G4 C3", "style": "five-voices", "best": "50", "then": "I ii iii IV V vi viio6 V7 I6 ii6 iii6 IV6 V6 vi6 V65 V43 V42 ii65 IV7 vi7 iii7 I7 ii7 viiø7"}},
		{Name: "marks to take off", Job: request.JobClean, Score: marked},
		{Name: "nothing to take off", Job: request.JobClean, Score: func(n int) []byte { return notes(n, 4, 4) }},
		{Name: "labels in one measure", Job: request.JobCheck, Score: func(n int) []byte { return notes(min(n, 1<<20), 4, 1) },
			Field: "labels", Text: func(n int) string { return "m1" + strings.Repeat(" C: I b1.1 V", n/11) }},
		{Name: "labels of one measure each", Job: request.JobCheck, Score: func(n int) []byte { return numbered(min(n, 1<<20)) },
			Field: "labels", Text: func(n int) string { return "m1 C: I\n" + strings.Repeat("m1 b1 I b2 V b3 I b4 V\n", n/23) }},
	}
	for name, piece := range map[string]string{
		"brackets": "[", "braces": "{", "dashes": "- ", "rules": "rules: {a: off}\n", "anchors": "- &a [*a]\n", "quotes": "\"", "tabs": "\t",
	} {
		for _, field := range []string{"own_rule_set", "own_rubric", "accepted"} {
			all = append(all, Case{Name: field + " of " + name, Job: request.JobCheck, Score: func(int) []byte { return notes(4<<10, 4, 4) },
				Field: field, Text: func(n int) string { return "name: x\n" + strings.Repeat(piece, n/len(piece)) }})
		}
	}
	return all
}

func head(parts int) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>`)
	for p := range parts {
		fmt.Fprintf(&b, `<score-part id="P%d"><part-name>%d</part-name></score-part>`, p, p)
	}
	b.WriteString(`</part-list>`)
	return b.String()
}

// notes is a score of so many bytes, about, in so many parts, with so many notes in each
// measure of 4/4. Its pitches go about so that most rules find something.
func notes(size, parts, each int) []byte {
	const perNote = 95
	measures := max(size/(parts*each*perNote+parts*40), 1)
	var b strings.Builder
	b.Grow(size + size/8)
	b.WriteString(head(parts))
	for p := range parts {
		fmt.Fprintf(&b, `<part id="P%d">`, p)
		for m := range measures {
			fmt.Fprintf(&b, `<measure number="%d">`, m+1)
			if m == 0 {
				b.WriteString(`<attributes><divisions>64</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`)
			}
			for n := range each {
				at := m*each + n
				fmt.Fprintf(&b, `<note><pitch><step>%c</step><octave>%d</octave></pitch><duration>%d</duration><voice>1</voice></note>`,
					"CGDAEBF"[(at*at/3+at*5+p*4)%7], 2+(parts-p)*3/parts+(at+p)%2, 256/each)
			}
			b.WriteString(`</measure>`)
		}
		b.WriteString(`</part>`)
	}
	b.WriteString(`</score-partwise>`)
	return []byte(b.String())
}

// bass is a bass of so many bytes, about, within the range of a voice, a note a measure.
func bass(size, duration int) []byte {
	var b strings.Builder
	b.WriteString(head(1) + `<part id="P0">`)
	for m := 0; b.Len() < size; m++ {
		fmt.Fprintf(&b, `<measure number="%d"><attributes><divisions>64</divisions></attributes><note><pitch><step>%c</step><octave>3</octave></pitch><duration>%d</duration></note></measure>`,
			m+1, "CFGCADGC"[m%8], duration)
	}
	b.WriteString(`</part></score-partwise>`)
	return []byte(b.String())
}

// note is one note on one staff that lasts so long, or sounds with the one before.
func note(at, duration int, extra string) string {
	return fmt.Sprintf(`<note>%s<pitch><step>%c</step><octave>%d</octave></pitch><duration>%d</duration>`, extra, "CDEFGAB"[at%7], at/7%9, duration)
}

// one is one part with so many bytes of what piece makes.
func one(size int, piece func(i int) string) []byte {
	var b strings.Builder
	b.WriteString(head(1) + `<part id="P0"><measure number="1"><attributes><divisions>1000000</divisions></attributes>`)
	for i := 0; b.Len() < size; i++ {
		b.WriteString(piece(i))
	}
	b.WriteString(`</measure></part></score-partwise>`)
	return []byte(b.String())
}

// spanning are notes of many measures each, which a new sheet writes as so many tied ones.
func spanning(size int) []byte {
	return []byte(strings.ReplaceAll(string(notes(size, 2, 1)), "<duration>256<", "<duration>100000<"))
}

// cluster is one chord of all notes.
func cluster(size int) []byte {
	return one(size, func(i int) string {
		if i == 0 {
			return note(i, 1000000, "") + `</note>`
		}
		return note(i, 1000000, "<chord/>") + `</note>`
	})
}

// held are notes that begin one after the other and all sound to the end.
func held(size int) []byte {
	return one(size, func(i int) string {
		return note(i, 100000000, "") + `</note><backup><duration>99999999</duration></backup>`
	})
}

// ties are notes at one place, each tied into and out of.
func ties(size int) []byte {
	return one(size, func(i int) string {
		return note(0, 1, "") + fmt.Sprintf(`<tie type="stop"/><tie type="start"/><voice>%d</voice></note><backup><duration>1</duration></backup>`, i%30)
	})
}

// layers are notes of a layer each.
func layers(size int) []byte {
	return one(size, func(i int) string { return note(i, 4, "") + fmt.Sprintf(`<voice>%d</voice></note>`, i) })
}

func repeated(size int, piece string) []byte {
	return []byte(head(1) + `<part id="P0"><measure number="1">` + strings.Repeat(piece, size/len(piece)) + `</measure></part></score-partwise>`)
}

// marked is a score that looks marked in every note.
func marked(size int) []byte {
	return one(size, func(i int) string {
		return `<direction placement="above"><direction-type><words color="#B02318">[1=]</words></direction-type></direction>` +
			strings.Replace(note(i, 4, ""), "<note>", `<note color="#B02318">`, 1) + `</note>`
	})
}

// numbered is a score whose measures all have one number.
func numbered(size int) []byte {
	return []byte(strings.ReplaceAll(strings.ReplaceAll(string(notes(size, 4, 1)), `<measure number="`, `<measure text="`), `text="`, `number="1" text="`))
}

func progression(size int) string {
	chords := []string{"I", "ii6", "V", "vi", "IV", "V7", "iii", "viio6"}
	var b strings.Builder
	b.WriteString("C:")
	for i := 0; b.Len() < min(size, 64<<10)-6 && i < 499; i++ {
		b.WriteString(" " + chords[(i*i+i/3)%len(chords)])
	}
	b.WriteString(" I")
	return b.String()
}
