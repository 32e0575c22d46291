package report

// Mending is the JSON answer.
type Mending struct {
	File    string `json:"file"`
	Engine  string `json:"engine"`
	RuleSet string `json:"rule_set"`
	// Before and After count the findings of the original and the mended score at the
	// chosen severity or above, each read and checked from scratch.
	Before int `json:"before"`
	After  int `json:"after"`
	// Semitones is the distance moved by all edits together.
	Semitones int          `json:"semitones"`
	Edits     []MendedNote `json:"edits"`
	// Notices tell what was odd in the document.
	Notices []Notice `json:"notices,omitempty"`
	// Left are the rules of what could not be removed, with their places; New those
	// that came with the changes, where this is the least bad that was found.
	Left []Left `json:"left"`
	New  []Left `json:"new"`
	// Untouched says why nothing was tried: too-many or block-chords; Advice what to
	// do instead, in a sentence.
	Untouched string `json:"untouched,omitempty"`
	Advice    string `json:"advice,omitempty"`
	// Alternatives are the other ways to mend it, the next smallest change first.
	Alternatives []MendingWay `json:"alternatives"`
}

// MendingWay is another way to mend a score.
type MendingWay struct {
	After     int          `json:"after"`
	Semitones int          `json:"semitones"`
	Edits     []MendedNote `json:"edits"`
	Left      []Left       `json:"left"`
	New       []Left       `json:"new"`
}

// MendedNote is one changed note.
type MendedNote struct {
	Note Note   `json:"note"`
	To   string `json:"to"`
	// Measure is the printed label, Beat counts from 1, BeatExact is the
	// same as a fraction.
	Measure   string  `json:"measure"`
	Beat      float64 `json:"beat"`
	BeatExact string  `json:"beat_exact,omitempty"`
}

// Left is a finding that is still there.
type Left struct {
	Rule      string  `json:"rule"`
	Measure   string  `json:"measure"`
	Beat      float64 `json:"beat"`
	BeatExact string  `json:"beat_exact,omitempty"`
	// Message says what it is, in the language of the answer.
	Message string `json:"message,omitempty"`
}
