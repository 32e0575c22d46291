package worker

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
)

// File is one file of an answer.
type File struct {
	// Ending follows the name of the score, such as [FindingsEnding].
	Ending string
	Data   []byte
}

// Endings of the files of an answer that are no scores.
const (
	FindingsEnding  = ".findings.json"
	VoicesEnding    = ".voices.csv"
	RomanTextEnding = ".rntxt"
	AnalysisEnding  = ".analysis.json"
	HarmoniesEnding = ".harmonies.csv"
	mendingEnding   = ".mending.json"
)

// answerFile matches the names of files that answers and statistics have. A folder of
// such a name could keep one from being written.
var answerFile = func() *regexp.Regexp {
	var endings []string
	for _, e := range []string{FindingsEnding, VoicesEnding, RomanTextEnding, AnalysisEnding, HarmoniesEnding, mendingEnding} {
		endings = append(endings, regexp.QuoteMeta(e))
	}
	const scores = `\.(clean|marked|mended(-\d+)?|both)\.(musicxml|mxl)`
	return regexp.MustCompile(`(?i)(` + strings.Join(append(endings, scores), "|") + `)$|^statistics\.(csv|json)$`)
}()

// MarkedFile is the file of a marked score, plain or packed.
func MarkedFile(score []byte) File { return File{".marked" + ScoreExtension(score), score} }

// IndentedFile is a file of JSON to be read, from a line of it.
func IndentedFile(ending string, line []byte) (File, error) {
	var b bytes.Buffer
	err := json.Indent(&b, line, "", "  ")
	b.WriteByte('\n')
	return File{ending, b.Bytes()}, err
}

// MendingFiles are the files of a mended score: what was changed, as a line of JSON,
// all its versions, and the sheet with both if there is one.
func MendingFiles(report, mended []byte, others [][]byte, both []byte) ([]File, error) {
	changes, err := IndentedFile(mendingEnding, report)
	if err != nil {
		return nil, err
	}
	files := []File{changes, {".mended" + ScoreExtension(mended), mended}}
	for i, other := range others {
		files = append(files, File{fmt.Sprintf(".mended-%d%s", i+2, ScoreExtension(other)), other})
	}
	if both != nil {
		files = append(files, File{".both.musicxml", both})
	}
	return files, nil
}

// ScoreExtension returns the ending that MusicXML 4.0 gives a score: .mxl for a
// container, which is a zip file, .musicxml for a document.
func ScoreExtension(score []byte) string {
	if bytes.HasPrefix(score, []byte("PK\x03\x04")) {
		return ".mxl"
	}
	return ".musicxml"
}

// StatisticsFiles are the counts as files that belong to many scores.
func StatisticsFiles(s *HarmonyStatistics) ([]File, error) {
	table, err := s.CSV()
	if err != nil {
		return nil, err
	}
	text, err := s.JSON()
	return []File{{".csv", table}, {".json", text}}, err
}
