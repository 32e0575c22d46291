package report

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// Voicing is the JSON answer to a progression.
type Voicing struct {
	// File is the name the task came under; "" for a text by itself.
	File   string `json:"file,omitempty"`
	Engine string `json:"engine"`
	Style  string `json:"style"`
	// Gives is what a score gave: chords, bass, soprano or outer; "" without a score.
	Gives string `json:"gives,omitempty"`
	// Voices are the names of the voices from the top.
	Voices []string `json:"voices"`
	// Chords is the number of chords, Numerals what was read: a numeral with its
	// key, or a note of a melody whose chord was to be chosen.
	Chords   int      `json:"chords"`
	Numerals []string `json:"numerals"`
	// Obstacle is set where no voicing obeys the hard rules; the one alternative
	// is then the least bad, which breaks Broken of them.
	Obstacle string `json:"obstacle,omitempty"`
	// Breaks are the rules that the least bad breaks, each with its chord, Opens the
	// smallest change that opens the way.
	Breaks []string `json:"breaks,omitempty"`
	Opens  string   `json:"opens,omitempty"`
	// Changed are the chords that an ending made others than they are written.
	Changed []string `json:"changed,omitempty"`
	Broken  int      `json:"broken,omitempty"`
	// Notices say what was understood in another way than it is written, or could not be
	// done, a sentence or clause each.
	Notices []string `json:"notices,omitempty"`
	// Fewer says why there are fewer voicings than were asked for, where time or memory
	// did not last.
	Fewer        string        `json:"fewer,omitempty"`
	Alternatives []Alternative `json:"alternatives"`
}

// Alternative is one voicing.
type Alternative struct {
	// Cost is in semitones of motion: what a semitone in an upper voice costs is
	// 1.
	Cost float64 `json:"cost"`
	// Character says in words what the voicing is like, of all but the first what
	// distinguishes it from that one.
	Character []string `json:"character"`
	// Semitones is the motion of all upper voices together.
	Semitones int           `json:"semitones"`
	Chords    []VoicedChord `json:"chords"`
	Changes   []VoicedStep  `json:"changes"`
	// Decorations were added to the chords.
	Decorations []Decoration `json:"decorations"`
	// Faults and Cautions count what the rules find in the written result.
	Faults   int            `json:"faults"`
	Cautions int            `json:"cautions"`
	ByRule   map[string]int `json:"by_rule"`
	// Findings are these faults and cautions, in the order a reader meets them.
	Findings []VoicingFinding `json:"findings"`
	// VoiceNotes are the notes of every voice of its sheet from the top, if they were
	// asked for.
	VoiceNotes []VoiceNotes `json:"voice_notes,omitempty"`
}

// VoicingFinding is a fault or caution that a voicing has.
type VoicingFinding struct {
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	// Measure is the printed label, Beat counts the beats of the metre from 1.
	Measure string   `json:"measure"`
	Beat    float64  `json:"beat"`
	Voices  []string `json:"voices"`
	Message string   `json:"message"`
}

// VoicedChord is one chord with its notes.
type VoicedChord struct {
	Key     string `json:"key"`
	Numeral string `json:"numeral"`
	Symbol  string `json:"symbol"`
	// Measure is the printed label, Onset and Duration exact quarter notes.
	Measure  string `json:"measure"`
	Onset    string `json:"onset"`
	Duration string `json:"duration"`
	// Pitches are from the top voice down. Late has the notes that sound in their place
	// until they come, from the top voice down, "" for none; it is nil where none comes late.
	Pitches []string `json:"pitches"`
	Late    []string `json:"late,omitempty"`
}

// VoicedStep gives the reasons for one change.
type VoicedStep struct {
	Moves     []Move   `json:"moves"`
	Semitones int      `json:"semitones"`
	Cost      float64  `json:"cost"`
	Charges   []Charge `json:"charges"`
	// RunnerUp is how the chord stands in the cheapest other voicing of the
	// whole phrase, which costs Behind more; empty where there is none.
	RunnerUp []string `json:"runner_up"`
	Behind   float64  `json:"behind"`
	// Instead says why, by term: how much more that voicing costs in all, less
	// where negative.
	Instead []Charge `json:"instead"`
}

// Move is what one voice does.
type Move struct {
	Voice    string `json:"voice"`
	From     string `json:"from"`
	To       string `json:"to"`
	Interval string `json:"interval"`
	// Common is set where the voice holds a common tone.
	Common bool `json:"common"`
	// AgainstBass is the motion against the bass, empty for the bass itself.
	AgainstBass string `json:"against_bass,omitempty"`
	Tendency    string `json:"tendency,omitempty"`
}

// Charge is one term of a cost.
type Charge struct {
	Term string  `json:"term"`
	Cost float64 `json:"cost"`
}

// Decoration is one added note.
type Decoration struct {
	Kind     string `json:"kind"`
	Voice    string `json:"voice"`
	Pitch    string `json:"pitch"`
	Onset    string `json:"onset"`
	Duration string `json:"duration"`
}

// NewVoicing begins the report of a progression, as yet without alternatives.
func NewVoicing(version string, p *voicing.Progression, problem *voicing.Problem, impossible *voicing.ImpossibleError, broken int, catalog *partwriting.Catalog) *Voicing {
	r := &Voicing{Engine: version, Style: problem.Style.Name, Chords: len(p.Chords), Broken: broken, Alternatives: []Alternative{}}
	for _, v := range problem.Style.Voices {
		r.Voices = append(r.Voices, v.Name)
	}
	for _, c := range p.Chords {
		if c.Choices != nil {
			r.Numerals = append(r.Numerals, c.Text)
			continue
		}
		r.Numerals = append(r.Numerals, c.Reading.String())
	}
	for _, said := range p.Changed {
		r.Changed = append(r.Changed, catalog.Phrase(said.Phrase, said.Pairs...))
	}
	if impossible != nil {
		r.Obstacle = obstacle(impossible, catalog)
	}
	return r
}

// Hinder says which rules the least bad breaks and, unless opens is nil, what opens the
// way. Where a chord cannot stand by itself since its own notes conflict with a rule about
// them, that is the obstacle.
func (r *Voicing) Hinder(at *voicing.ImpossibleError, breaks []voicing.Broken, opens *partwriting.Said, catalog *partwriting.Catalog) {
	for _, b := range breaks {
		if at.Alone && b.Chord == at.Slot+1 && partwriting.RuleByID(b.Rule).Family == partwriting.ChordTones {
			r.Obstacle = catalog.Phrase(partwriting.CannotAgree, "chord", b.Chord, "rule", catalog.Rules[b.Rule].Name)
		}
		r.Breaks = append(r.Breaks, catalog.Phrase(partwriting.BreaksAt, "rule", b.Rule, "chord", b.Chord))
	}
	if opens != nil {
		r.Opens = catalog.Phrase(opens.Phrase, opens.Pairs...)
	}
}

// obstacle says in words which chord is in the way.
func obstacle(e *voicing.ImpossibleError, catalog *partwriting.Catalog) string {
	if e.Alone {
		return catalog.Phrase(partwriting.CannotStand, "chord", e.Slot+1)
	}
	return catalog.Phrase(partwriting.CannotFollow, "chord", e.Slot+1, "previous", e.Slot)
}

// NewAlternative reports one voicing, judged by a rule set.
func NewAlternative(problem *voicing.Problem, s *voicing.Solution, explanation *voicing.Explanation, t *theory.Texture, a *harmony.Analysis, added []voicing.Decoration, set *partwriting.RuleSet, catalog *partwriting.Catalog) Alternative {
	r := Alternative{
		Cost: Semitones(s.Cost), Semitones: explanation.Semitones,
		Chords: []VoicedChord{}, Changes: []VoicedStep{}, Decorations: []Decoration{},
	}
	for i := range a.Harmonies {
		chord := voicedChord(&a.Harmonies[i], &s.Chords[i], t)
		chord.Late = lateNotes(a.Harmonies[i].Onset, s.Chords[i].Pitches, t, added)
		r.Chords = append(r.Chords, chord)
	}
	for i := range explanation.Changes {
		r.Changes = append(r.Changes, voicedStep(&explanation.Changes[i], &problem.Style))
	}
	for _, d := range added {
		r.Decorations = append(r.Decorations, Decoration{
			Kind: d.Kind.String(), Voice: problem.Style.Voices[d.Voice].Name, Pitch: d.Pitch.String(),
			Onset: d.Onset.String(), Duration: d.Duration.String(),
		})
	}
	found := partwriting.Check(t, a, set)
	summary := Summarize(found)
	r.Faults, r.Cautions, r.ByRule = summary.Faults, summary.Cautions, summary.ByRule
	r.Findings = voicingFindings(found, t, catalog)
	return r
}

// voicingFindings are the faults and cautions among what was found.
func voicingFindings(found []partwriting.Finding, t *theory.Texture, catalog *partwriting.Catalog) []VoicingFinding {
	out := []VoicingFinding{}
	for i := range found {
		f := &found[i]
		if f.Severity < partwriting.Caution {
			continue
		}
		m := t.Score.MeasureAt(f.Onset)
		reported := VoicingFinding{
			Rule: string(f.Rule), Severity: f.Severity.String(),
			Measure: m.Label, Beat: m.Time.BeatAt(f.Onset.Sub(m.Onset)).Float(),
			Voices: []string{}, Message: catalog.Message(f, t),
		}
		for _, v := range f.Voices {
			reported.Voices = append(reported.Voices, t.Voices[v].Name)
		}
		out = append(out, reported)
	}
	return out
}

func voicedChord(h *harmony.Harmony, c *voicing.Chord, t *theory.Texture) VoicedChord {
	return VoicedChord{
		Key: h.Key.Abbreviation(), Numeral: h.Numeral.Text(h.Key.Mode), Symbol: h.Symbol(),
		Measure: t.Score.MeasureAt(h.Onset).Label, Onset: h.Onset.String(), Duration: h.End.Sub(h.Onset).String(),
		Pitches: PitchNames(c.Pitches),
	}
}

// lateNotes are what sounds at first where the notes of a chord come late, as in a
// suspension that its figures ask for, but not where it was added to the chord.
func lateNotes(onset theory.Fraction, pitches []theory.Pitch, t *theory.Texture, added []voicing.Decoration) []string {
	late := make([]string, len(pitches))
	found := false
	for v, p := range pitches {
		first := soundingAt(&t.Voices[v], onset)
		decorated := slices.ContainsFunc(added, func(d voicing.Decoration) bool { return d.Voice == v && d.Onset == onset })
		if first != nil && first.Pitch != p && !decorated {
			late[v], found = first.Pitch.String(), true
		}
	}
	if !found {
		return nil
	}
	return late
}

// soundingAt is the note of a voice that sounds at an onset, nil for a rest.
func soundingAt(v *theory.Voice, onset theory.Fraction) *theory.VoiceNote {
	i := slices.IndexFunc(v.Notes, func(n theory.VoiceNote) bool { return !onset.Less(n.Onset) && onset.Less(n.End()) })
	if i < 0 {
		return nil
	}
	return &v.Notes[i]
}

// PitchNames are pitches by name, such as "F#4".
func PitchNames(pitches []theory.Pitch) []string {
	out := make([]string, 0, len(pitches))
	for _, p := range pitches {
		out = append(out, p.String())
	}
	return out
}

func voicedStep(c *voicing.Change, style *voicing.Style) VoicedStep {
	return VoicedStep{
		Moves: moveReports(c.Moves, style), Semitones: c.Semitones, Cost: Semitones(c.Cost),
		RunnerUp: PitchNames(c.RunnerUp), Behind: Semitones(c.Behind),
		Charges: chargeReports(c.Charges), Instead: chargeReports(c.Instead),
	}
}

func chargeReports(charges []voicing.Charge) []Charge {
	out := make([]Charge, 0, len(charges))
	for _, c := range charges {
		out = append(out, Charge{c.Term, Semitones(c.Cost)})
	}
	return out
}

func moveReports(moves []voicing.VoiceMove, style *voicing.Style) []Move {
	var out []Move
	for _, m := range moves {
		r := Move{
			Voice: style.Voices[m.Voice].Name, From: m.From.String(), To: m.To.String(),
			Interval: m.Interval.String(), Common: m.Kept, Tendency: m.Tendency.String(),
		}
		if m.Voice < len(moves)-1 {
			r.AgainstBass = m.AgainstBass.String()
		}
		out = append(out, r)
	}
	return out
}

// Semitones turns hundredths into semitones.
func Semitones(c voicing.Cost) float64 { return float64(c) / 100 }
