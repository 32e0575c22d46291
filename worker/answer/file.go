package answer

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path"
	"regexp"
	"strings"

	"partwright/worker/report"
)

// File is one file of an answer.
type File struct {
	// Suffix follows the name of the score, such as ".marked.mxl".
	Suffix string
	Data   []byte
}

// Kind is what a score of an answer is. It stands in the names of files between that
// of the score and the extension.
type Kind string

// Kinds of scores.
const (
	Marked   Kind = ".marked"
	Clean    Kind = ".clean"
	Revised  Kind = ".revised" // with the notes that were chosen
	Mended   Kind = ".mended"
	Both     Kind = ".both" // the original above its mended versions
	Voiced   Kind = ".voiced"
	Exercise Kind = ".exercise"
	Compared Kind = ".compared" // all voicings, one above the other
	Level    Kind = ".level"    // a stage from plain to florid
	Ways     Kind = ".ways"     // the ways to a chord, a measure each
)

// HarmonyStatistics is the name of the files of [StatisticsFiles].
const HarmonyStatistics = "harmony-statistics"

// Suffixes of files that are no scores.
const (
	FindingsSuffix   = ".findings.json"
	mendingSuffix    = ".mending.json"
	voicingSuffix    = ".voicing.json"
	VoicesSuffix     = ".voices.csv"
	RomanTextSuffix  = ".rntxt"
	AnalysisSuffix   = ".analysis.json"
	HarmoniesSuffix  = ".harmonies.csv"
	midiExtension    = ".mid"
	plainExtension   = ".musicxml"
	packedExtension  = ".mxl"
	statisticsSuffix = ".statistics.json" // kept, not written: all scores together have one
)

// isFile matches the names of files that answers and statistics have.
var isFile = func() *regexp.Regexp {
	var suffixes []string
	for _, s := range []string{FindingsSuffix, mendingSuffix, voicingSuffix, VoicesSuffix, RomanTextSuffix, AnalysisSuffix, HarmoniesSuffix} {
		suffixes = append(suffixes, regexp.QuoteMeta(s))
	}
	const scores = `\.(clean|marked|revised|mended(-\d+)?|both|voiced(-\d+)?|exercise|compared|level-\d+)\.(musicxml|mxl)`
	return regexp.MustCompile(`(?i)(` + strings.Join(append(suffixes, scores), "|") + `)$|^` + HarmonyStatistics + `\.(csv|json)$`)
}()

// IsFileName tells the name of a file that answers have. A folder of such a name could
// keep one from being written.
func IsFileName(name string) bool { return isFile.MatchString(name) }

// name is that of the score of a kind with the number i, counted from 0: ".mended",
// ".mended-2"; stages are numbered from the first.
func (k Kind) name(i int) string {
	if i == 0 && k != Level {
		return string(k)
	}
	return fmt.Sprintf("%s-%d", k, i+1)
}

// Extension is the end of the suffix, such as ".mxl".
func (f *File) Extension() string { return path.Ext(f.Suffix) }

// Infix is the suffix without its extension, such as ".marked"; "" is none.
func (f *File) Infix() string { return strings.TrimSuffix(f.Suffix, f.Extension()) }

// IsScore tells a score in MusicXML.
func (f *File) IsScore() bool {
	return f.Extension() == plainExtension || f.Extension() == packedExtension
}

// IsMIDI tells music to listen to.
func (f *File) IsMIDI() bool { return f.Extension() == midiExtension }

// Suffixes are those that the first score of a kind may have, of which it has one.
func (k Kind) Suffixes() []string {
	return []string{k.name(0) + plainExtension, k.name(0) + packedExtension}
}

// scoreExtension returns the extension that MusicXML 4.0 gives a score: .mxl for a
// container, which is a zip file, .musicxml for a document.
func scoreExtension(score []byte) string {
	if bytes.HasPrefix(score, []byte("PK\x03\x04")) {
		return packedExtension
	}
	return plainExtension
}

// indented is JSON to be read, from a line of it.
func indented(suffix string, line []byte) (File, error) {
	var b bytes.Buffer
	err := json.Indent(&b, line, "", "  ")
	b.WriteByte('\n')
	return File{suffix, b.Bytes()}, err
}

// StatisticsFiles are what the harmonies of many scores come to, as files.
func StatisticsFiles(s *report.HarmonyStatistics) ([]File, error) {
	table, err := s.CSV()
	if err != nil {
		return nil, err
	}
	text, err := s.JSON()
	return []File{{".csv", table}, {".json", text}}, err
}
