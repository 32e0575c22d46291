package answer

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"

	"partwright/theory"
	"partwright/worker/report"
)

// Answer is what a job comes to for one score.
type Answer struct {
	// Report is what is said about it: a [*report.Report], [*report.Mending],
	// [*report.Voicing] or [*report.Continuation], or one that is [*Written]; nil after a
	// cleaning.
	Report any
	// Files are all other files.
	Files []File
	// Statistics count the harmony of the score; nil unless the analysis was asked for.
	Statistics *report.HarmonyStatistics
	// Texture is the music of the score that answers, nil where it is not at hand.
	Texture *theory.Texture
	// Music is the same in MIDI where only that is at hand.
	Music []byte
}

// Add adds a file.
func (a *Answer) Add(suffix string, data []byte) { a.Files = append(a.Files, File{suffix, data}) }

// AddJSON adds JSON, set out to be read.
func (a *Answer) AddJSON(suffix string, line []byte) error {
	f, err := indented(suffix, line)
	a.Files = append(a.Files, f)
	return err
}

// AddScore adds the score of a kind with the number i, counted from 0; only some kinds
// have more than one.
func (a *Answer) AddScore(kind Kind, i int, score []byte) {
	a.Add(kind.name(i)+scoreExtension(score), score)
}

// AddMIDI adds the music of the voicing with the number i, counted from 0: NAME.mid,
// NAME.voiced-2.mid.
func (a *Answer) AddMIDI(i int, music []byte) {
	infix := ""
	if i > 0 {
		infix = Voiced.name(i)
	}
	a.Add(infix+midiExtension, music)
}

// answering are the scores that answer alone where one is asked for, the first that
// there is.
var answering = []Kind{Both, Exercise, Compared, Marked, Revised, Mended, Voiced, Ways, Clean}

// Score is the score that answers where one is asked for, nil for none.
func (a *Answer) Score() *File {
	for _, kind := range answering {
		i := slices.IndexFunc(a.Files, func(f File) bool { return f.IsScore() && f.Infix() == string(kind) })
		if i >= 0 {
			return &a.Files[i]
		}
	}
	return nil
}

// MIDI is the music to listen to: the first file of the kind, else it is made.
func (a *Answer) MIDI() ([]byte, error) {
	for i := range a.Files {
		if a.Files[i].IsMIDI() {
			return a.Files[i].Data, nil
		}
	}
	if a.Music != nil {
		return a.Music, nil
	}
	if a.Texture == nil {
		return nil, errNoMusic
	}
	return report.MIDI(a.Texture, nil)
}

var errNoMusic = errors.New("an answer has no music to listen to")

// Line is the report as one line of JSON, without the line end.
func (a *Answer) Line() ([]byte, error) {
	if w, ok := a.Report.(*Written); ok {
		return w.Text, nil
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(a.Report)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// suffixOf is that of the file of a report, "" for none.
func suffixOf(r any) string {
	switch r := r.(type) {
	case *Written:
		return r.Suffix
	case *report.Report:
		return FindingsSuffix
	case *report.Mending:
		return mendingSuffix
	case *report.Voicing:
		return voicingSuffix
	}
	return ""
}

// All are the files that are written: the report, where it has one, and the others.
func (a *Answer) All() ([]File, error) {
	suffix := suffixOf(a.Report)
	if suffix == "" {
		return a.Files, nil
	}
	line, err := a.Line()
	if err != nil {
		return nil, err
	}
	said, err := indented(suffix, line)
	return append([]File{said}, a.Files...), err
}

// Rename puts another name of the score into the report, which is not [*Written].
func (a *Answer) Rename(file string) {
	switch r := a.Report.(type) {
	case *report.Report:
		r.File = file
	case *report.Mending:
		r.File = file
	case *report.Voicing:
		r.File = file
	}
}
