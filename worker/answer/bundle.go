package answer

import (
	"archive/tar"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"partwright/worker/report"
)

// reportEntry is the name of the report in a bundle.
const reportEntry = "report.json"

// Bundle writes an answer as one text that [Unbundle] reads: a tar archive of its
// report and its files. It is kept with batches and must stay readable.
func (a *Answer) Bundle() ([]byte, error) {
	var b bytes.Buffer
	size := 0
	for i := range a.Files {
		size += len(a.Files[i].Data)
	}
	b.Grow(size + size/4 + 16<<10) // a report is smaller than a marked score, mostly
	w := tar.NewWriter(&b)
	add := func(name string, data []byte) error {
		err := w.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: int64(len(data)), Typeflag: tar.TypeReg})
		if err == nil {
			_, err = w.Write(data)
		}
		return err
	}
	if a.Report != nil {
		line, err := a.Line()
		if err == nil {
			err = add(reportEntry, line)
		}
		if err != nil {
			return nil, err
		}
	}
	if a.Statistics != nil {
		counts, err := json.Marshal(a.Statistics)
		if err == nil {
			err = add(statisticsSuffix, counts)
		}
		if err != nil {
			return nil, err
		}
	}
	for i := range a.Files {
		if err := add(a.Files[i].Suffix, a.Files[i].Data); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), w.Close()
}

// IsBundle tells a bundle from what earlier versions kept.
func IsBundle(data []byte) bool {
	const at = 257 // of the magic in the first header (POSIX.1-2017, pax)
	return len(data) > at+5 && string(data[at:at+5]) == "ustar"
}

// Unbundle reads what [Answer.Bundle] wrote into an answer. Its report, if it has one,
// is read into into, which is a pointer such as a [*report.Mending].
func Unbundle(data []byte, into any) (*Answer, error) {
	a := &Answer{}
	rest := bytes.NewReader(data)
	r := tar.NewReader(rest)
	for {
		header, err := r.Next()
		if errors.Is(err, io.EOF) {
			return a, nil
		}
		if err == nil {
			// The entry is what follows its header, as it stands there.
			entry := data[len(data)-rest.Len():]
			if header.Size > int64(len(entry)) {
				err = io.ErrUnexpectedEOF
			} else {
				err = a.take(header.Name, entry[:header.Size:header.Size], into)
			}
		}
		if err != nil {
			return nil, fmt.Errorf("reading a stored answer: %w", err)
		}
	}
}

func (a *Answer) take(name string, data []byte, into any) error {
	switch {
	case name == reportEntry:
		a.Report = into
		if w, ok := into.(*Written); ok {
			w.Text = data
			return nil
		}
		return json.Unmarshal(data, into)
	case name == statisticsSuffix:
		a.Statistics = &report.HarmonyStatistics{}
		return json.Unmarshal(data, a.Statistics)
	}
	a.Add(name, data)
	return nil
}
