// Package container reads the score out of a compressed MusicXML file (.mxl)
// and packs another one in its place, by the W3C MusicXML 4.0 container rules:
// a zip file whose META-INF/container.xml names the score. Begin with [Open].
//
// Nothing is ever written to a disk: the names of entries are only names.
package container

import (
	"archive/zip"
	"bytes"
	"path"
	"strings"
)

// listingName is the entry that names the score.
const listingName = "META-INF/container.xml"

// Container is a zip file with one score to read.
type Container struct {
	// Score holds the bytes of the score, Name the entry it stands in.
	Score []byte
	Name  string
	// Unlisted tells that the container lacks META-INF/container.xml and that
	// Score is the only one in it.
	Unlisted bool

	data  []byte
	files *zip.Reader
	entry *zip.File
}

// Open reads the score of a container. The container keeps data, which must not
// be modified afterwards. What cannot be read is an [*Error].
func Open(data []byte, limits Limits) (*Container, error) {
	limits = limits.withDefaults()
	files, err := OpenZip(bytes.NewReader(data), int64(len(data)), limits.Entries)
	if err != nil {
		return nil, err
	}
	c := &Container{data: data, files: files}
	if err := c.checkOverlap(); err != nil {
		return nil, err
	}
	if err := c.choose(limits); err != nil {
		return nil, err
	}
	c.Name = c.entry.Name
	if c.Score, err = Unpack(c.entry, limits); err != nil {
		return nil, err
	}
	return c, nil
}

// IsContainer tells whether a zip file is a container with one score rather
// than an archive of files.
func IsContainer(files *zip.Reader) bool {
	for _, f := range files.File {
		if f.Name == listingName {
			return true
		}
	}
	return false
}

// choose finds the entry of the score.
func (c *Container) choose(limits Limits) error {
	listing, err := c.find(listingName)
	if err != nil {
		return err
	}
	if listing == nil {
		c.Unlisted = true
		c.entry, err = c.onlyScore(limits)
		return err
	}
	data, err := Unpack(listing, limits)
	if err != nil {
		return err
	}
	roots, err := rootFiles(data)
	if err != nil {
		return err
	}
	c.entry, err = c.firstScore(roots, limits)
	return err
}

// firstScore returns the entry of the first root file that is a score. A root
// file without a media type is one if its content is XML: the rules make the
// first a score, but there are containers with a picture in front.
func (c *Container) firstScore(roots []rootFile, limits Limits) (*zip.File, error) {
	var others []string
	for _, root := range roots {
		if !root.mayBeScore() {
			others = append(others, root.mediaType)
			continue
		}
		f, err := c.find(root.path)
		if err != nil {
			return nil, err
		}
		if f == nil {
			return nil, &Error{Entry: root.path, Problem: "is named in " + listingName + " but is not there", Advice: "export the score again"}
		}
		if root.mediaType == "" && len(roots) > 1 && Sniff(Peek(f, limits)) != XML {
			others = append(others, root.path)
			continue
		}
		return f, nil
	}
	if len(others) > 0 {
		return nil, &Error{Problem: "names no MusicXML score, only " + strings.Join(others[:min(len(others), 5)], ", "), Advice: "export the score as MusicXML"}
	}
	return nil, &Error{Entry: listingName, Problem: "names no score", Advice: "export the score again"}
}

// onlyScore returns the one entry that holds a score: the one XML file or, among
// several, the one that begins as MusicXML.
func (c *Container) onlyScore(limits Limits) (*zip.File, error) {
	var markup, scores []*zip.File
	packed := 0 // containers within the archive are scores too
	for _, f := range c.files.File {
		if f.FileInfo().IsDir() || isHidden(f.Name) {
			continue
		}
		head := Peek(f, limits)
		switch Sniff(head) {
		case XML:
			markup = append(markup, f)
		case Zip:
			packed++
		}
		if BeginsScore(head) {
			scores = append(scores, f)
		}
	}
	switch {
	case len(scores) == 1 && packed == 0:
		return scores[0], nil
	case len(scores) == 0 && len(markup) == 1 && packed == 0:
		return markup[0], nil
	case len(markup)+packed == 0:
		return nil, &Error{Problem: "holds no score", Advice: "send a MusicXML score"}
	}
	return nil, &Error{Problem: "holds several scores, or packed ones, and no " + listingName + " to choose by", Advice: "send it as an archive, or one score at a time"}
}

// isHidden tells files that a system adds on its own.
func isHidden(name string) bool {
	return strings.HasPrefix(name, "__MACOSX/") || strings.HasPrefix(name, "META-INF/") || IsHidden(path.Base(name))
}

// IsHidden tells names of files and folders that nobody means to send: hidden ones, and
// those that programs put beside a document that is open ("~$song.xml").
func IsHidden(base string) bool {
	return strings.HasPrefix(base, ".") && base != "." && base != ".." || strings.HasPrefix(base, "~$")
}

// find returns the entry of a name, or nil. Slashes may lean either way and a
// leading one is dropped, as some programs write them.
func (c *Container) find(name string) (*zip.File, error) {
	plain := func(s string) string {
		return strings.TrimPrefix(strings.TrimPrefix(strings.ReplaceAll(s, `\`, "/"), "./"), "/")
	}
	var found *zip.File
	for _, same := range []func(string) bool{
		func(s string) bool { return s == name },
		func(s string) bool { return plain(s) == plain(name) },
	} {
		for _, f := range c.files.File {
			if !same(f.Name) {
				continue
			}
			if found != nil {
				return nil, &Error{Entry: name, Problem: "is there twice", Advice: "export the score again"}
			}
			found = f
		}
		if found != nil {
			return found, nil
		}
	}
	return nil, nil
}

// checkOverlap refuses entries that share packed bytes: copied one by one they
// would grow without bound.
func (c *Container) checkOverlap() error {
	var sum uint64
	for _, f := range c.files.File {
		if sum += f.CompressedSize64; f.CompressedSize64 > uint64(len(c.data)) || sum > uint64(len(c.data)) {
			return &Error{Entry: f.Name, Problem: "overlaps another entry", Advice: "export the score again"}
		}
	}
	return nil
}
