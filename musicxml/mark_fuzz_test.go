package musicxml

import (
	"bytes"
	"reflect"
	"testing"
)

// FuzzMarkClean: whatever reads can be marked; the marked score reads as the same
// music; the marks come off to the bytes that came in.
func FuzzMarkClean(f *testing.F) {
	for _, d := range markDocuments {
		f.Add(d.data, uint8(0))
	}
	for _, d := range markDocuments[:6] {
		read := mustParse(f, d.data)
		if marked, err := read.Mark(sampleMarks(read, 0)); err == nil {
			f.Add(marked, uint8(3))
		}
	}
	f.Fuzz(func(t *testing.T, data []byte, seed uint8) {
		d, err := Read("fuzz", data, Limits{})
		if err != nil {
			return
		}
		bare, err := d.Clean()
		if err != nil {
			t.Fatalf("cleaning: %v", err)
		}
		if !bytes.Equal(bare, data) {
			// The text may have been marked by anyone in any way; what Clean
			// leaves is what has to come back.
			if d, err = Read("fuzz", bare, Limits{}); err != nil {
				t.Fatalf("the cleaned score is not read: %v", err)
			}
		}
		if d.encoding.Relabeled() || d.packed != nil {
			return // the first writing changes a wrong declaration, or packs anew
		}
		if again, err := d.Clean(); err != nil || !bytes.Equal(again, bare) {
			t.Skip("cleaning once has uncovered more that looks like marks")
		}
		marked, err := d.Mark(sampleMarks(d, int(seed)))
		if err != nil {
			t.Fatalf("marking: %v", err)
		}
		m, err := Read("fuzz", marked, Limits{})
		if err != nil {
			t.Fatalf("the marked score is not read: %v", err)
		}
		if !reflect.DeepEqual(musicOf(m), musicOf(d)) {
			t.Error("the marked score reads as other music")
		}
		cleaned, err := m.Clean()
		if err != nil || !bytes.Equal(cleaned, bare) {
			t.Errorf("cleaned (%v), it differs at %s", err, firstDifference(cleaned, bare))
		}
		if twice, err := m.Mark(sampleMarks(m, int(seed))); err != nil || !bytes.Equal(twice, marked) {
			t.Errorf("marked twice (%v), it differs at %s", err, firstDifference(twice, marked))
		}
	})
}

// FuzzMarkCleanComposed holds the same laws on scores put together from pieces:
// more of them are scores than of mutated text.
func FuzzMarkCleanComposed(f *testing.F) {
	f.Add([]byte("a score"), uint8(0))
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23}, uint8(1))
	f.Add(bytes.Repeat([]byte{3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5, 8, 9, 7, 9, 3}, 5), uint8(2))
	f.Fuzz(func(t *testing.T, recipe []byte, seed uint8) {
		c := composer{recipe: recipe}
		data := c.score()
		d, err := Read("composed", data, Limits{})
		if err != nil {
			t.Fatalf("a composed score is not read: %v\n%s", err, data)
		}
		if bare, err := d.Clean(); err != nil || !bytes.Equal(bare, data) {
			t.Fatalf("marks found where none are (%v): %s", err, data)
		}
		marks := sampleMarks(d, int(seed))
		marks.Upgrade = seed%2 == 1
		marked, err := d.Mark(marks)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Read("composed", marked, Limits{})
		if err != nil {
			t.Fatalf("the marked score is not read: %v\n%s", err, marked)
		}
		if !reflect.DeepEqual(musicOf(m), musicOf(d)) {
			t.Errorf("the marked score reads as other music:\n%s", data)
		}
		if cleaned, err := m.Clean(); err != nil || !bytes.Equal(cleaned, data) {
			t.Errorf("cleaned (%v), it differs at %s", err, firstDifference(cleaned, data))
		}
		if twice, err := m.Mark(marks); err != nil || !bytes.Equal(twice, marked) {
			t.Errorf("marked twice (%v), it differs at %s", err, firstDifference(twice, marked))
		}
	})
}

// composer puts a score together, each choice a byte of the recipe.
type composer struct {
	recipe []byte
	out    bytes.Buffer
}

func (c *composer) choose(n int) int {
	if len(c.recipe) == 0 {
		return 0
	}
	b := int(c.recipe[0])
	c.recipe = c.recipe[1:]
	return b % n
}

func (c *composer) pick(options ...string) {
	c.out.WriteString(options[c.choose(len(options))])
}

func (c *composer) space() {
	c.pick("", "", "\n", "\n  ", "\r\n\t", " ", "\r", "\n\n   ", "<!-- [1=] -->", "\n<?x y?> ", " <!-- a -->\n")
}

func (c *composer) score() []byte {
	timewise := c.choose(4) == 0
	root, outer, inner := "score-partwise", "part", "measure"
	if timewise {
		root, outer, inner = "score-timewise", inner, outer
	}
	c.pick("", `<?xml version="1.0"?>`, "<?xml version='1.0' encoding='ISO-8859-1'?>\r\n",
		`<!DOCTYPE `+root+` PUBLIC "-//Recordare//DTD MusicXML 1.0 Partwise//EN" "x">`, `<!-- <note> -->`)
	c.out.WriteString("<" + root)
	c.pick("", ` version="4.0"`, ` version="2.0"`, ` version="1.0"`)
	c.out.WriteString(">")
	c.space()
	c.pick("", "<work><work-title>x</work-title></work>", "<movement-title/>")
	c.space()
	c.pick("", "<identification/>", "<identification ></identification>", "<identification><miscellaneous/></identification>",
		"<identification>\n <rights>x</rights> <!-- y --></identification>", "<identification><rights/>\n<miscellaneous >\n</miscellaneous>\n</identification>",
		"<identification><miscellaneous><miscellaneous-field name='a'>b</miscellaneous-field></miscellaneous></identification>")
	c.space()
	c.out.WriteString(`<part-list><score-part id="A"><part-name/></score-part><score-part id="B"><part-name/></score-part></part-list>`)
	for i := range 1 + c.choose(2) {
		c.space()
		c.out.WriteString("<" + outer + idOrNumber(outer, i) + ">")
		for k := range 1 + c.choose(3) {
			c.space()
			c.measure(inner, idOrNumber(inner, min(k, 1)))
		}
		c.space()
		c.out.WriteString("</" + outer + ">")
	}
	c.space()
	c.out.WriteString("</" + root + ">")
	c.space()
	return c.out.Bytes()
}

func idOrNumber(name string, i int) string {
	if name == "part" {
		return ` id="` + string(rune('A'+i)) + `"`
	}
	return ` number="1"`
}

func (c *composer) measure(name, attributes string) {
	if c.choose(6) == 1 {
		c.out.WriteString("<" + name + attributes)
		c.pick("", " ", "\n")
		c.out.WriteString("/>")
		return
	}
	c.out.WriteString("<" + name + attributes + ">")
	for range c.choose(6) {
		c.space()
		switch c.choose(6) {
		case 0:
			c.pick("<barline/>", "<attributes><staves>2</staves></attributes>", "<backup><duration>1</duration></backup>", "<print/>")
		case 1:
			c.out.WriteString("<direction><direction-type>")
			c.pick("<words>dolce</words>", `<words color="#282CC4">[1=]</words>`, `<words>(2+) 3*</words>`, `<words color='#1173D9'>1&gt; so</words>`,
				`<words>[*] Key</words>`, `<words color="#282CC4">n=</words><words color="#282CC4"> two</words>`, `<rehearsal>[1=]</rehearsal>`)
			c.out.WriteString("</direction-type>")
			c.pick("", "<staff>1</staff>", "<voice>2</voice>")
			c.out.WriteString("</direction>")
		default:
			c.out.WriteString("<note")
			c.pick("", "", "", ` color="#282CC4"`, ` color='#ff0000'`, "\n default-x='1'\n color = \"&#x23;937000\" ", ` id="n" color=""`, ` color="a&apos;b"`)
			c.out.WriteString(">")
			c.space()
			c.pick("", "", "<grace/>", "<chord/>")
			c.out.WriteString("<pitch><step>C</step><octave>4</octave></pitch><duration>1</duration>")
			c.pick("", "<voice>1</voice>", "<voice>&lt;b&amp;</voice>")
			c.pick("", "<staff>1</staff>", "<lyric><text>la</text></lyric>")
			c.out.WriteString("</note>")
		}
	}
	c.space()
	c.out.WriteString("</" + name + ">")
}
