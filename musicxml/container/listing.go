package container

import (
	"errors"
	"fmt"
	"strings"

	"partwright/musicxml/charset"
	"partwright/musicxml/markup"
)

// rootFile is one <rootfile> of the listing.
type rootFile struct{ path, mediaType string }

// mayBeScore tells whether the media type allows a MusicXML score. The type may
// be left out and is then that of a score (W3C MusicXML 4.0, media-type).
func (r rootFile) mayBeScore() bool {
	base, _, _ := strings.Cut(strings.ToLower(r.mediaType), ";")
	switch strings.TrimSpace(base) {
	case "", "application/vnd.recordare.musicxml+xml", "application/vnd.recordare.musicxml", "application/xml", "text/xml":
		return true
	}
	return false
}

// rootFiles reads META-INF/container.xml.
func rootFiles(listing []byte) ([]rootFile, error) {
	text, _, err := charset.Decode(listing)
	var tree *markup.Tree
	if err == nil {
		tree, err = markup.Parse(text, markup.Limits{Bytes: 1 << 20, Elements: 10_000})
	}
	if err != nil {
		e := &Error{Entry: listingName, Problem: fmt.Sprintf("is not well-formed (%v)", err), Advice: "export the score again"}
		e.limit = errors.Is(err, markup.ErrLimit)
		return nil, e
	}
	var roots []rootFile
	for id := range tree.Elements {
		// The listing may put its elements in the container namespace.
		name := tree.NameOf(markup.ID(id))
		if name[strings.IndexByte(name, ':')+1:] != "rootfile" {
			continue
		}
		path, _ := tree.Attr(markup.ID(id), markup.NameFullPath)
		mediaType, _ := tree.Attr(markup.ID(id), markup.NameMediaType)
		roots = append(roots, rootFile{string(path), string(mediaType)})
	}
	return roots, nil
}
