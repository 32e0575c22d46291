package settings

import (
	"bytes"
	"encoding/xml"
	"html"
	"io"
	"strings"
	"testing"

	"partwright/theory/partwriting"
)

// The page of a set is well formed and says of every rule what it is, why, and
// where it comes from, with the severity that the set gives it.
func TestRuleSetPage(t *testing.T) {
	for _, language := range partwriting.Languages() {
		catalog, _ := partwriting.CatalogFor(language)
		set := partwriting.RuleSetByName("free")
		page, err := RuleSetPage(set, catalog)
		if err != nil {
			t.Fatal(err)
		}
		text := html.UnescapeString(string(page))
		for _, rule := range partwriting.Rules() {
			for _, want := range []string{
				`<section id="` + string(rule.ID) + `">`, catalog.Rules[rule.ID].Definition, catalog.Why(rule.ID), rule.Source.String(),
				string(rule.ID) + " · <strong>" + catalog.Severities[set.SeverityOf(rule).String()],
			} {
				if !strings.Contains(text, want) {
					t.Errorf("%s, %s: no %q", language, rule.ID, want)
				}
			}
		}
		for _, want := range []string{catalog.Page.Note, "upper-spacing</th><td>P8", catalog.Voices["B"] + "</th><td>E2-D4"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q", language, want)
			}
		}
		checkBalanced(t, page)
	}
}

// checkBalanced fails where an element of a page is left open.
func checkBalanced(t *testing.T, page []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	depth := 0
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch token.(type) {
		case xml.StartElement:
			depth++
		case xml.EndElement:
			depth--
		}
	}
	if depth != 0 {
		t.Errorf("%d elements are left open", depth)
	}
}
