package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Analysis is the harmonic analysis of one score, as a report and
// NAME.analysis.json have it.
type Analysis struct {
	Harmonies []Harmony `json:"harmonies"`
	Cadences  []Cadence `json:"cadences"`
	Phrases   []Phrase  `json:"phrases"`
	// Notes says of every note what it is to its harmony, voice by voice from
	// the top.
	Notes []NoteClass `json:"notes"`
	// Labels are those that somebody has given and the analysis heeds.
	Labels []Label `json:"labels"`
	// Changes are where those labels make the reading another than that of the notes alone.
	Changes []Change `json:"changes,omitempty"`
	// Devices are what a musician names beside numerals, by kind and then in order.
	Devices []Device `json:"devices,omitempty"`
}

// Device is a harmonic device: a sequence, a pedal point, a chord of the parallel minor
// and so on.
type Device struct {
	Place
	// End is where it ends, in quarter notes from the score's start.
	End string `json:"end"`
	// Kind is sequence, pedal-point, mixture, common-tone, reinterpretation or
	// modal-final. Name says which: "descending-fifths", the degree of a pedal point, the
	// mode of a final, what a chord acts as ("Ger6", "C#dim7").
	Kind string `json:"kind"`
	Name string `json:"name,omitempty"`
	// Voice is that of a pedal point.
	Voice string `json:"voice,omitempty"`
}

// Label is one label that somebody has given.
type Label struct {
	Place
	// End is where it ceases to hold, in quarter notes from the score's start.
	End string `json:"end"`
	// Source is romantext, numeral, figures or symbol; Text is the label, Symbol
	// the chord symbol of what it says.
	Source string `json:"source"`
	Text   string `json:"text"`
	Symbol string `json:"symbol"`
	// BorneOut is set where the analysis by the notes alone says the same; Heard
	// is what it says where it does not.
	BorneOut bool   `json:"borne_out"`
	Heard    string `json:"heard,omitempty"`
}

// Change is a stretch that labels make the analysis read otherwise.
type Change struct {
	Place
	// End is where it ends, in quarter notes from the score's start.
	End string `json:"end"`
	// ByNotes is what the notes alone are read as, such as "C major: V", Read what the
	// analysis says; empty where one of them has no harmony.
	ByNotes string `json:"by_notes,omitempty"`
	Read    string `json:"read,omitempty"`
}

// Place says where something begins.
type Place struct {
	// Measure is the printed label, MeasureIndex counts from 0.
	Measure      string `json:"measure"`
	MeasureIndex int    `json:"measure_index"`
	// Beat counts the beats of the metre from 1; Onset is in quarter notes from
	// the start of the score, exact.
	Beat float64 `json:"beat"`
	// BeatExact is Beat as a fraction, "" in answers that earlier versions kept.
	BeatExact string `json:"beat_exact,omitempty"`
	Onset     string `json:"onset"`
}

// Harmony is one harmony.
type Harmony struct {
	Place
	// End is in quarter notes from the start of the score, exact.
	End string `json:"end"`
	// Key is "G major"; Numeral is in RomanText, such as "V65/V".
	Key     string `json:"key"`
	Numeral string `json:"numeral"`
	// Figures are those above the bass, such as "65"; Symbol is the chord symbol.
	Figures   string `json:"figures"`
	Symbol    string `json:"symbol"`
	Root      string `json:"root"`
	Bass      string `json:"bass"`
	Quality   string `json:"quality"`
	Inversion int    `json:"inversion"`
	// Pivot is the reading in the key that is left, such as "C major: vi".
	Pivot string `json:"pivot,omitempty"`
	// Confidence estimates how likely a musician would read the same, 0 to 1;
	// RunnerUp is the next best reading. Alternatives are what a musician may well
	// hear instead, the likeliest first; none where the reading is safe.
	Confidence   float64        `json:"confidence"`
	RunnerUp     string         `json:"runner_up,omitempty"`
	Alternatives []OtherReading `json:"alternatives,omitempty"`
}

// OtherReading is another reading of a harmony.
type OtherReading struct {
	Key        string  `json:"key"`
	Numeral    string  `json:"numeral"`
	Confidence float64 `json:"confidence"`
}

// Cadence is the end of a phrase.
type Cadence struct {
	Place
	// Kind is PAC, IAC, HC, PC or DC, empty where the end has no name.
	Kind string `json:"kind"`
	Key  string `json:"key"`
	// From and To are the numerals of the formula; Soprano is the scale degree
	// on top at the end, 0 for an altered one.
	From     string `json:"from,omitempty"`
	To       string `json:"to"`
	Soprano  int    `json:"soprano"`
	Phrygian bool   `json:"phrygian,omitempty"`
	Picardy  bool   `json:"picardy,omitempty"`
}

// Phrase is one phrase.
type Phrase struct {
	Place
	End string `json:"end"`
	// Evidence says what marks the end: fermata, bar-line, breath, rest, lyric,
	// long-note, end.
	Evidence []string `json:"evidence"`
}

// NoteClass is the part that one note, its ties joined, plays in its
// harmony.
type NoteClass struct {
	Place
	Voice string `json:"voice"`
	Pitch string `json:"pitch"`
	// Class is "chord-tone", a kind of nonchord tone such as "passing" or
	// "suspension", or "unread" where no harmony sounds.
	Class string `json:"class"`
	// Harmony is the place in the list of harmonies, from 0, of the one against
	// which the note is classed; for a suspension that is the later one.
	Harmony *int `json:"harmony,omitempty"`
	// Member is root, third, fifth or seventh of the harmony at the note's
	// onset; Figures are those of a suspension, "4-3".
	Member  string `json:"member,omitempty"`
	Figures string `json:"figures,omitempty"`
	// Accented is set where a nonchord tone stands on a place at least as strong
	// as that of the note after it.
	Accented bool `json:"accented,omitempty"`
}

// memberNames are the words for the members of a chord, from the root up.
var memberNames = [...]string{"root", "third", "fifth", "seventh"}

// NewAnalysis puts an analysis into the shape of its JSON.
func NewAnalysis(t *theory.Texture, a *harmony.Analysis) *Analysis {
	r := &Analysis{
		Harmonies: make([]Harmony, 0, len(a.Harmonies)), Cadences: make([]Cadence, 0, len(a.Cadences)),
		Phrases: make([]Phrase, 0, len(a.Phrases)), Notes: []NoteClass{}, Labels: labelReports(t.Score, a),
	}
	for i := range a.Harmonies {
		r.Harmonies = append(r.Harmonies, harmonyReport(t.Score, a, i))
	}
	for _, c := range a.Cadences {
		final := &a.Harmonies[c.Final]
		report := Cadence{
			Place: placeReport(t.Score, c.Onset), Kind: c.Kind.String(), Key: c.Key.String(),
			To: final.Numeral.Text(final.Key.Mode), Soprano: c.Soprano, Phrygian: c.Phrygian, Picardy: c.Picardy,
		}
		if c.Penultimate >= 0 {
			before := &a.Harmonies[c.Penultimate]
			report.From = before.Numeral.Text(before.Key.Mode)
		}
		r.Cadences = append(r.Cadences, report)
	}
	for _, p := range a.Phrases {
		r.Phrases = append(r.Phrases, Phrase{placeReport(t.Score, p.Onset), p.End.String(), p.Evidence.Words()})
	}
	for v, notes := range a.Notes {
		for n := range notes {
			r.Notes = append(r.Notes, noteClassReport(t, v, n, &notes[n]))
		}
	}
	for _, c := range a.Changes() {
		change := Change{Place: placeReport(t.Score, c.Onset), End: c.End.String()}
		if c.ByNotes != nil {
			change.ByNotes = readingText(*c.ByNotes)
		}
		if c.Read != nil {
			change.Read = readingText(*c.Read)
		}
		r.Changes = append(r.Changes, change)
	}
	for _, d := range a.Devices() {
		report := Device{Place: placeReport(t.Score, a.Harmonies[d.First].Onset), End: a.Harmonies[d.Last].End.String(),
			Kind: d.Kind.String(), Name: d.Name}
		if d.Voice >= 0 {
			report.Voice = t.Voices[d.Voice].Name
		}
		r.Devices = append(r.Devices, report)
	}
	return r
}

func labelReports(s *theory.Score, a *harmony.Analysis) []Label {
	out := make([]Label, 0, len(a.Given))
	contested := a.Contested // in the order of the labels
	for i := range a.Given {
		label := &a.Given[i]
		r := Label{
			Place: placeReport(s, label.Onset), End: label.End.String(), Source: label.Source.String(),
			Text: label.Text, Symbol: label.Chord.Symbol(), BorneOut: true,
		}
		if len(contested) > 0 && contested[0].Onset == label.Onset {
			r.BorneOut = false
			if heard := contested[0].Heard; heard != nil {
				r.Heard = readingText(*heard)
			}
			contested = contested[1:]
		}
		out = append(out, r)
	}
	return out
}

func noteClassReport(t *theory.Texture, voice, index int, reading *harmony.NoteReading) NoteClass {
	note := &t.Voices[voice].Notes[index]
	r := NoteClass{
		Place: placeReport(t.Score, note.Onset), Voice: t.Voices[voice].Name, Pitch: note.Pitch.String(),
		Class: reading.Class.String(), Figures: reading.Figures, Accented: reading.Accented,
	}
	if reading.Harmony >= 0 {
		r.Harmony = &reading.Harmony
	}
	if reading.Member >= 0 {
		r.Member = memberNames[reading.Member]
	}
	return r
}

func harmonyReport(s *theory.Score, a *harmony.Analysis, index int) Harmony {
	h := &a.Harmonies[index]
	r := Harmony{
		Place: placeReport(s, h.Onset), End: h.End.String(), Key: h.Key.String(),
		Numeral: h.Numeral.Text(h.Key.Mode), Figures: h.Quality().Figures(h.Inversion()), Symbol: h.Symbol(),
		Root: h.Root().String(), Bass: h.Bass().String(), Quality: h.Quality().String(), Inversion: h.Inversion(),
		Confidence: h.Confidence,
	}
	if h.Pivot != nil {
		r.Pivot = readingText(*h.Pivot)
	}
	if h.RunnerUp != nil {
		r.RunnerUp = readingText(*h.RunnerUp)
	}
	r.Alternatives = alternatives(a, h)
	return r
}

// alternatives are what may be heard where a harmony begins.
func alternatives(a *harmony.Analysis, h *harmony.Harmony) []OtherReading {
	var out []OtherReading
	if h.FirstMoment >= h.EndMoment {
		return out
	}
	for _, r := range a.Plausible(h.FirstMoment, harmony.LeastPlausible)[1:] {
		out = append(out, OtherReading{r.Key.String(), r.Numeral.Text(r.Key.Mode), math.Round(100*r.Confidence) / 100})
	}
	return out
}

func readingText(r harmony.Reading) string { return r.Key.String() + ": " + r.Numeral.Text(r.Key.Mode) }

func placeReport(s *theory.Score, onset theory.Fraction) Place {
	m := s.MeasureAt(onset)
	beat := m.Time.BeatAt(onset.Sub(m.Onset))
	return Place{m.Label, m.Index, beat.Float(), beat.String(), onset.String()}
}

// AnalysisJSON returns the analysis as JSON, indented, with a line feed at the
// end.
func AnalysisJSON(t *theory.Texture, a *harmony.Analysis) ([]byte, error) {
	text, err := indented(NewAnalysis(t, a))
	return []byte(text + "\n"), err
}

// RomanText returns the analysis in RomanText; the title is that of the score.
func RomanText(title string, a *harmony.Analysis) ([]byte, error) {
	var b bytes.Buffer
	var header []harmony.HeaderLine
	if title != "" {
		header = append(header, harmony.HeaderLine{Tag: "Title", Value: title})
	}
	err := a.WriteRomanText(&b, append(header, harmony.HeaderLine{Tag: "Analyst", Value: "Partwright"}))
	return b.Bytes(), err
}

// harmoniesHeader names the columns of the harmonies table.
var harmoniesHeader = []string{
	"file", "measure", "measure_index", "beat", "onset", "end", "key", "numeral", "figures", "symbol",
	"root", "bass", "quality", "inversion", "pivot", "confidence", "runner_up",
}

// HarmoniesCSV returns one row for each harmony (RFC 4180, lines end in LF). The
// columns are the name that the score came under, so that tables can be joined,
// and the fields of [Harmony].
func HarmoniesCSV(file string, t *theory.Texture, a *harmony.Analysis) ([]byte, error) {
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	if err := out.Write(harmoniesHeader); err != nil {
		return nil, err
	}
	for i := range a.Harmonies {
		h := harmonyReport(t.Score, a, i)
		err := out.Write([]string{
			InertCell(file), InertCell(h.Measure), strconv.Itoa(h.MeasureIndex), strconv.FormatFloat(h.Beat, 'f', -1, 64),
			h.Onset, h.End, h.Key, h.Numeral, h.Figures, h.Symbol, h.Root, h.Bass, h.Quality, strconv.Itoa(h.Inversion),
			h.Pivot, strconv.FormatFloat(h.Confidence, 'f', 2, 64), h.RunnerUp,
		})
		if err != nil {
			return nil, err
		}
	}
	out.Flush()
	return b.Bytes(), out.Error()
}
