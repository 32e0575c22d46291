package partwriting

import "partwright/theory"

// givenChanged compares the hand-in with the task: every line that the task gives has
// to be there, note for note.
func (p *Passage) givenChanged() []Finding {
	if p.Set == nil || p.Set.Task == nil {
		return nil
	}
	task := p.Set.Task.WithoutExtra()
	var found []Finding
	taken := map[int]bool{}
	for g := range task.Voices {
		given := &task.Voices[g]
		if len(given.Notes) == 0 {
			continue
		}
		v, same := p.nearest(given, taken)
		if v < 0 || 2*same < len(given.Notes) {
			found = append(found, p.problem(GivenMissing, 0, nil, nil, "voice", VoiceName(given.Name)))
			continue
		}
		taken[v] = true
		found = append(found, p.changed(given, v)...)
	}
	return append(found, p.missingMeasures(task)...)
}

// nearest is the voice that has most of the notes of a given line.
func (p *Passage) nearest(given *theory.Voice, taken map[int]bool) (voice, same int) {
	voice = -1
	for v := range p.Voices {
		if taken[v] {
			continue
		}
		n := 0
		for i := range given.Notes {
			if _, ok := p.noteAt(v, given.Notes[i].Onset, given.Notes[i].Pitch); ok {
				n++
			}
		}
		if n > same {
			voice, same = v, n
		}
	}
	return voice, same
}

func (p *Passage) noteAt(v int, onset theory.Fraction, pitch theory.Pitch) (int, bool) {
	notes := p.Voices[v].Notes
	for i := range notes {
		if notes[i].Onset == onset {
			return i, notes[i].Pitch == pitch
		}
	}
	return -1, false
}

// changed lists the first place at which a line is no longer as it was given, with
// how many notes are.
func (p *Passage) changed(given *theory.Voice, v int) []Finding {
	first, count := -1, 0
	for i := range given.Notes {
		if _, ok := p.noteAt(v, given.Notes[i].Onset, given.Notes[i].Pitch); !ok {
			if count++; first < 0 {
				first = i
			}
		}
	}
	if first < 0 {
		return nil
	}
	want := &given.Notes[first]
	measure := min(int(want.Measure), len(p.Score.Measures)-1)
	var notes []NoteRef
	if i, _ := p.noteAt(v, want.Onset, want.Pitch); i >= 0 {
		notes = []NoteRef{{v, i}}
	}
	f := p.problem(GivenChanged, measure, []int{v}, notes, "voice", VoiceName(p.Voices[v].Name), "pitch", want.Pitch, "count", count)
	f.Onset = theory.Fraction{}
	if len(notes) > 0 {
		f.Onset = want.Onset
	} else {
		f.Onset = p.Score.Measures[measure].Onset
	}
	return []Finding{f}
}

// missingMeasures: the task is longer than the hand-in.
func (p *Passage) missingMeasures(task *theory.Texture) []Finding {
	have, want := len(p.Score.Measures), len(task.Score.Measures)
	if have >= want || have == 0 {
		return nil
	}
	return []Finding{p.problem(MeasuresEmpty, have-1, nil, nil, "from", task.Score.Measures[have].Label, "to", task.Score.Measures[want-1].Label)}
}
