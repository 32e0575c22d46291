package container

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"

	"github.com/klauspost/compress/flate"
)

// mediaType is the registered media type of a container, plainType that of a
// score by itself (W3C MusicXML 4.0, "Container files").
const (
	mediaType = "application/vnd.recordare.musicxml"
	plainType = "application/vnd.recordare.musicxml+xml"
)

// Pack returns a new container that holds one score as the entry of that name.
// It has no time stamps: equal scores give equal bytes.
func Pack(name string, score []byte) ([]byte, error) {
	var path bytes.Buffer
	if err := xml.EscapeText(&path, []byte(name)); err != nil {
		return nil, fmt.Errorf("packing a container: %w", err)
	}
	listing := xml.Header + `<container><rootfiles><rootfile full-path="` + path.String() +
		`" media-type="` + plainType + `"/></rootfiles></container>` + "\n"
	var out bytes.Buffer
	out.Grow(len(score)/8 + len(listing) + 1<<10)
	w := zip.NewWriter(&out)
	w.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) {
		return flate.NewStatelessWriter(out), nil // for its reason see writeScore
	})
	// The media type comes first and unpacked, so that a reader finds it at a
	// fixed place.
	for _, entry := range []struct {
		name    string
		method  uint16
		content []byte
	}{
		{"mimetype", zip.Store, []byte(mediaType)},
		{listingName, zip.Deflate, []byte(listing)},
		{name, zip.Deflate, score},
	} {
		body, err := w.CreateHeader(&zip.FileHeader{Name: entry.name, Method: entry.method})
		if err == nil {
			_, err = body.Write(entry.content)
		}
		if err != nil {
			return nil, fmt.Errorf("packing a container: %w", err)
		}
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("packing a container: %w", err)
	}
	return out.Bytes(), nil
}
