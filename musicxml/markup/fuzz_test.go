package markup

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/beevik/etree"
)

// seeds are documents on both sides of the border of the plain subset and of
// well-formedness.
var seeds = []string{
	"<a/>", "<a></a>", "<a b='1' c=\"2\"/>", "<a>x<b/>y<c>z</c>\n</a >\n",
	"<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://www.musicxml.org/dtds/partwise.dtd\">\n<score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"/></part-list></score-partwise>",
	"<note><pitch><step>C</step><alter>-1</alter><octave>4</octave></pitch><duration>2</duration></note>",
	"<!-- c --><a><!--d-->1<!----></a><!-- e -->", "<a><![CDATA[x<&]]]]><![CDATA[>]]></a>", "<?xml version='1.0'?><?p q?><a><?r?>1</a>",
	"<a>&lt;&gt;&amp;&apos;&quot;&#65;&#x42;</a>", "<a b='&#10;&lt;'>a\r\nb\rc</a>", "<é ü='ö'>ä</é>", "<x:a xmlns:x='u' x:b=''/>",
	"<a><b></a></b>", "<a b=1/>", "<a b='1' b='2'/>", "<a b='<'/>", "<a>&nbsp;</a>", "<a>&#xD800;</a>", "<a>]]></a>", "<a>\x01</a>", "<a>\xff</a>",
	"", "x", "<a/><b/>", "<a/>x", "<a", "<a b='1'c='2'/>", "<!DOCTYPE a [<!ENTITY e 'f'>]><a>&e;</a>", "<!DOCTYPE a [ <!-- c --> ]><a/>", "\n<?xml version='1.0'?><a/>",
	"<a><!-- a -- b --></a>", "<a>\uffff</a>", "<a\tb\n=\r'1' />", "<a:b:c/>", "<a><!--\x01--></a>", "&#32;<a/>", "<?xml version='1.1'?><a/>",
}

// stricter are the problems for which a document is refused that etree and the
// standard decoder read, each with the clause of XML 1.0 that forbids it. The
// last two keep out what would change the text read, and are our own choice.
var stricter = map[string]string{
	"no white space before the attribute": "[40] STag",
	"the reference":                       "[66] CharRef, WFC: Legal Character; references outside the root: [1] document",
	"the control character":               "[2] Char, in comments, processing instructions and declarations",
	"is not UTF-8":                        "4.3.3, in comments, processing instructions and declarations",
	"the character U+FFF":                 "[2] Char, in comments, processing instructions and declarations",
	"text outside the root":               "[1] document, [27] Misc: white space as by [3] S, no references, no CDATA",
	"an XML declaration that":             "[22] prolog, [17] PITarget",
	"a second or late DOCTYPE":            "[22] prolog",
	"a declaration <!":                    "[22] prolog, [43] content: no other declaration",
	"the DOCTYPE holds <!ENTITY":          "own choice: entities are never read",
	"the DOCTYPE holds <!ATTLIST":         "own choice: attribute defaults are never read",
}

// FuzzParseAgainstEtree: what is read is what etree reads, the two ways of
// reading agree, and what etree reads is refused for a reason in the list alone.
func FuzzParseAgainstEtree(f *testing.F) {
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		compareWithEtree(t, text)
	})
}

func compareWithEtree(t *testing.T, text []byte) {
	t.Helper()
	limits := Limits{Depth: 1000, Attributes: 60_000}
	before := bytes.Clone(text)
	tree, err := Parse(text, limits)
	if !bytes.Equal(text, before) {
		t.Fatal("the text was changed")
	}
	if errors.Is(err, ErrLimit) {
		return
	}
	reference := readEtree(text)
	if err != nil {
		checkRefusal(t, text, err, reference)
		return
	}
	if reference == nil {
		t.Fatalf("read, and etree refuses %q", text)
	}
	checkElement(t, tree, 0, reference)
	if plain := parsePlain(text, limits.withDefaults()); plain != nil {
		standard, err := parseStandard(text, limits.withDefaults())
		if err != nil {
			t.Fatalf("plain reads, standard refuses: %v", err)
		}
		if !slices.Equal(plain.Elements, standard.Elements) || !slices.Equal(plain.Attributes, standard.Attributes) || !slices.Equal(plain.names.added, standard.names.added) {
			t.Fatalf("the plain and the standard reader differ on %q", text)
		}
	}
}

// readEtree returns the root that etree finds; nil where it, or a check that it
// leaves to its caller, refuses the document.
func readEtree(text []byte) *etree.Element {
	d := etree.NewDocument()
	d.ReadSettings.PreserveDuplicateAttrs = true
	if d.ReadFromBytes(text) != nil || len(d.ChildElements()) != 1 {
		return nil
	}
	for _, c := range d.Child {
		if c, ok := c.(*etree.CharData); ok && strings.TrimSpace(c.Data) != "" {
			return nil
		}
	}
	if repeatsAttribute(d.Root()) {
		return nil
	}
	return d.Root()
}

func repeatsAttribute(e *etree.Element) bool {
	for i, a := range e.Attr {
		for _, b := range e.Attr[:i] {
			if a.Space == b.Space && a.Key == b.Key {
				return true
			}
		}
	}
	return slices.ContainsFunc(e.ChildElements(), repeatsAttribute)
}

func checkRefusal(t *testing.T, text []byte, err error, reference *etree.Element) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) || e.Line < 1 || e.Column < 1 || e.Problem == "" {
		t.Fatalf("error without place: %#v", err)
	}
	if reference == nil {
		return
	}
	for problem := range stricter {
		if strings.Contains(e.Problem, problem) {
			return
		}
	}
	t.Fatalf("etree reads %q, but: %v", text, err)
}

func checkElement(t *testing.T, tree *Tree, id ID, want *etree.Element) {
	t.Helper()
	e := tree.Elements[id]
	if tree.NameOf(id) != want.FullTag() {
		t.Fatalf("element %d is <%s>, want <%s>", id, tree.NameOf(id), want.FullTag())
	}
	checkSpans(t, tree, id)
	attrs := tree.AttributesOf(id)
	if len(attrs) != len(want.Attr) {
		t.Fatalf("<%s> has %d attributes, want %d", want.FullTag(), len(attrs), len(want.Attr))
	}
	for i, a := range attrs {
		w := want.Attr[i]
		if tree.names.text(a.Name) != w.FullKey() || string(tree.Value(a)) != w.Value {
			t.Fatalf("attribute %s = %q, want %s = %q", tree.names.text(a.Name), tree.Value(a), w.FullKey(), w.Value)
		}
	}
	var text strings.Builder
	for _, c := range want.Child {
		if c, ok := c.(*etree.CharData); ok {
			text.WriteString(c.Data)
		}
	}
	if got := string(tree.Content(id)); got != strings.Trim(text.String(), white) {
		t.Fatalf("<%s> holds %q, want %q", want.FullTag(), got, text.String())
	}
	child := e.First
	for _, w := range want.ChildElements() {
		if child == None || tree.Elements[child].Parent != id {
			t.Fatalf("a child of <%s> is missing", want.FullTag())
		}
		checkElement(t, tree, child, w)
		child = tree.Elements[child].Next
	}
	if child != None {
		t.Fatalf("<%s> has too many children", want.FullTag())
	}
}

// checkSpans looks the offsets of an element up in the text.
func checkSpans(t *testing.T, tree *Tree, id ID) {
	t.Helper()
	e, name := tree.Elements[id], tree.NameOf(id)
	open, end := string(tree.Text[e.Start:e.OpenEnd]), string(tree.Text[e.CloseStart:e.End])
	if !strings.HasPrefix(open, "<"+name) || !strings.HasSuffix(open, ">") {
		t.Fatalf("the start tag of <%s> is %q", name, open)
	}
	if empty := strings.HasSuffix(open, "/>"); empty && (end != "" || e.End != e.OpenEnd) ||
		!empty && (!strings.HasPrefix(end, "</"+name) || !strings.HasSuffix(end, ">")) {
		t.Fatalf("the end tag of <%s> is %q", name, end)
	}
	for _, a := range tree.AttributesOf(id) {
		quote := tree.Text[a.ValueStart-1]
		if !bytes.HasPrefix(tree.Text[a.Start:], []byte(tree.names.text(a.Name))) || !slices.Contains([]byte(`'"`), quote) || tree.Text[a.ValueEnd] != quote {
			t.Fatalf("the attribute %s is %q", tree.names.text(a.Name), tree.Text[a.Start:a.ValueEnd+1])
		}
	}
}
