package settings

import (
	"fmt"

	"partwright/theory/harmony"
)

// LabelsFile is what a [Error] about labels says that the file should hold.
const LabelsFile = "labels"

// Labels is an analysis in RomanText that came beside a score.
type Labels struct {
	// File is the name it came under.
	File string
	// Source is what it held.
	Source []byte
	// Text is what was read of it.
	Text *harmony.RomanText
}

// ReadLabels reads an analysis in RomanText (Tymoczko, Gotham, Cuthbert and Ariza
// 2019) of at most [MaxBytes] bytes. A file without a single numeral is a
// [*Error]; single lines that cannot be understood become notices of the
// score's report.
func ReadLabels(file string, data []byte) (*Labels, error) {
	fail := func(message string) error {
		return &Error{File: file, What: LabelsFile, Lines: []Problem{{Message: message}}}
	}
	if len(data) > MaxBytes {
		return nil, fail(fmt.Sprintf("larger than %d bytes", MaxBytes))
	}
	text, err := harmony.ReadRomanText(string(data))
	if err != nil {
		return nil, fail(err.Error())
	}
	return &Labels{file, data, text}, nil
}
