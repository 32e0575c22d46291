package musicxml

import (
	"bytes"

	"partwright/musicxml/markup"
)

// lacksColor tells whether the document declares a version of MusicXML older
// than 1.1, which brought the color attribute, halign and the version attribute
// (W3C, MusicXML 4.0, "Version history: MusicXML 1.1"). A document that declares
// nothing is taken for a current one.
func lacksColor(t *markup.Tree) bool {
	version, ok := t.Attr(t.Root(), markup.NameVersion)
	if !ok {
		const before = " MusicXML "
		prolog := t.Text[:t.Elements[t.Root()].Start]
		if i := bytes.Index(prolog, []byte(before)); i >= 0 {
			version = prolog[i+len(before):]
		}
	}
	version = bytes.TrimSpace(version)
	return bytes.HasPrefix(version, []byte("1.0")) || bytes.HasPrefix(version, []byte("0."))
}
