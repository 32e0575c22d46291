package markup

import "testing"

func TestParseKeepsPlaces(t *testing.T) {
	text := []byte("<?xml version=\"1.0\"?>\n<a x='1' y=\"&lt;2\">\n <b/>t&amp;u<c>v</c>\n</a>\n")
	tree, err := Parse(text, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if got := string(tree.Content(0)); got != "t&u" {
		t.Errorf("content %q", got)
	}
	if len(tree.Elements) != 3 || tree.NameOf(2) != "c" || string(tree.Content(2)) != "v" {
		t.Errorf("elements: %+v", tree.Elements)
	}
	name, _ := tree.names.intern([]byte("y"))
	y, ok := tree.Attr(0, name)
	if !ok || string(y) != "<2" {
		t.Errorf("y = %q, %v", y, ok)
	}
	b := tree.Elements[1]
	if string(text[b.Start:b.End]) != "<b/>" || tree.PositionOf(b.Start) != (Position{3, 2}) {
		t.Errorf("b at %v: %q", tree.PositionOf(b.Start), text[b.Start:b.End])
	}
}
