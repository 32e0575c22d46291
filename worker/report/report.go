package report

import (
	"partwright/theory/partwriting"
)

// Report is the answer to one score: what was read, which voices were found and
// what the rules say. It is the JSON of findings files and HTTP answers alike;
// the OpenAPI document in api describes the same fields.
type Report struct {
	// File is the name the score came under.
	File string `json:"file"`
	// Engine is the version that gave the answer, RuleSet the set it applied.
	Engine  string `json:"engine"`
	RuleSet string `json:"rule_set"`
	// Texture says what the score was taken for, and why RuleSet applies; answers that
	// earlier versions kept have none.
	Texture *Texture `json:"texture,omitempty"`
	// HandIn says whether the score is complete; answers that earlier versions kept
	// have none.
	HandIn *HandIn `json:"hand_in,omitempty"`
	Score  Score   `json:"score"`
	// Identity tells this score from others; answers that earlier versions kept have
	// none.
	Identity *Identity `json:"identity,omitempty"`
	// Provenance says what the answer was made by; answers that earlier versions kept have
	// none.
	Provenance *Provenance `json:"provenance,omitempty"`
	// Notices tell what was odd in the document.
	Notices []Notice `json:"notices"`
	// Findings are in the order a reader meets them, numbered from 1.
	Findings []Finding `json:"findings"`
	// First are the few to mend first, in that order.
	First []First `json:"first,omitempty"`
	// WellDone says what is well done, where the score is complete and there is
	// something to say.
	WellDone []string `json:"well_done,omitempty"`
	// Pupil says that the report is for a pupil, who is shown what is in First.
	Pupil bool `json:"pupil,omitempty"`
	// Language is the tag of the language of its sentences; answers that earlier
	// versions kept have none.
	Language string `json:"language,omitempty"`
	// Summary counts findings by severity and by rule.
	Summary Summary `json:"summary"`
	// Mark is there if a rubric was asked for, Analysis if the analysis was.
	Grade    *Grade    `json:"mark,omitempty"`
	Analysis *Analysis `json:"analysis,omitempty"`
	// VoiceNotes are the notes of every voice from the top, if they were asked for.
	VoiceNotes []VoiceNotes `json:"voice_notes,omitempty"`
}

// HandIn says whether a score is finished and was read as it was meant. Where it is
// not complete, no mark is proposed.
type HandIn struct {
	Complete bool      `json:"complete"`
	Problems []Problem `json:"problems"`
	// Note says why no mark is proposed; empty where the score is complete.
	Note string `json:"note,omitempty"`
}

// Problem is one reason why a score is not complete; it is a finding as well.
type Problem struct {
	// Kind is a word such as "voice-stops".
	Kind string `json:"kind"`
	// Finding is the number of the finding, 0 where nothing in the score sounds.
	Finding int `json:"finding,omitempty"`
	// Place is where it begins, in the language of the answer; Measure is the printed
	// label of the measure, MeasureIndex counts from 0.
	Place        string   `json:"place"`
	Measure      string   `json:"measure"`
	MeasureIndex int      `json:"measure_index"`
	Voices       []string `json:"voices"`
	Message      string   `json:"message"`
}

// Texture says what a score was taken for.
type Texture struct {
	// Kind is a word such as "choir" or "song"; Named is set where it was asked for.
	Kind  string `json:"kind"`
	Named bool   `json:"named"`
	// Why says so in a sentence, and why the rule set applies.
	Why string `json:"why"`
}

// Identity tells scores apart, each by hexadecimal digits.
type Identity struct {
	// SHA256 is the hash of the file as it came (FIPS 180-4).
	SHA256 string `json:"sha256"`
	// Music is the same for scores that sound the same, Shape for those that do once
	// one of them is transposed; see [theory.Fingerprint].
	Music string `json:"music"`
	Shape string `json:"shape"`
}

// Score says what was read.
type Score struct {
	Title string `json:"title"`
	// Composer and Rights are as the document says them.
	Composer string `json:"composer,omitempty"`
	Rights   string `json:"rights,omitempty"`
	// Key is the one that holds longest, such as "G minor"; empty without a harmony.
	Key       string `json:"key,omitempty"`
	Parts     int    `json:"parts"`
	Measures  int    `json:"measures"`
	Notes     int    `json:"notes"`
	Grace     int    `json:"grace"`
	XMLVoices int    `json:"xml_voices"`
	// Quarters is exact: "102" or "15/2".
	Quarters string `json:"quarters"`
	// High and Low are sounding MIDI numbers, "-" where nothing is pitched.
	High Height `json:"high"`
	Low  Height `json:"low"`
	// Time is the metre of the first measure, such as "4/4", and Signature its key
	// signature in fifths, sharps positive; both as written. Time is empty without a metre,
	// and both are left out in answers that earlier versions kept.
	Time      string `json:"time,omitempty"`
	Signature int    `json:"signature,omitempty"`
	// Layout and Found say how the voices were found.
	Layout string `json:"layout"`
	Found  string `json:"found"`
	// HarmonyStyle is how the harmony was read, chorale or free; HarmonyFound says why.
	HarmonyStyle string     `json:"harmony_style,omitempty"`
	HarmonyFound string     `json:"harmony_found,omitempty"`
	Voices       []Voice    `json:"voices"`
	SetAside     []SetAside `json:"set_aside"`
}

// Voice is one voice, from the top.
type Voice struct {
	Name string `json:"name"`
	// Part is the part's id in the document.
	Part  string `json:"part"`
	Staff int    `json:"staff"`
	Found string `json:"found"`
	Notes int    `json:"notes"`
	// Low and High are the extreme pitches, such as "F2"; empty without notes.
	Low  string `json:"low,omitempty"`
	High string `json:"high,omitempty"`
}

// SetAside is something that is not a voice.
type SetAside struct {
	Part   string `json:"part"`
	Notes  int    `json:"notes"`
	Reason string `json:"reason"`
}

// Notice is something odd in the document that could be passed over.
type Notice struct {
	Code         string `json:"code"`
	Part         string `json:"part,omitempty"`
	Measure      string `json:"measure,omitempty"`
	MeasureIndex *int   `json:"measure_index,omitempty"`
	Line         int    `json:"line,omitempty"`
	Message      string `json:"message"`
}

// Finding is one finding.
type Finding struct {
	Number int `json:"number"`
	// Follows is the number of the finding from which this one follows, 0 if it
	// stands alone.
	Follows  int    `json:"follows,omitempty"`
	Rule     string `json:"rule"`
	Family   string `json:"family"`
	Severity string `json:"severity"`
	// Measure is the printed label, MeasureIndex counts from 0.
	Measure      string `json:"measure"`
	MeasureIndex int    `json:"measure_index"`
	// Beat counts the beats of the metre from 1, from the measure's start; BeatExact
	// is the same as a fraction, "" in answers that earlier versions kept.
	Beat      float64 `json:"beat"`
	BeatExact string  `json:"beat_exact,omitempty"`
	// Offset (from the measure's start) and Onset (from the score's start) are
	// exact quarter notes: "3/2".
	Offset string `json:"offset"`
	Onset  string `json:"onset"`
	// Key and Numeral are those of the harmony at the onset, such as "G minor" and "V7";
	// empty where there is none.
	Key     string `json:"key,omitempty"`
	Numeral string `json:"numeral,omitempty"`
	// Voices are the names of the voices concerned, from the top.
	Voices  []string `json:"voices"`
	Notes   []Note   `json:"notes"`
	Related []Note   `json:"related"`
	Message string   `json:"message"`
	Why     string   `json:"why"`
	Source  string   `json:"source"`
	// Accept is the line of a file of accepted findings that lets this one stand.
	Accept string `json:"accept"`
	Fixes  []Fix  `json:"fixes"`
}

// First is a finding to mend before others.
type First struct {
	Number int `json:"number"`
	// Place names both ends of it, Message says what it is, Mend how to mend it: by
	// the wanted note where ways to mend were looked for and found.
	Place   string `json:"place"`
	Message string `json:"message"`
	Mend    string `json:"mend"`
}

// Note is one note of a finding.
type Note struct {
	Voice string `json:"voice"`
	Onset string `json:"onset"`
	// Pitch sounds; it is spelled, such as "F#4".
	Pitch string `json:"pitch"`
	Part  string `json:"part"`
	Staff int    `json:"staff"`
	// Layer is the document's own voice label.
	Layer string `json:"layer"`
	// Line and Column point into the score's text, from 1.
	Line   int `json:"line"`
	Column int `json:"column"`
	// ID and MeasureID are those of the note and its measure in the returned document;
	// empty where they were not asked for.
	ID        string `json:"id,omitempty"`
	MeasureID string `json:"measure_id,omitempty"`
}

// Fix is one way to mend a finding.
type Fix struct {
	Edits []Edit `json:"edits"`
}

// Edit gives a note a new pitch.
type Edit struct {
	Note Note   `json:"note"`
	To   string `json:"to"`
}

// Summary counts findings.
type Summary struct {
	Faults   int            `json:"faults"`
	Cautions int            `json:"cautions"`
	Remarks  int            `json:"remarks"`
	ByRule   map[string]int `json:"by_rule"`
}

// Add counts the findings of another score as well.
func (s *Summary) Add(other *Summary) {
	s.Faults += other.Faults
	s.Cautions += other.Cautions
	s.Remarks += other.Remarks
	if s.ByRule == nil {
		s.ByRule = make(map[string]int, len(other.ByRule))
	}
	for rule, n := range other.ByRule {
		s.ByRule[rule] += n
	}
}

// AtLeast returns how many findings are as grave as the severity, or graver.
func (s *Summary) AtLeast(severity partwriting.Severity) int {
	switch severity {
	case partwriting.Fault:
		return s.Faults
	case partwriting.Caution:
		return s.Faults + s.Cautions
	}
	return s.Faults + s.Cautions + s.Remarks
}

// Summarize counts findings by severity and by rule.
func Summarize(findings []partwriting.Finding) Summary {
	s := Summary{ByRule: map[string]int{}}
	for i := range findings {
		s.ByRule[string(findings[i].Rule)]++
		switch findings[i].Severity {
		case partwriting.Fault:
			s.Faults++
		case partwriting.Caution:
			s.Cautions++
		default:
			s.Remarks++
		}
	}
	return s
}
