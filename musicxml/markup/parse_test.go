package markup

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// TestParseRefuses names the production or constraint of XML 1.0 (fifth edition)
// that each document breaks.
func TestParseRefuses(t *testing.T) {
	tests := []struct {
		text         string
		line, column int
		says         string
		clause       string
	}{
		{"", 1, 1, "empty", "[1] document"},
		{"\n \n", 1, 1, "empty", "[1] document"},
		{"<!-- only -->", 1, 14, "no root element", "[1] document"},
		{"text", 1, 1, "text outside", "[1] document"},
		{"<a/>\n<b/>", 2, 1, "second root element <b>", "[1] document"},
		{"<a/>text", 1, 5, "text outside", "[27] Misc"},
		{"<a/>&#32;", 1, 5, "text outside", "[27] Misc"},
		{"\u00A0<a/>", 1, 1, "text outside", "[3] S"},
		{"<a>\n<b>\n</a>", 3, 1, "</a> where </b> is due", "WFC: Element Type Match"},
		{"</a>", 1, 1, "</a> without a start tag", "[39] element"},
		{"<a>\n <b>", 2, 5, "ends before </b>, opened in line 2", "[39] element"},
		{"<a", 1, 3, "ends inside a tag", "[40] STag"},
		{"<a b=1/>", 1, 7, "unquoted", "[10] AttValue"},
		{"<a b/>", 1, 6, "without =", "[41] Attribute"},
		{"<a b='1' b='2'/>", 1, 10, "b is given twice", "WFC: Unique Att Spec"},
		{"<a b='1'c='2'/>", 1, 9, "no white space", "[40] STag"},
		{"<a b='<'/>", 1, 8, "unescaped <", "WFC: No < in Attribute Values"},
		{"<a>&nbsp;</a>", 1, 10, "&nbsp;", "WFC: Entity Declared"},
		{"<a>&lt</a>", 1, 7, "no semicolon", "[68] EntityRef"},
		{"<a>& b</a>", 1, 5, "&", "[14] CharData"},
		{"<a>&#0;</a>", 1, 8, "U+0000", "WFC: Legal Character"},
		{"<a>&#xD800;</a>", 1, 4, "reference", "WFC: Legal Character"},
		{"<a b='&#xDFFF;'/>", 1, 7, "reference", "WFC: Legal Character"},
		{"<a>]]></a>", 1, 7, "]]>", "[14] CharData"},
		{"<a>\n\x0B</a>", 2, 1, "U+000B", "[2] Char"},
		{"<a><!-- \x01 --></a>", 1, 9, "U+0001", "[2] Char"},
		{"<a>\uFFFE</a>", 1, 4, "U+FFFE", "[2] Char"},
		{"<a>\n\n\xC9</a>", 3, 1, "0xC9 is not UTF-8", "4.3.3"},
		{"<a><!-- -- --></a>", 1, 12, "--", "[15] Comment"},
		{"<a:b:c/>", 1, 7, "element name", "Namespaces in XML 1.0, [7] QName"},
		{"\n<?xml version='1.0'?><a/>", 2, 1, "very beginning", "[22] prolog"},
		{"<a><!DOCTYPE a></a>", 1, 4, "DOCTYPE", "[22] prolog"},
		{"<!DOCTYPE a><!DOCTYPE a><a/>", 1, 13, "DOCTYPE", "[22] prolog"},
		{"<a><!ELEMENT a EMPTY></a>", 1, 4, "no DOCTYPE", "[43] content"},
	}
	for _, tt := range tests {
		_, err := Parse([]byte(tt.text), Limits{})
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q is read; %s", tt.text, tt.clause)
			continue
		}
		if e.Line != tt.line || e.Column != tt.column || !strings.Contains(e.Problem, tt.says) {
			t.Errorf("%q: %v, want line %d, column %d: ... %s; %s", tt.text, err, tt.line, tt.column, tt.says, tt.clause)
		}
		if errors.Is(err, ErrLimit) {
			t.Errorf("%q: taken for a limit", tt.text)
		}
		lintRefuses(t, tt.text)
	}
}

// lintRefuses asks libxml2 for its opinion, where it is there.
func lintRefuses(t *testing.T, text string) {
	t.Helper()
	program, err := exec.LookPath("xmllint")
	if err != nil {
		return
	}
	c := exec.Command(program, "--noout", "--nonet", "-")
	c.Stdin = strings.NewReader(text)
	if c.Run() == nil && !strings.Contains(text, "a:b:c") { // a namespace error, no fault of the document to libxml2
		t.Errorf("%q: libxml2 reads it", text)
	}
}

// TestParseRefusesEntities: what a DOCTYPE declares would change the text read,
// grow without bound or fetch files.
func TestParseRefusesEntities(t *testing.T) {
	for _, doctype := range []string{
		`<!DOCTYPE a [<!ENTITY e "text">]>`, `<!DOCTYPE a [<!ENTITY e SYSTEM "file:///etc/passwd">]>`,
		`<!DOCTYPE a [<!ENTITY % p SYSTEM "http://127.0.0.1:1/x"> %p;]>`, `<!DOCTYPE a [<!ATTLIST a b CDATA "c">]>`,
	} {
		_, err := Parse([]byte(doctype+"<a>&e;</a>"), Limits{})
		if err == nil || !strings.Contains(err.Error(), "line 1, column 14: the DOCTYPE holds") {
			t.Errorf("%s: %v", doctype, err)
		}
	}
	// A DOCTYPE that only names a grammar is the normal case.
	for _, doctype := range []string{
		`<!DOCTYPE a>`, `<!DOCTYPE a SYSTEM 'http://127.0.0.1:1/a.dtd'>`, `<!DOCTYPE a PUBLIC "-//A//B" "b.dtd" >`,
		`<!DOCTYPE a PUBLIC "-//A//B">`, `<!DOCTYPE a [ <!-- nothing --> ]>`,
	} {
		if _, err := Parse([]byte(doctype+"<a/>"), Limits{}); err != nil {
			t.Errorf("%s: %v", doctype, err)
		}
	}
}

func TestPositionOf(t *testing.T) {
	text := strings.Repeat("<!-- a line of some length -->\r\n", 1000) + "<a>\n\n  <b/></a>"
	tree, err := Parse([]byte(text), Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var wait sync.WaitGroup
	for range 4 { // the index is built by whoever comes first
		wait.Go(func() {
			for i := range text {
				if i%97 != 0 && i < len(text)-20 {
					continue
				}
				want := Position{1 + strings.Count(text[:i], "\n"), i - strings.LastIndex(text[:i], "\n")}
				if got := tree.PositionOf(int32(i)); got != want {
					t.Errorf("offset %d: %v, want %v", i, got, want)
				}
			}
		})
	}
	wait.Wait()
	if got := tree.PositionOf(tree.Elements[1].Start); got != (Position{1003, 3}) {
		t.Errorf("<b/> at %v", got)
	}
}

// TestAccessAllocatesNothing holds the usual access to its promise.
func TestAccessAllocatesNothing(t *testing.T) {
	tree, err := Parse([]byte("<note id='n1'><step> C </step></note>"), Limits{})
	if err != nil {
		t.Fatal(err)
	}
	n := testing.AllocsPerRun(100, func() {
		id, ok := tree.Attr(0, NameId)
		if !ok || string(id) != "n1" || string(tree.Content(tree.Child(0, NameStep))) != "C" {
			t.Error("wrong content")
		}
	})
	if n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// TestMeasuringData compares the reading of every score of the measuring data,
// where it is there, with that of etree.
func TestMeasuringData(t *testing.T) {
	if testing.Short() {
		t.Skip("reads published scores")
	}
	names, err := filepath.Glob("../../../shared/data/*/*.*")
	if err != nil {
		t.Fatal(err)
	}
	if len(names) == 0 {
		t.Skip("no measuring data beside the project")
	}
	plain, outside := 0, 0
	for i, name := range names {
		var text []byte
		switch filepath.Ext(name) {
		case ".xml", ".musicxml":
			text, err = os.ReadFile(name)
		case ".mxl":
			if i%8 != 0 || strings.Contains(name, "hostile") {
				continue
			}
			text = packedScore(t, name)
		default:
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.Base(name), func(t *testing.T) { compareWithEtree(t, text) })
		if parsePlain(text, Limits{}.withDefaults()) != nil {
			plain++
		} else {
			outside++
		}
	}
	t.Logf("%d scores in the plain subset, %d outside or refused", plain, outside)
}
