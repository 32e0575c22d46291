package worker

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker/report"
	"partwright/worker/request"
)

// TestMendingIsSmall compares the notes that mending changes with the fewest that would
// do. Where it changes two or more, every change of one note is tried, where it changes
// three or more every change of two: to members of the chords they stand in, within an
// octave, near every fault. A change does where the score it makes, read and checked from scratch,
// has no fault and no consecutives that were not there. Notes that were made wrong are
// never fewer than the fewest: to put them back would do.
func TestMendingIsSmall(t *testing.T) {
	random := rand.New(rand.NewPCG(401, 409))
	for _, style := range []string{"chorale", "keyboard", "three-voices"} {
		set := partwriting.RuleSetByName(map[string]string{"keyboard": "keyboard"}[style])
		scores, changed, fewest, more, unknown := 0, 0, 0, 0, 0
		for i := range *mendedExercises {
			name := fmt.Sprintf("%s-%d.musicxml", style, i)
			data, wrong := spoiledBy(t, random, style)
			pairs := []string{"all", "true"}
			if set != nil {
				pairs = append(pairs, "rule_set", set.Name)
			}
			_, said := done[*report.Mending](t, Input{Name: name, Data: data}, &request.Mend{}, pairs...)
			if said.After > 0 || len(said.Edits) == 0 {
				continue
			}
			s := newSmallest(t, name, data, set)
			least, found := s.search(len(said.Edits) - 1)
			switch {
			case found != nil:
			case len(said.Edits) > 3:
				unknown++ // three may do
				least = min(wrong, len(said.Edits))
			default:
				least = len(said.Edits)
			}
			scores, changed, fewest = scores+1, changed+len(said.Edits), fewest+least
			if least < len(said.Edits) {
				more++
				t.Logf("%s: %d notes changed where %d do (%d were made wrong): %v instead of %v for %v", name, len(said.Edits), least, wrong, found, s.said(said), s.faults)
			}
		}
		t.Logf("%s: %d scores mended by %d notes where %d would do (%.2f), in %d scores more than needed; not searched through: %d", style, scores, changed, fewest, float64(changed)/float64(max(fewest, 1)), more, unknown)
		if changed*10 > fewest*12 {
			t.Errorf("%s: mending changes %d notes where %d would do", style, changed, fewest)
		}
	}
}

// smallest searches for the fewest notes that mend a score.
type smallest struct {
	t      *testing.T
	name   string
	r      *Reading
	set    *partwriting.RuleSet
	before afresh
	faults []string
	// near are for each fault the notes that sound from the moment before it to the one after.
	near []map[partwriting.NoteRef]bool
	// ways are what each note could become.
	notes []partwriting.NoteRef
	ways  map[partwriting.NoteRef][]theory.Pitch
}

func newSmallest(t *testing.T, name string, data []byte, set *partwriting.RuleSet) *smallest {
	t.Helper()
	r, err := (&Engine{}).read(t.Context(), &Input{Name: name, Data: data}, harmonyWish{})
	if err != nil {
		t.Fatal(err)
	}
	s := &smallest{t: t, name: name, r: r, set: set, before: checkAfresh(t, name, data, set), ways: map[partwriting.NoteRef][]theory.Pitch{}}
	s.faults = slices.Sorted(maps.Keys(s.before.faults))
	for _, f := range partwriting.Check(r.texture, r.harmony, set) {
		if f.Severity == partwriting.Fault {
			s.near = append(s.near, s.around(&f))
		}
	}
	for v := range r.texture.Voices {
		for n := range r.texture.Voices[v].Notes {
			ref := partwriting.NoteRef{Voice: v, Note: n}
			if slices.ContainsFunc(s.near, func(near map[partwriting.NoteRef]bool) bool { return near[ref] }) {
				s.notes = append(s.notes, ref)
				s.ways[ref] = s.members(ref)
			}
		}
	}
	return s
}

// around are the notes beside a fault.
func (s *smallest) around(f *partwriting.Finding) map[partwriting.NoteRef]bool {
	t, out := s.r.texture, map[partwriting.NoteRef]bool{}
	first, last := f.Onset, f.Onset
	for _, n := range f.Notes {
		note := &t.Voices[n.Voice].Notes[n.Note]
		if note.Onset.Less(first) {
			first = note.Onset
		}
		if last.Less(note.Onset) {
			last = note.Onset
		}
	}
	for m := range t.Moments {
		after := m > 0 && !t.Moments[m-1].Onset.Less(first) && !last.Less(t.Moments[m-1].Onset)
		before := m+1 < len(t.Moments) && !t.Moments[m+1].Onset.Less(first) && !last.Less(t.Moments[m+1].Onset)
		if on := t.Moments[m].Onset; !before && !after && (on.Less(first) || last.Less(on)) {
			continue
		}
		for v := range t.Voices {
			if n := t.At(m, v); n >= 0 {
				out[partwriting.NoteRef{Voice: v, Note: n}] = true
			}
		}
	}
	return out
}

// members are the notes of the chord that a note stands in, within an octave.
func (s *smallest) members(ref partwriting.NoteRef) []theory.Pitch {
	note := &s.r.texture.Voices[ref.Voice].Notes[ref.Note]
	classes := []theory.PitchClass{note.Pitch.Class()}
	for i := range s.r.harmony.Harmonies {
		h := &s.r.harmony.Harmonies[i]
		if note.Onset.Less(h.Onset) || !note.Onset.Less(h.End) {
			continue
		}
		for m := range h.Size() {
			classes = append(classes, h.Member(m))
		}
	}
	var out []theory.Pitch
	for _, c := range classes {
		for octave := note.Pitch.Octave - 1; octave <= note.Pitch.Octave+1; octave++ {
			p := theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: octave}
			if d := p.Semitones() - note.Pitch.Semitones(); p != note.Pitch && -12 <= d && d <= 12 && !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// search returns the smallest number of notes up to most, and up to two, that mend the score, and
// one way to do it, nil where none does.
func (s *smallest) search(most int) (int, []string) {
	for size := 1; size <= min(most, 2); size++ {
		if found := s.of(size, 0, nil); found != nil {
			return size, found
		}
	}
	return 0, nil
}

// of tries all ways to change so many notes more, from one note on.
func (s *smallest) of(size, from int, edits []partwriting.Edit) []string {
	if size == 0 {
		return s.does(edits)
	}
	for i := from; i < len(s.notes); i++ {
		if size == 1 && !s.reaches(edits, s.notes[i]) {
			continue
		}
		for _, to := range s.ways[s.notes[i]] {
			if found := s.of(size-1, i+1, append(edits, partwriting.Edit{Note: s.notes[i], To: to})); found != nil {
				return found
			}
		}
	}
	return nil
}

// reaches reports whether every fault has one of the notes near it.
func (s *smallest) reaches(edits []partwriting.Edit, last partwriting.NoteRef) bool {
	for _, near := range s.near {
		if !near[last] && !slices.ContainsFunc(edits, func(e partwriting.Edit) bool { return near[e.Note] }) {
			return false
		}
	}
	return true
}

// does describes edits that mend the score, nil where they do not.
func (s *smallest) does(edits []partwriting.Edit) []string {
	changed := partwriting.Apply(s.r.texture, partwriting.Fix{Edits: edits})
	isFault := func(f partwriting.Finding) bool { return f.Severity == partwriting.Fault }
	if slices.ContainsFunc(partwriting.Check(changed, s.again(changed), s.set), isFault) {
		return nil
	}
	pitches := map[theory.NoteID]theory.Pitch{}
	var out []string
	for _, e := range edits {
		note := &s.r.texture.Voices[e.Note.Voice].Notes[e.Note.Note]
		for _, id := range note.IDs {
			pitches[id] = e.To
		}
		out = append(out, fmt.Sprint(s.r.texture.Voices[e.Note.Voice].Name, " ", note.Pitch, " to ", e.To, " at ", note.Onset))
	}
	data, err := s.r.document.Repitch(pitches)
	if err != nil {
		s.t.Fatal(err)
	}
	after := checkAfresh(s.t, s.name, data, s.set)
	for c := range after.consecutives {
		if !s.before.consecutives[c] {
			return nil
		}
	}
	if len(after.faults) > 0 {
		return nil
	}
	return out
}

func (s *smallest) again(t *theory.Texture) *harmony.Analysis { return s.r.harmony.Again(t) }

// said describes what mending has changed.
func (s *smallest) said(m *report.Mending) []string {
	var out []string
	for i := range m.Edits {
		e := &m.Edits[i]
		out = append(out, fmt.Sprint(e.Note.Voice, " ", e.Note.Pitch, " to ", e.To, " at ", e.Note.Onset))
	}
	return out
}
