package voicing

import (
	"fmt"
	"slices"

	"partwright/theory"
)

// Layout says how a solution is written down.
type Layout struct {
	// Durations are those of the chords, in quarter notes; missing ones are a
	// quarter.
	Durations []theory.Fraction
	// Time is the metre; the zero value is 4/4.
	Time theory.TimeSignature
	// Pickup is how much of the first measure lies before the first bar line; 0
	// for none.
	Pickup theory.Fraction
	// Frame are the measures of a score that the chords are made for, in place of
	// measures made from Time and Pickup; Start is the onset of the first chord.
	Frame []theory.Measure
	Start theory.Fraction
	// Tempos are the tempo marks of that score.
	Tempos []theory.Tempo
	// Late are the members of each chord that come late; Rests are where no voice that the
	// chords lead sounds; Under are notes of the lowest voice in place of its chords'.
	Late  [][]Late
	Rests []Span
	Under []theory.VoiceNote
	// Top and Bass are outer lines that are given note for note, passing notes,
	// ties and rests as they are; nil where the chords make the line.
	Top, Bass []theory.VoiceNote
}

// Span is a stretch of time.
type Span struct{ From, To theory.Fraction }

// lineNote is one note of a line that is being written.
type lineNote struct {
	pitch    theory.Pitch
	from, to theory.Fraction
	// sign is the fermata that a given note has.
	sign theory.NoteFlags
}

// Texture writes a solution as a score with a part for each voice of the style
// and returns it as voices. A chord that reaches over a bar line is written as
// tied notes.
func (s *Solution) Texture(style *Style, l Layout) *theory.Texture {
	return compose(style, s.lines(style, &l), s.Chords, l)
}

// lines are the notes of each voice, given lines as they are.
func (s *Solution) lines(style *Style, l *Layout) [][]lineNote {
	onsets := l.onsets(len(s.Chords))
	lines := make([][]lineNote, len(style.Voices))
	for v := range lines {
		given := l.given(v, len(lines))
		for i := range given {
			lines[v] = append(lines[v], lineNote{given[i].Pitch, given[i].Onset, given[i].End(), given[i].Flags & theory.Fermata})
		}
		for k := range s.Chords {
			if given == nil {
				lines[v] = append(lines[v], lineNote{pitch: s.Chords[k].Pitches[v], from: onsets[k], to: onsets[k+1]})
				if v < len(lines)-1 {
					lines[v] = l.delay(lines[v], k)
				}
			}
		}
		if given != nil {
			continue
		}
		if v == len(lines)-1 {
			lines[v] = l.under(lines[v])
		}
		lines[v] = l.hush(lines[v])
	}
	return lines
}

// given is the line of a voice that is not led, nil for one that is.
func (l *Layout) given(voice, voices int) []theory.VoiceNote {
	switch voice {
	case 0:
		return l.Top
	case voices - 1:
		return l.Bass
	}
	return nil
}

// compose writes lines as a score and a texture.
func compose(style *Style, lines [][]lineNote, chords []Chord, l Layout) *theory.Texture {
	onsets := l.onsets(len(chords))
	var points []theory.Fraction
	for _, line := range lines {
		for _, n := range line {
			points = append(points, n.from, n.to)
		}
	}
	score := &theory.Score{Resolution: resolution(points), Tempos: l.Tempos}
	score.Measures = l.measures(onsets[len(chords)])
	voices := make([]theory.Voice, len(lines))
	for v := range voices {
		name := style.Voices[v].Name
		score.Parts = append(score.Parts, theory.Part{ID: fmt.Sprintf("P%d", v+1), Name: name, Staves: 1, Layers: []string{"1"}})
		voices[v] = theory.Voice{Name: name, Part: v, Staff: 1, Found: "a part of its own"}
		for _, n := range lines[v] {
			voices[v].Notes = append(voices[v].Notes, write(score, v, n))
		}
	}
	score.Chords = noChords(score, voices, l.Rests)
	for k := range chords {
		if chords[k].PhraseEnd {
			endPhrase(score, voices, onsets[k], onsets[k+1], len(l.Frame) == 0)
		}
	}
	switch {
	case len(l.Frame) > 0:
		signFrame(score)
	case len(chords) > 0:
		sign(score, chords[0].Reading.Key, l.time())
	}
	return theory.NewTexture(score, theory.OpenScore, "written by the voicing", voices)
}

// noChords say that none sounds where the rests leave whole measures empty, once for each run
// of them: such a measure is meant so.
func noChords(score *theory.Score, voices []theory.Voice, rests []Span) []theory.GivenChord {
	var out []theory.GivenChord
	silent := false
	for i := range score.Measures {
		m := &score.Measures[i]
		end := m.Onset.Add(m.Length)
		sounds := slices.ContainsFunc(voices, func(v theory.Voice) bool {
			return slices.ContainsFunc(v.Notes, func(n theory.VoiceNote) bool { return n.Onset.Less(end) && m.Onset.Less(n.End()) })
		})
		before := silent
		silent = !sounds && slices.ContainsFunc(rests, func(r Span) bool { return !m.Onset.Less(r.From) && m.Onset.Less(r.To) })
		if silent && !before {
			out = append(out, theory.GivenChord{Onset: m.Onset, Measure: i, Kind: theory.NoChordKind, Text: theory.NoChordText})
		}
	}
	return out
}

// endPhrase writes that a phrase ends with a chord: a double bar where a measure ends with
// it and the measures are our own, and a fermata in every voice elsewhere.
func endPhrase(score *theory.Score, voices []theory.Voice, from, to theory.Fraction, ours bool) {
	if m := measureEnding(score, to); m != nil && (ours || m.PhraseBar) {
		m.PhraseBar = true
		return
	}
	for v := range voices {
		if n := lastWithin(&voices[v], from, to); n != nil {
			n.Flags |= theory.Fermata
			score.Notes[n.IDs[len(n.IDs)-1]].Flags |= theory.Fermata
		}
	}
}

// measureEnding is the measure that ends at an onset, nil where none does.
func measureEnding(score *theory.Score, at theory.Fraction) *theory.Measure {
	for i := range score.Measures {
		if m := &score.Measures[i]; m.Onset.Add(m.Length) == at {
			return m
		}
	}
	return nil
}

// lastWithin is the last note of a voice that begins and ends within a chord, nil where there
// is none or where a given line has its own sign in it.
func lastWithin(v *theory.Voice, from, to theory.Fraction) *theory.VoiceNote {
	var last *theory.VoiceNote
	for i := range v.Notes {
		n := &v.Notes[i]
		switch {
		case n.Onset.Less(from) || to.Less(n.End()):
		case n.Flags.Has(theory.Fermata):
			return nil
		default:
			last = n
		}
	}
	return last
}

// sign sets the opening key and metre of every part.
func sign(score *theory.Score, key theory.Key, time theory.TimeSignature) {
	signature := theory.KeySignature{Fifths: int8(key.Signature()), Mode: theory.StatedMajor}
	if key.Mode == theory.MinorMode {
		signature.Mode = theory.StatedMinor
	}
	for v := range score.Parts {
		score.Keys = append(score.Keys, theory.KeyChange{Part: v, Signature: signature})
		score.Times = append(score.Times, theory.TimeChange{Part: v, Time: time})
	}
	for i := range score.Measures {
		score.Measures[i].Key = signature
	}
}

// signFrame sets the keys and metres of measures that came with the layout.
func signFrame(score *theory.Score) {
	for i := range score.Measures {
		m := &score.Measures[i]
		for v := range score.Parts {
			if i == 0 || m.Key != score.Measures[i-1].Key {
				score.Keys = append(score.Keys, theory.KeyChange{Onset: m.Onset, Part: v, Signature: m.Key})
			}
			if i == 0 || m.Time != score.Measures[i-1].Time {
				score.Times = append(score.Times, theory.TimeChange{Onset: m.Onset, Part: v, Time: m.Time})
			}
		}
	}
}

// time is the metre, 4/4 if none is given.
func (l *Layout) time() theory.TimeSignature {
	if l.Time.IsSenzaMisura() {
		return theory.TimeSignature{Beats: 4, BeatType: 4}
	}
	return l.Time
}

// onsets returns where n chords begin, and where the last ends.
func (l *Layout) onsets(n int) []theory.Fraction {
	onsets := make([]theory.Fraction, n+1)
	onsets[0] = l.Start
	for k := range n {
		onsets[k+1] = onsets[k].Add(l.duration(k))
	}
	return onsets
}

func (l *Layout) duration(k int) theory.Fraction {
	if k < len(l.Durations) && l.Durations[k].Sign() > 0 {
		return l.Durations[k]
	}
	return theory.Whole(1)
}

func resolution(onsets []theory.Fraction) int64 {
	common := int64(1)
	for _, o := range onsets {
		for common%o.Den() != 0 {
			// Multiply by what is missing of the denominator.
			common *= o.Den() / gcd(common, o.Den())
		}
	}
	return common
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (l *Layout) measures(end theory.Fraction) []theory.Measure {
	if len(l.Frame) > 0 {
		return slices.Clone(l.Frame)
	}
	var all []theory.Measure
	full := l.time().Measure()
	at := theory.Fraction{}
	for at.Less(end) {
		m := theory.Measure{Index: len(all), Onset: at, Length: full, Time: l.time()}
		if len(all) == 0 && l.Pickup.Sign() > 0 && l.Pickup.Less(full) {
			m.Length, m.Into, m.Implicit = l.Pickup, full.Sub(l.Pickup), true
		}
		if rest := end.Sub(at); rest.Less(m.Length) {
			m.Length = rest
		}
		number := len(all) + 1
		if all != nil && all[0].Implicit || m.Implicit {
			number--
		}
		m.Label = fmt.Sprint(number)
		at = at.Add(m.Length)
		all = append(all, m)
	}
	if len(all) > 0 {
		all[len(all)-1].PhraseBar = true
	}
	return all
}

// write adds a note to the score, cut at bar lines and tied, and returns it as
// the voice has it.
func write(score *theory.Score, part int, l lineNote) theory.VoiceNote {
	from, to := l.from, l.to
	n := theory.VoiceNote{Pitch: l.pitch, Onset: from, Duration: to.Sub(from), Measure: int32(score.MeasureAt(from).Index), Flags: l.sign}
	for from.Less(to) {
		m := score.MeasureAt(from)
		end := m.Onset.Add(m.Length)
		if to.Less(end) || !from.Less(end) {
			end = to // within the measure, or past the last one
		}
		note := theory.Note{Onset: from, Duration: end.Sub(from), Part: int32(part), Measure: int32(m.Index), Pitch: l.pitch, Written: l.pitch, Staff: 1}
		if len(n.IDs) > 0 {
			note.Flags |= theory.TieStop
		}
		if end.Less(to) {
			note.Flags |= theory.TieStart
		} else {
			note.Flags |= l.sign
		}
		n.IDs = append(n.IDs, theory.NoteID(len(score.Notes)))
		score.Notes = append(score.Notes, note)
		from = end
	}
	return n
}
