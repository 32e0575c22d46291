package musicxml

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
)

// The order in which measures are heard, in 24 forms. The signs are those of W3C
// MusicXML 4.0 (repeat, ending, sound, barline, segno, coda); that repeats are not
// taken after a da capo, and that fine and to coda count only then, is common
// practice, no source. A form is one word for each measure, of signs joined by "+":
// what stands before "m" stands at the left, what stands behind at the right.
func TestHeard(t *testing.T) {
	cases := []struct{ name, form, want string }{
		{"repeat from the start", "m m+:| m", "1 2 1 2 3"},
		{"repeat of a part", "m |:+m m+:| m", "1 2 3 2 3 4"},
		{"two repeats", "|:+m+:| |:+m+:| m", "1 1 2 2 3"},
		{"four times", "m |:+m+:|4 m", "1 2 2 2 2 3"},
		{"nested repeats", "|:+m |:+m+:| m+:| m", "1 2 2 3 1 2 2 3 4"},
		{"nested repeats, the inner one three times", "|:+m |:+m+:|3 m+:|", "1 2 2 2 3 1 2 2 2 3"},
		{"two endings", "m [1+m+1]+:| [2+m+2] m", "1 2 1 3 4"},
		{"three endings", "m [1+m+1]+:| [2+m+2]+:| [3+m+3] m", "1 2 1 3 1 4 5"},
		{"one ending for two times", "m [1,2+m+1,2]+:| [3+m+3] m", "1 2 1 2 1 3 4"},
		{"a first ending alone", "m [1+m+1]+:| m", "1 2 1 3"},
		{"long endings", "|:+m [1+m m+1]+:| [2+m m+2] m", "1 2 3 1 4 5 6"},
		{"endings inside a repeat", "|:+m |:+m [1+m+1]+:| [2+m+2] m+:| m", "1 2 3 2 4 5 1 2 3 2 4 5 6"},
		{"da capo in words", "m m m+D.C.", "1 2 3 1 2 3"},
		{"da capo al fine", "m m+Fine m+D.C._al_Fine", "1 2 3 1 2"},
		{"da capo al fine as sound", "m m+sound:fine=yes m+sound:dacapo=yes", "1 2 3 1 2"},
		{"da capo without repeats", "m+:| m+Fine m+Da_Capo_al_Fine", "1 1 2 3 1 2"},
		{"da capo over endings", "m [1+m+1]+:| [2+m+2]+Fine m+D.C._al_Fine", "1 2 1 3 4 1 3"},
		{"dal segno", "m segno+m m+D.S.", "1 2 3 2 3"},
		{"dal segno al fine", "m segno+m m+Fine m+Dal_Segno_al_Fine", "1 2 3 4 2 3"},
		{"dal segno al coda in words", "m segno+m m+To_Coda m+D.S._al_Coda Coda+m m", "1 2 3 4 2 3 5 6"},
		{"dal segno al coda as sound", "m sound:segno=a+m m+sound:tocoda=c m+sound:dalsegno=a sound:coda=c+m", "1 2 3 4 2 3 5"},
		{"two coda signs", "m m+coda m+D.C._al_Coda coda+m", "1 2 3 1 2 4"},
		{"segno and coda on bar lines", "m bar:segno=a+m m+To_Coda m+sound:dalsegno=a bar:coda=b+m", "1 2 3 4 2 3 5"},
		{"segno, repeat and coda", "segno+m |:+m+:| m+To_Coda m+D.S._al_Coda Coda+m", "1 2 2 3 4 1 2 3 5"},
	}
	if len(cases) != 24 {
		t.Errorf("%d forms", len(cases))
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var bodies []string
			for _, form := range strings.Fields(c.form) {
				bodies = append(bodies, formMeasure(form))
			}
			bodies[0] = common(1) + bodies[0]
			d := readText(t, composition{parts: []voicePart{{"P1", measures(bodies...)}, {"P2", measures(bodies...)}}}.partwise())
			if len(d.Notices) > 0 {
				t.Errorf("notices: %v", d.Notices)
			}
			var heard []string
			for _, m := range d.Score.Heard {
				heard = append(heard, strconv.Itoa(m+1))
			}
			if got := strings.Join(heard, " "); got != c.want {
				t.Errorf("%s is heard as %s, want %s", c.form, got, c.want)
			}
		})
	}
}

// formMeasure writes one word of a form.
func formMeasure(form string) string {
	var b strings.Builder
	side := "left"
	for _, sign := range strings.Split(form, "+") {
		what, value, _ := strings.Cut(sign, ":")
		name, value, _ := strings.Cut(value, "=")
		number := strings.Trim(sign, "[]")
		switch {
		case sign == "m":
			b.WriteString(music("G4/4"))
			side = "right"
		case sign == "|:":
			b.WriteString(`<barline location="left"><repeat direction="forward"/></barline>`)
		case what == "" && strings.HasPrefix(sign, ":|"):
			times := ""
			if len(sign) > 2 {
				times = ` times="` + sign[2:] + `"`
			}
			b.WriteString(`<barline location="right"><repeat direction="backward"` + times + `/></barline>`)
		case strings.HasPrefix(sign, "["):
			fmt.Fprintf(&b, `<barline location="left"><ending number="%s" type="start"/></barline>`, number)
		case strings.HasSuffix(sign, "]"):
			fmt.Fprintf(&b, `<barline location="right"><ending number="%s" type="stop"/></barline>`, number)
		case what == "sound":
			fmt.Fprintf(&b, `<direction><direction-type><words>as played</words></direction-type><sound %s="%s"/></direction>`, name, value)
		case what == "bar":
			fmt.Fprintf(&b, `<barline location="%s" %s="%s"><%s/></barline>`, side, name, value, name)
		case sign == "segno" || sign == "coda":
			b.WriteString("<direction><direction-type><" + sign + "/></direction-type></direction>")
		default:
			b.WriteString("<direction><direction-type><words>" + strings.ReplaceAll(sign, "_", " ") + "</words></direction-type></direction>")
		}
	}
	return b.String()
}
