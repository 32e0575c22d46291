package classroom

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/worker/report"
)

// Unmet is one demand that is not met.
type Unmet struct {
	// Kind is chords, inversions, labels, cadence, key, metre or length.
	Kind string `json:"kind"`
	// Measure is the printed label, MeasureIndex counts from 0, Beat from 1; they are
	// empty where it is about the whole.
	Measure      string `json:"measure,omitempty"`
	MeasureIndex int    `json:"measure_index"`
	Beat         string `json:"beat,omitempty"`
	// Wanted is what was demanded, Written what is there instead.
	Wanted  string `json:"wanted"`
	Written string `json:"written"`
	Message string `json:"message"`
}

// wanted is a chord that is demanded.
type wanted struct {
	report.Place
	onset, end theory.Fraction
	reading    harmony.Reading
}

// wantedIn are the chords of a model answer: those that its labels name, else those that
// sound.
func wantedIn(model *report.Report) ([]wanted, error) {
	if model.Analysis == nil {
		return nil, fmt.Errorf("the model answer has no harmony")
	}
	var out []wanted
	for i := range model.Analysis.Harmonies {
		h := &model.Analysis.Harmonies[i]
		key, err := theory.ParseKey(h.Key)
		if err != nil {
			return nil, err
		}
		numeral, err := harmony.ParseNumeral(h.Numeral, key.Mode)
		if err != nil {
			return nil, err
		}
		w := wanted{Place: h.Place, reading: harmony.Reading{Key: key, Numeral: numeral}}
		if w.onset, err = theory.ParseFraction(h.Onset); err != nil {
			return nil, err
		}
		if w.end, err = theory.ParseFraction(h.End); err != nil {
			return nil, err
		}
		out = append(out, w)
	}
	return out, nil
}

// lastCadence is the kind of the last cadence, "" for none.
func lastCadence(r *report.Report) string {
	if r.Analysis == nil || len(r.Analysis.Cadences) == 0 {
		return ""
	}
	return r.Analysis.Cadences[len(r.Analysis.Cadences)-1].Kind
}

// unmet lists what is not as the assignment demands it.
func (m *Marker) unmet(r *report.Report) []Unmet {
	out := m.frame(r)
	a := m.assignment
	if a.demands(Chords) || a.demands(Inversions) {
		out = append(out, m.otherChords(r)...)
	}
	if a.demands(Labels) {
		out = append(out, m.unlabeled(r)...)
	}
	if a.demands(Cadence) && m.cadence != "" {
		if got := lastCadence(r); got != m.cadence {
			u := Unmet{Kind: string(Cadence), Wanted: m.cadence, Written: got}
			u.Message = m.words.say("cadence", "wanted", m.cadence, "written", orNothing(m.words, got))
			out = append(out, u)
		}
	}
	return out
}

// frame compares key signature, metre and length with the exercise.
func (m *Marker) frame(r *report.Report) []Unmet {
	out := []Unmet{}
	if m.sheet == nil {
		return out
	}
	want, got := &m.sheet.Score, &r.Score
	add := func(kind, wanted, written string) {
		out = append(out, Unmet{Kind: kind, Wanted: wanted, Written: written, Message: m.words.say(kind, "wanted", wanted, "written", written)})
	}
	if want.Signature != got.Signature {
		add("key", signature(want.Signature), signature(got.Signature))
	}
	if want.Time != got.Time {
		add("metre", want.Time, orNothing(m.words, got.Time))
	}
	if want.Measures != got.Measures {
		add("length", fmt.Sprint(want.Measures), fmt.Sprint(got.Measures))
	}
	return out
}

// signature writes a key signature as its signs, "2♯", "3♭" or "0".
func signature(fifths int) string {
	switch {
	case fifths > 0:
		return fmt.Sprintf("%d♯", fifths)
	case fifths < 0:
		return fmt.Sprintf("%d♭", -fifths)
	}
	return "0"
}

func orNothing(w *words, text string) string {
	if text == "" {
		return w.say("nothing")
	}
	return text
}

// mostForeign is the share of what sounds, in voices times duration, that may be foreign
// to a demanded chord: nonchord tones. One part in three is our own measure; a suspension
// in one of four voices for half of a chord is an eighth. A note that lasts as long as the
// chord is none.
const mostForeign = 1.0 / 3

// heard is how long pitch classes sound while a chord is demanded, in quarter notes.
type heard struct {
	total, inBass float64
	all, bass     map[theory.PitchClass]float64
	// lasts are those that one voice sounds for as long as the chord is demanded.
	lasts map[theory.PitchClass]bool
}

func listen(r *report.Report, from, to theory.Fraction) heard {
	h := heard{all: map[theory.PitchClass]float64{}, bass: map[theory.PitchClass]float64{}, lasts: map[theory.PitchClass]bool{}}
	for v := range r.VoiceNotes {
		lowest := v == len(r.VoiceNotes)-1
		for i := range r.VoiceNotes[v].Notes {
			n := &r.VoiceNotes[v].Notes[i]
			onset, end, ok := span(n)
			pitch, err := theory.ParsePitch(n.Pitch)
			if !ok || err != nil {
				continue
			}
			if onset.Less(from) {
				onset = from
			}
			if to.Less(end) {
				end = to
			}
			if !onset.Less(end) {
				continue
			}
			long := end.Sub(onset).Float()
			h.all[pitch.Class()] += long
			h.total += long
			h.lasts[pitch.Class()] = h.lasts[pitch.Class()] || onset == from && end == to
			if lowest {
				h.bass[pitch.Class()] += long
				h.inBass += long
			}
		}
	}
	return h
}

// names are the notes that sound, in the order of fifths.
func (h *heard) names() string {
	classes := slices.SortedFunc(maps.Keys(h.all), func(a, b theory.PitchClass) int { return a.Fifths() - b.Fifths() })
	var names []string
	for _, c := range classes {
		names = append(names, c.String())
	}
	return strings.Join(names, " ")
}

// otherChords finds the demanded chords in whose place something else stands.
func (m *Marker) otherChords(r *report.Report) []Unmet {
	var out []Unmet
	for i := range m.wanted {
		w := &m.wanted[i]
		h := listen(r, w.onset, w.end)
		written := writtenAt(r, w.onset)
		if written == w.reading.Numeral.Text(w.reading.Key.Mode) {
			written = h.names() // the reading makes a guess that the notes do not bear out
		}
		switch {
		case h.total == 0:
			out = append(out, m.at(w, Chords, m.words.say("nothing")))
		case m.assignment.demands(Chords) && !w.sounds(&h):
			out = append(out, m.at(w, Chords, written))
		case m.assignment.demands(Inversions) && h.inBass > 0 && h.bass[w.reading.Bass()]*2 < h.inBass:
			out = append(out, m.at(w, Inversions, written))
		}
	}
	return out
}

// sounds reports whether a chord is what is heard: its root, its third and its seventh are
// there, and little else but its notes. The fifth may be left out.
func (w *wanted) sounds(h *heard) bool {
	own := 0.0
	for c := range h.lasts {
		if h.lasts[c] && w.reading.MemberOf(c) < 0 {
			return false
		}
	}
	for i := range w.reading.Size() {
		length := h.all[w.reading.Member(i)]
		own += length
		if i != 2 && length == 0 && !w.reading.Numeral.Lacks(i) {
			return false
		}
	}
	return h.total-own <= mostForeign*h.total
}

func (m *Marker) at(w *wanted, d Demand, written string) Unmet {
	name := w.reading.Numeral.Text(w.reading.Key.Mode)
	u := Unmet{Kind: string(d), Measure: w.Measure, MeasureIndex: w.MeasureIndex, Beat: w.BeatExact, Wanted: name, Written: written}
	u.Message = m.words.say("not-"+string(d), "measure", w.Measure, "beat", w.BeatExact, "wanted", name, "written", written)
	return u
}

// writtenAt names the harmony that sounds at an onset: the last one that has begun by
// then.
func writtenAt(r *report.Report, onset theory.Fraction) string {
	if r.Analysis == nil {
		return ""
	}
	name := ""
	for i := range r.Analysis.Harmonies {
		h := &r.Analysis.Harmonies[i]
		if at, err := theory.ParseFraction(h.Onset); err != nil || onset.Less(at) {
			break
		}
		name = h.Numeral
	}
	return name
}

// unlabeled finds demanded chords that are not named, or named otherwise.
func (m *Marker) unlabeled(r *report.Report) []Unmet {
	named := map[string]*report.Label{}
	if r.Analysis != nil {
		for i := range r.Analysis.Labels {
			named[r.Analysis.Labels[i].Onset] = &r.Analysis.Labels[i]
		}
	}
	var out []Unmet
	for i := range m.wanted {
		w := &m.wanted[i]
		label := named[w.Onset]
		switch {
		case label == nil:
			out = append(out, m.at(w, Labels, m.words.say("nothing")))
		case !sameChord(label.Symbol, w.reading.Symbol()):
			out = append(out, m.at(w, Labels, label.Text))
		}
	}
	return out
}

// sameChord compares chord symbols; figures and numerals are compared as the chords that
// they name. A symbol says the bass behind a stroke, which labels may leave open.
func sameChord(a, b string) bool {
	a, _, slashA := strings.Cut(a, "/")
	b, _, slashB := strings.Cut(b, "/")
	return a == b && (slashA == slashB || !slashA)
}

// sound is one pitch at its onset.
type sound struct {
	onset theory.Fraction
	midi  int
}

// sounds are all notes of a report, by onset and from the lowest up.
func sounds(r *report.Report) []sound {
	var out []sound
	for v := range r.VoiceNotes {
		for i := range r.VoiceNotes[v].Notes {
			n := &r.VoiceNotes[v].Notes[i]
			if onset, _, ok := span(n); ok {
				out = append(out, sound{onset, n.MIDI})
			}
		}
	}
	slices.SortFunc(out, compareSounds)
	return out
}

func compareSounds(a, b sound) int {
	if c := a.onset.Cmp(b.onset); c != 0 {
		return c
	}
	return a.midi - b.midi
}

// span is when a note sounds.
func span(n *report.VoiceNote) (onset, end theory.Fraction, ok bool) {
	onset, err := theory.ParseFraction(n.Onset)
	if err != nil {
		return onset, end, false
	}
	duration, err := theory.ParseFraction(n.Duration)
	return onset, onset.Add(duration), err == nil
}

// free are the notes that the exercise does not give.
func (m *Marker) free(r *report.Report) []sound {
	return slices.DeleteFunc(sounds(r), func(s sound) bool { return m.given[s] })
}
