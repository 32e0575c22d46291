package musicxml

import (
	"bytes"

	"partwright/musicxml/markup"
)

// currentVersion is the version that an upgraded document declares. Every version
// only added to the one before, so that a document of an older one is one of this
// (W3C, MusicXML 4.0, version history).
const currentVersion = "4.0"

// lacksColor tells whether the document declares a version of MusicXML older
// than 1.1, which brought the color attribute and the version attribute (W3C,
// MusicXML 4.0, "Version history: MusicXML 1.1"). A document that declares
// nothing is taken for a current one.
func lacksColor(t *markup.Tree) bool {
	version, ok := t.Attr(t.Root(), markup.NameVersion)
	if !ok {
		from, to := doctypeVersion(t)
		version = t.Text[from:to]
	}
	version = bytes.TrimSpace(version)
	return bytes.HasPrefix(version, []byte("1.0")) || bytes.HasPrefix(version, []byte("0."))
}

// doctypeVersion returns where the public identifier of the document type names
// a version, "-//Recordare//DTD MusicXML 3.1 Partwise//EN"; from == to if it
// names none.
func doctypeVersion(t *markup.Tree) (from, to int32) {
	prolog := t.Text[:t.Elements[t.Root()].Start]
	at := doctype(prolog)
	if at < 0 {
		return 0, 0
	}
	const before = "//DTD MusicXML "
	i := bytes.Index(prolog[at:], []byte(before))
	if i < 0 {
		return 0, 0
	}
	start := at + i + len(before)
	end := start
	for end < len(prolog) && (prolog[end] == '.' || prolog[end] >= '0' && prolog[end] <= '9') {
		end++
	}
	return int32(start), int32(end)
}

// doctype finds the document type declaration behind comments and processing
// instructions; -1 if there is none.
func doctype(prolog []byte) int {
	skips := []struct{ open, end string }{{"<?", "?>"}, {"<!--", "-->"}}
	for at := 0; at < len(prolog); {
		rest := prolog[at:]
		if bytes.HasPrefix(rest, []byte("<!DOCTYPE")) {
			return at
		}
		step := 1
		for _, s := range skips {
			if bytes.HasPrefix(rest, []byte(s.open)) {
				length := bytes.Index(rest[len(s.open):], []byte(s.end))
				if length < 0 {
					return -1
				}
				step = len(s.open) + length + len(s.end)
			}
		}
		at += step
	}
	return -1
}

// isOlder tells whether a version, such as "3.1", comes before the current one.
func isOlder(version []byte) bool {
	version = bytes.TrimSpace(version)
	return len(version) > 1 && version[1] == '.' && version[0] >= '0' && version[0] < currentVersion[0]
}

// upgrade makes the document declare the current version and writes down what it
// declared before.
func (mk *marker) upgrade() {
	t := mk.t
	if from, to := doctypeVersion(t); isOlder(t.Text[from:to]) {
		mk.record.doctype = string(t.Text[from:to])
		mk.edits.replace(from, to, []byte(currentVersion))
	}
	root := t.Root()
	for _, a := range t.AttributesOf(root) {
		if a.Name != markup.NameVersion {
			continue
		}
		if raw := t.Text[a.ValueStart:a.ValueEnd]; isOlder(raw) {
			mk.record.version = string(raw)
			mk.edits.replace(a.ValueStart, a.ValueEnd, []byte(currentVersion))
		}
		return
	}
	mk.record.made["version"] = true
	mk.edits.insert(t.Elements[root].Start+1+int32(len(t.NameOf(root))), []byte(` version="`+currentVersion+`"`))
}

// downgrade takes an upgrade back.
func (c *cleaner) downgrade() {
	t := c.t
	if from, to := doctypeVersion(t); c.record.doctype != "" && string(t.Text[from:to]) == currentVersion {
		c.edits.replace(from, to, []byte(c.record.doctype))
	}
	for _, a := range t.AttributesOf(t.Root()) {
		if a.Name != markup.NameVersion || string(t.Text[a.ValueStart:a.ValueEnd]) != currentVersion {
			continue
		}
		switch {
		case c.record.made["version"]:
			c.edits.remove(backOverSpace(t.Text, a.Start), a.ValueEnd+1)
		case c.record.version != "":
			c.edits.replace(a.ValueStart, a.ValueEnd, []byte(c.record.version))
		}
		return
	}
}
