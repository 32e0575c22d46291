package report

import (
	"bytes"
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"partwright/theory"
)

// voicesHeader names the columns of the voices table.
var voicesHeader = []string{"voice", "part", "staff", "xml_voice", "measure", "onset", "duration", "pitch", "midi", "tied"}

// writeVoices writes the voices of a score as CSV (RFC 4180, lines end in LF):
// one row for each note of each voice, in order of onset, then from the top. A
// note that two voices share in unison has a row for each of them.
//
//	voice      name of the voice, as in the report
//	part       part id of the document
//	staff      staff of the part on which the note is written, from 1
//	xml_voice  the document's own label of the layer it is written in
//	measure    printed label of the measure in which it begins
//	onset      quarter notes from the start of the score, repeats not unfolded,
//	           exact: "3" or "7/2"
//	duration   quarter notes, tied notes together, exact
//	pitch      sounding pitch, spelled: "F#4"; C4 is middle C
//	midi       the same as a MIDI key number, C4 = 60
//	tied       how many written notes the row joins with ties; 1 where none
//
// Staff, xml_voice and measure are those of the first of tied notes. Text of the
// document that a spreadsheet would run as a formula has an apostrophe in front.
func writeVoices(w io.Writer, t *theory.Texture) error {
	out := csv.NewWriter(w)
	if err := out.Write(voicesHeader); err != nil {
		return err
	}
	row := make([]string, len(voicesHeader))
	next := make([]int, len(t.Voices))
	for m := range t.Moments {
		for v := range t.Voices {
			if !t.IsStruck(m, v) {
				continue
			}
			fillVoiceRow(row, t, &t.Voices[v], next[v])
			next[v]++
			if err := out.Write(row); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// VoicesCSV returns what [writeVoices] writes.
func VoicesCSV(t *theory.Texture) ([]byte, error) {
	var table bytes.Buffer
	err := writeVoices(&table, t)
	return table.Bytes(), err
}

func fillVoiceRow(row []string, t *theory.Texture, voice *theory.Voice, at int) {
	note := &voice.Notes[at]
	written := &t.Score.Notes[note.IDs[0]]
	part := &t.Score.Parts[written.Part]
	layer := "1"
	if int(written.Layer) < len(part.Layers) {
		layer = part.Layers[written.Layer]
	}
	row[0] = voice.Name
	row[1] = plainCell(part.ID)
	row[2] = strconv.Itoa(int(written.Staff))
	row[3] = plainCell(layer)
	row[4] = plainCell(t.Score.Measures[note.Measure].Label)
	row[5] = note.Onset.String()
	row[6] = note.Duration.String()
	row[7] = note.Pitch.String()
	row[8] = strconv.Itoa(note.Pitch.MIDI())
	row[9] = strconv.Itoa(len(note.IDs))
}

// plainCell keeps a spreadsheet from running a document's text as a formula:
// OWASP, "CSV Injection".
func plainCell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		if _, err := strconv.Atoi(text); err != nil {
			return "'" + text
		}
	}
	return text
}
