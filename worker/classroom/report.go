package classroom

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"time"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/worker/report"
)

// Report is how a class did in one assignment. Only attempts that count are in its
// figures; all are in HandIns.
type Report struct {
	Assignment string    `json:"assignment"`
	Title      string    `json:"title"`
	Closes     time.Time `json:"closes,omitzero"`
	Language   string    `json:"language"`
	// Note says that nothing is final.
	Note string `json:"note"`
	// HandedIn counts references, NotHandedIn are those of the roster that are missing.
	HandedIn    int      `json:"handed_in"`
	NotHandedIn []string `json:"not_handed_in"`
	Marks       Marks    `json:"marks"`
	// States counts what the hand-ins are.
	States map[State]int `json:"states"`
	// Attempts says how many references have handed in how often: the first is once.
	Attempts []int `json:"attempts"`
	// Rules are those that most pupils have broken first.
	Rules []RuleCount `json:"rules"`
	// Measures are in order; WrongChords are the commonest first.
	Measures    []MeasureCount `json:"measures"`
	WrongChords []WrongChord   `json:"wrong_chords"`
	TeachAgain  []Lesson       `json:"teach_again"`
	Alike       []Likeness     `json:"alike"`
	HandIns     []Outcome      `json:"hand_ins"`
}

// Marks are the marks that hold, of attempts that count.
type Marks struct {
	Available Points `json:"available"`
	// Count is how many there are; Mean and Median are 0 without any.
	Count  int     `json:"count"`
	Mean   float64 `json:"mean"`
	Median float64 `json:"median"`
	Least  Points  `json:"least"`
	Most   Points  `json:"most"`
	// Tenths counts them by tenths of what there is to get: the last one is from nine
	// tenths up to all.
	Tenths [10]int `json:"tenths"`
}

// RuleCount is how often a rule was broken: faults and cautions, with waived ones and
// without accepted ones.
type RuleCount struct {
	Rule     string `json:"rule"`
	Name     string `json:"name"`
	Findings int    `json:"findings"`
	// InModel is how many of the findings the first model answer has too, at the same beat:
	// they lie in the exercise more than in the answers. They cost what others cost, until a
	// teacher lets them stand.
	InModel int `json:"in_model,omitempty"`
	// Pupils are the references concerned, each once.
	Pupils []string `json:"pupils"`
}

// MeasureCount is how much went wrong in a measure.
type MeasureCount struct {
	Measure      string   `json:"measure"`
	MeasureIndex int      `json:"measure_index"`
	Findings     int      `json:"findings"`
	Pupils       []string `json:"pupils"`
}

// WrongChord is a chord that was written in the place of another.
type WrongChord struct {
	Measure string   `json:"measure"`
	Beat    string   `json:"beat"`
	Wanted  string   `json:"wanted"`
	Written string   `json:"written"`
	Pupils  []string `json:"pupils"`
}

// Lesson is a rule that is worth another lesson.
type Lesson struct {
	Rule string `json:"rule"`
	Name string `json:"name"`
	// Sentence is what the rule asks for, Why the reason.
	Sentence string `json:"sentence"`
	Why      string `json:"why"`
	// Examples are from the class, without reference: at most two, which differ.
	Examples []Example `json:"examples"`
}

// Example is a passage that breaks a rule.
type Example struct {
	Measure string `json:"measure"`
	Message string `json:"message"`
	// Chords are what sounds before and at the place.
	Chords []Chord `json:"chords"`
	// Signature is the key signature in fifths.
	Signature int `json:"signature"`
}

// Chord is what sounds at one moment.
type Chord struct {
	// Pitches are from the top voice down, such as "F#4"; Faulty are the places in this
	// list of those that the finding names.
	Pitches []string `json:"pitches"`
	Faulty  []int    `json:"faulty"`
}

// Bounds on what a report lists.
const (
	mostLessons  = 3
	mostExamples = 2
	mostChords   = 5
)

// Report sums up a class. The roster are all references that should have handed in, nil
// where nobody has said.
func (m *Marker) Report(all []HandIn, log Log, roster []string) *Report {
	a := m.assignment
	r := &Report{
		Assignment: a.ID, Title: a.Title, Closes: a.Closes, Language: m.words.Language, Note: m.words.say("not-final"),
		NotHandedIn: []string{}, States: map[State]int{}, Attempts: []int{}, Rules: []RuleCount{}, Measures: []MeasureCount{},
		WrongChords: []WrongChord{}, TeachAgain: []Lesson{}, Alike: m.Alike(all), HandIns: a.Outcomes(all, log),
	}
	attempts := map[string]int{}
	sum := newSums(m.asked)
	for i := range all {
		o := &r.HandIns[i]
		attempts[o.Reference]++
		if !o.Counts {
			continue
		}
		r.States[o.State]++
		sum.add(&all[i], o)
	}
	r.HandedIn = len(attempts)
	for _, n := range attempts {
		for len(r.Attempts) < n {
			r.Attempts = append(r.Attempts, 0)
		}
		r.Attempts[n-1]++
	}
	for _, reference := range a.withoutGroups(roster) {
		if attempts[reference] == 0 {
			r.NotHandedIn = append(r.NotHandedIn, reference)
		}
	}
	r.Marks = marksOf(r.HandIns)
	r.Rules = sum.rulesBy(m.words)
	r.Measures = slices.AppendSeq(r.Measures, maps.Values(sum.measures))
	slices.SortFunc(r.Measures, func(a, b MeasureCount) int { return a.MeasureIndex - b.MeasureIndex })
	r.WrongChords = slices.AppendSeq(r.WrongChords, maps.Values(sum.chords))
	slices.SortFunc(r.WrongChords, func(a, b WrongChord) int {
		return cmp.Or(len(b.Pupils)-len(a.Pupils), cmp.Compare(a.Measure+" "+a.Beat+a.Written, b.Measure+" "+b.Beat+b.Written))
	})
	r.WrongChords = r.WrongChords[:min(len(r.WrongChords), mostChords)]
	for i := range r.Rules {
		rule := partwriting.RuleID(r.Rules[i].Rule)
		if partwriting.RuleByID(rule) == nil || len(r.TeachAgain) == mostLessons || r.Rules[i].InModel == r.Rules[i].Findings {
			continue
		}
		r.TeachAgain = append(r.TeachAgain, Lesson{
			Rule: r.Rules[i].Rule, Name: r.Rules[i].Name, Sentence: m.words.Rules[rule].Definition, Why: m.words.Why(rule),
			Examples: append([]Example{}, sum.examples[r.Rules[i].Rule]...),
		})
	}
	return r
}

// withoutGroups puts the reference of a group in the place of its members.
func (a *Assignment) withoutGroups(roster []string) []string {
	group := map[string]string{}
	for name, members := range a.Groups {
		for _, member := range members {
			group[member] = name
		}
	}
	var out []string
	for _, reference := range roster {
		if g, ok := group[reference]; ok {
			reference = g
		}
		if !slices.Contains(out, reference) {
			out = append(out, reference)
		}
	}
	return out
}

// marksOf sums up the marks of the attempts that count.
func marksOf(all []Outcome) Marks {
	var marks []Points
	var m Marks
	for i := range all {
		o := &all[i]
		m.Available = max(m.Available, o.Available)
		if o.Counts && o.Mark != nil {
			marks = append(marks, *o.Mark)
		}
	}
	if m.Count = len(marks); m.Count == 0 {
		return m
	}
	slices.Sort(marks)
	m.Least, m.Most = marks[0], marks[len(marks)-1]
	total := Points(0)
	for _, p := range marks {
		total += p
		tenth := 9
		if m.Available > 0 {
			tenth = min(9, int(10*p/m.Available))
		}
		m.Tenths[tenth]++
	}
	const half = 2 // points count halves
	m.Mean = float64(total) / half / float64(len(marks))
	m.Median = float64(marks[(len(marks)-1)/2]+marks[len(marks)/2]) / (2 * half)
	return m
}

// sums are counts on their way.
type sums struct {
	asked    map[string]bool
	rules    map[string]*RuleCount
	measures map[int]MeasureCount
	chords   map[string]WrongChord
	examples map[string][]Example
}

func newSums(asked map[string]bool) *sums {
	return &sums{asked, map[string]*RuleCount{}, map[int]MeasureCount{}, map[string]WrongChord{}, map[string][]Example{}}
}

func (s *sums) add(h *HandIn, o *Outcome) {
	marking := cmp.Or(h.First, h.Marking)
	if marking.Report == nil || !marking.State.isAnswer() {
		return
	}
	for i := range marking.Report.Findings {
		f := &marking.Report.Findings[i]
		if !counts(f) || o.LetStand[KeyOf(f)] == Accept {
			continue
		}
		s.count(f.Rule, f.Measure, f.MeasureIndex, h.Reference)
		if s.asked[KeyOf(f)] {
			s.rules[f.Rule].InModel++
			continue // no example of what to do otherwise
		}
		if kept := s.examples[f.Rule]; len(kept) < mostExamples {
			e, ok := exampleOf(marking.Report, f)
			same := func(k Example) bool { return k.Measure == e.Measure && k.Message == e.Message }
			if ok && !slices.ContainsFunc(kept, same) {
				s.examples[f.Rule] = append(kept, e)
			}
		}
	}
	for i := range marking.Unmet {
		u := &marking.Unmet[i]
		if u.Measure == "" {
			s.count(demandRule+u.Kind, "", -1, h.Reference)
			continue
		}
		s.count(demandRule+u.Kind, u.Measure, u.MeasureIndex, h.Reference)
		key := fmt.Sprint(u.Measure, " ", u.Beat, " ", u.Wanted, " ", u.Written)
		c := s.chords[key]
		c.Measure, c.Beat, c.Wanted, c.Written = u.Measure, u.Beat, u.Wanted, u.Written
		c.Pupils = once(c.Pupils, h.Reference)
		s.chords[key] = c
	}
}

func (s *sums) count(rule, measure string, index int, reference string) {
	r := s.rules[rule]
	if r == nil {
		r = &RuleCount{Rule: rule}
		s.rules[rule] = r
	}
	r.Findings++
	r.Pupils = once(r.Pupils, reference)
	if index < 0 {
		return
	}
	m := s.measures[index]
	m.Measure, m.MeasureIndex = measure, index
	m.Findings++
	m.Pupils = once(m.Pupils, reference)
	s.measures[index] = m
}

func once(list []string, reference string) []string {
	if slices.Contains(list, reference) {
		return list
	}
	return append(list, reference)
}

// rulesBy lists the rules, those first that most pupils have broken.
func (s *sums) rulesBy(w *words) []RuleCount {
	out := []RuleCount{}
	for _, r := range s.rules {
		if r.Name = w.RuleName(partwriting.RuleID(r.Rule)); r.Name == "" {
			r.Name = w.say(r.Rule)
		}
		out = append(out, *r)
	}
	slices.SortFunc(out, func(a, b RuleCount) int {
		return cmp.Or(len(b.Pupils)-len(a.Pupils), b.Findings-a.Findings, cmp.Compare(a.Rule, b.Rule))
	})
	return out
}

// exampleOf cuts what sounds at the notes of a finding out of a hand-in: two chords at
// most, all voices.
func exampleOf(r *report.Report, f *report.Finding) (Example, bool) {
	e := Example{Measure: f.Measure, Message: f.Message, Signature: r.Score.Signature}
	var onsets []string
	for i := range f.Notes {
		if at := f.Notes[i].Onset; !slices.Contains(onsets, at) {
			onsets = append(onsets, at)
		}
	}
	onsets = onsets[max(0, len(onsets)-2):]
	for _, at := range onsets {
		chord := Chord{Faulty: []int{}}
		for v := range r.VoiceNotes {
			pitch := pitchAt(&r.VoiceNotes[v], at)
			if pitch == "" {
				continue
			}
			if slices.ContainsFunc(f.Notes, func(n report.Note) bool {
				return n.Voice == r.VoiceNotes[v].Voice && n.Pitch == pitch
			}) {
				chord.Faulty = append(chord.Faulty, len(chord.Pitches))
			}
			chord.Pitches = append(chord.Pitches, pitch)
		}
		if len(chord.Pitches) == 0 {
			return e, false
		}
		e.Chords = append(e.Chords, chord)
	}
	return e, len(e.Chords) > 0
}

// Anonymous hides the references: hand-ins are numbered in an order that does not follow
// them, the same at every call.
func (r *Report) Anonymous() {
	order := map[string]string{}
	for i := range r.HandIns {
		reference := r.HandIns[i].Reference
		sum := sha256.Sum256([]byte(r.Assignment + "\x00" + reference))
		order[reference] = hex.EncodeToString(sum[:])
	}
	references := slices.SortedFunc(maps.Keys(order), func(a, b string) int { return cmp.Compare(order[a], order[b]) })
	number := map[string]string{}
	for i, reference := range references {
		number[reference] = fmt.Sprint(i + 1)
	}
	rename := func(list []string) {
		for i := range list {
			list[i] = number[list[i]]
		}
	}
	for i := range r.HandIns {
		r.HandIns[i].Reference = number[r.HandIns[i].Reference]
		for j := range r.HandIns[i].Added {
			r.HandIns[i].Added[j].Reference = ""
		}
	}
	slices.SortStableFunc(r.HandIns, func(a, b Outcome) int {
		return cmp.Or(len(a.Reference)-len(b.Reference), cmp.Compare(a.Reference, b.Reference), a.Attempt-b.Attempt)
	})
	for i := range r.Rules {
		rename(r.Rules[i].Pupils)
	}
	for i := range r.Measures {
		rename(r.Measures[i].Pupils)
	}
	for i := range r.WrongChords {
		rename(r.WrongChords[i].Pupils)
	}
	for i := range r.Alike {
		rename(r.Alike[i].References[:])
	}
	r.NotHandedIn = []string{}
}

// pitchAt is what a voice sounds at an onset, "" for nothing.
func pitchAt(v *report.VoiceNotes, at string) string {
	when, err := theory.ParseFraction(at)
	if err != nil {
		return ""
	}
	for i := range v.Notes {
		onset, end, ok := span(&v.Notes[i])
		if ok && !when.Less(onset) && when.Less(end) {
			return v.Notes[i].Pitch
		}
	}
	return ""
}
