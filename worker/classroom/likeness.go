package classroom

import (
	"cmp"
	"slices"
)

// Likeness is how alike the work of two references is: a remark to the teacher alone, and
// no proof of anything. Exercises with few solutions are solved alike.
type Likeness struct {
	References [2]string `json:"references"`
	Attempts   [2]int    `json:"attempts"`
	// Alike is the share of the notes that both wrote, of what the exercise does not
	// give; 1 is all.
	Alike float64 `json:"alike"`
	// Transposed is by how many semitones the second stands above the first.
	Transposed int `json:"transposed,omitempty"`
	// Explained is the share of what is alike that stands in a model answer as well, and
	// is no wonder; of several models, the one that explains most.
	Explained float64 `json:"explained"`
	// Faults are the findings that both have at the same place: what is wrong alike says
	// more than what is right alike.
	Faults int `json:"faults"`
}

// leastAlike is from where on likeness is reported: nine notes in ten, our own measure.
// mostExplained is how much of it a model answer may explain: where it explains all,
// both have simply found the answer.
const (
	leastAlike    = 0.9
	mostExplained = 0.95
)

// work is what is compared of a hand-in: its notes that the exercise does not give, the
// first of them from the lowest, and where its faults are.
type work struct {
	*HandIn
	free   map[sound]bool
	low    int
	faults map[string]bool
}

// Alike compares all hand-ins of different references, the most alike first.
func (m *Marker) Alike(all []HandIn) []Likeness {
	var works []work
	for i := range all {
		if w, ok := m.work(&all[i]); ok {
			works = append(works, w)
		}
	}
	out := []Likeness{}
	for i := range works {
		for j := i + 1; j < len(works); j++ {
			if l, ok := m.likeness(&works[i], &works[j]); ok {
				out = append(out, l)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Likeness) int {
		return cmp.Or(cmp.Compare(b.Alike, a.Alike), cmp.Compare(a.Explained, b.Explained))
	})
	return out
}

// work is what is compared of a hand-in; false where there is nothing.
func (m *Marker) work(h *HandIn) (work, bool) {
	w := work{HandIn: h, free: map[sound]bool{}, faults: map[string]bool{}}
	if h.Marking.Report == nil {
		return w, false
	}
	var notes []sound
	if h.Marking.State.isAnswer() {
		notes = m.free(h.Marking.Report)
	} else {
		notes = m.freeTransposed(sounds(h.Marking.Report))
	}
	for _, s := range notes {
		w.free[s] = true
	}
	for _, p := range gravest(h.Marking) {
		w.faults[p.Rule+"@"+p.Beat+" in "+p.Measure] = true
	}
	if len(notes) == 0 {
		return w, false
	}
	w.low = notes[0].midi
	return w, true
}

// likeness compares two hand-ins; false where they are not alike, or a model answer
// explains that they are.
func (m *Marker) likeness(a, b *work) (Likeness, bool) {
	l := Likeness{References: [2]string{a.Reference, b.Reference}, Attempts: [2]int{a.Attempt, b.Attempt}}
	if a.Reference == b.Reference {
		return l, false
	}
	both := common(a.free, b.free, 0)
	if by := b.low - a.low; by != 0 {
		if moved := common(a.free, b.free, by); len(moved) > len(both) {
			both, l.Transposed = moved, by
		}
	}
	l.Alike = float64(len(both)) / float64(max(len(a.free), len(b.free)))
	for _, model := range m.models {
		l.Explained = max(l.Explained, m.explained(both, model))
	}
	for fault := range a.faults {
		if b.faults[fault] {
			l.Faults++
		}
	}
	return l, l.Alike >= leastAlike && l.Explained <= mostExplained
}

// freeTransposed leaves out the given lines of a score that is transposed as a whole.
func (m *Marker) freeTransposed(all []sound) []sound {
	most, by := 0, 0
	for semitones := -12; semitones <= 12; semitones++ {
		if n := m.kept(all, semitones); n > most {
			most, by = n, semitones
		}
	}
	return slices.DeleteFunc(slices.Clone(all), func(s sound) bool {
		s.midi += by
		return m.given[s]
	})
}

// common are the notes of a that b has as well, where b stands so many semitones higher.
func common(a, b map[sound]bool, higher int) []sound {
	var both []sound
	for s := range a {
		if b[sound{s.onset, s.midi + higher}] {
			both = append(both, s)
		}
	}
	return both
}

// explained is the share of notes that a model answer has as well.
func (m *Marker) explained(both []sound, model map[sound]bool) float64 {
	if len(both) == 0 {
		return 0
	}
	n := 0
	for _, s := range both {
		if model[s] {
			n++
		}
	}
	return float64(n) / float64(len(both))
}
