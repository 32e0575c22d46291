package worker

import (
	"encoding/json"
	"strings"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/theorytest"
	"partwright/worker/report"
)

// cadence is Butterfield, Integrated Music Theory, unit 11a: I ii6 V7 I with a
// perfect authentic cadence.
const cadence = "C3 G3 E4 C5 | F2 A3 D4 A4 | G2 G3 F4 B4 | C3 G3 E4 C5"

func TestAnalysisJSON(t *testing.T) {
	texture := theorytest.Chords(cadence)
	data, err := report.AnalysisJSON(texture, harmony.Analyze(texture))
	if err != nil {
		t.Fatal(err)
	}
	var got report.Analysis
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Harmonies) != 4 || len(got.Cadences) != 1 || len(got.Phrases) != 1 {
		t.Fatalf("%d harmonies, %d cadences, %d phrases: %s", len(got.Harmonies), len(got.Cadences), len(got.Phrases), data)
	}
	h := got.Harmonies[1]
	if h.Numeral != "ii6" || h.Key != "C major" || h.Symbol != "Dm/F" || h.Figures != "6" || h.Measure != "1" || h.Beat != 2 || h.Onset != "1" || h.End != "2" {
		t.Errorf("the second harmony is %+v", h)
	}
	if c := got.Cadences[0]; c.Kind != "PAC" || c.From != "V7" || c.To != "I" || c.Soprano != 1 {
		t.Errorf("the cadence is %+v", c)
	}
	if len(got.Notes) != 16 {
		t.Fatalf("%d notes are classed, want all 16", len(got.Notes))
	}
	for _, n := range got.Notes {
		if n.Class != "chord-tone" || n.Harmony == nil {
			t.Errorf("chords alone have no nonchord tones: %+v", n)
		}
	}
	if bass := got.Notes[13]; bass.Voice != "B" || bass.Pitch != "F2" || bass.Member != "third" || *bass.Harmony != 1 {
		t.Errorf("F in the bass is the third of ii6, the second harmony: %+v", bass)
	}
}

func TestHarmoniesCSV(t *testing.T) {
	texture := theorytest.Chords(cadence)
	data, err := report.HarmoniesCSV("=a.xml", texture, harmony.Analyze(texture))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(data)), "\n")
	if len(lines) != 5 || !strings.HasPrefix(lines[3], "'=a.xml,1,0,3,2,3,C major,V7,7,G7,G,G,dominant seventh,0,,") {
		t.Errorf("the table is\n%s", data)
	}
}

func TestHarmonyStatistics(t *testing.T) {
	var s report.HarmonyStatistics
	for range 2 {
		texture := theorytest.Chords(cadence)
		s.Add(report.NewAnalysis(texture, harmony.Analyze(texture)))
	}
	data, err := s.CSV()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []string{
		"what,first,second,count\n", "cadence,PAC,,2\n", "key,C major,,2\n", "numeral,major I,,4\n",
		"succession,major ii6,major V7,2\n", "note,chord-tone,,32\n",
	} {
		if !strings.Contains(string(data), row) {
			t.Errorf("no row %q in\n%s", row, data)
		}
	}
	if strings.Contains(string(data), "succession,major I,major I,") {
		t.Error("two scores do not follow one another")
	}
}
