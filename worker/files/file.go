package files

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
)

// File is one file of an answer.
type File struct {
	// Suffix follows the name of the score, such as [FindingsSuffix].
	Suffix string
	Data   []byte
}

// Suffixes of the files of an answer that are no scores.
const (
	FindingsSuffix  = ".findings.json"
	VoicesSuffix    = ".voices.csv"
	RomanTextSuffix = ".rntxt"
	AnalysisSuffix  = ".analysis.json"
	HarmoniesSuffix = ".harmonies.csv"
	mendingSuffix   = ".mending.json"
)

// answerFile matches the names of files that answers and statistics have. A folder of
// such a name could keep one from being written.
var answerFile = func() *regexp.Regexp {
	var suffixes []string
	for _, e := range []string{FindingsSuffix, VoicesSuffix, RomanTextSuffix, AnalysisSuffix, HarmoniesSuffix, mendingSuffix} {
		suffixes = append(suffixes, regexp.QuoteMeta(e))
	}
	const scores = `\.(clean|marked|mended(-\d+)?|both)\.(musicxml|mxl)`
	return regexp.MustCompile(`(?i)(` + strings.Join(append(suffixes, scores), "|") + `)$|^statistics\.(csv|json)$`)
}()

// MarkedFile is the file of a marked score, plain or packed.
func MarkedFile(score []byte) File { return File{".marked" + ScoreExtension(score), score} }

// IndentedFile is a file of JSON to be read, from a line of it.
func IndentedFile(suffix string, line []byte) (File, error) {
	var b bytes.Buffer
	err := json.Indent(&b, line, "", "  ")
	b.WriteByte('\n')
	return File{suffix, b.Bytes()}, err
}

// ScoreExtension returns the suffix that MusicXML 4.0 gives a score: .mxl for a
// container, which is a zip file, .musicxml for a document.
func ScoreExtension(score []byte) string {
	if bytes.HasPrefix(score, []byte("PK\x03\x04")) {
		return ".mxl"
	}
	return ".musicxml"
}
