package api

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/worker/report"
)

// pitchesByID reads a document and lists the sounding pitch of every note by its id.
func pitchesByID(t *testing.T, data []byte) map[string]string {
	t.Helper()
	d, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	ids, all := d.IDs(), map[string]string{}
	for i := range d.Score.Notes {
		n := &d.Score.Notes[i]
		all[ids.Note(theory.NoteID(i))] = n.Pitch.String()
	}
	return all
}

// The ids of MusicXML 3.1 and later tie what is said to what is seen: every note that an
// answer names stands in its sheet with that pitch.
func TestSheetsOfVoicingsHaveTheIDsOfTheReport(t *testing.T) {
	s := engineService(t)
	for _, options := range []string{"", "&layout=open", "&style=keyboard", "&density=1&style=three-voices"} {
		w := s.do(postText("/v1/voicings?ids=true&notes=true&alternatives=2"+options, "C: I*3 vi*2 ii6 V7*2 I*4", "Accept", typeMixed))
		types, bodies := parts(t, w)
		var r report.Voicing
		if err := json.Unmarshal(bodies[0], &r); err != nil {
			t.Fatal(err)
		}
		sheets := slices.IndexFunc(types, func(s string) bool { return s == typeMusicXML })
		notes := pitchesByID(t, bodies[sheets])
		named := 0
		for _, v := range r.Alternatives[0].VoiceNotes {
			for _, n := range v.Notes {
				if len(n.IDs) == 0 {
					t.Errorf("%s: %s of %s at %s has no id", options, n.Pitch, v.Voice, n.Onset)
				}
				for _, id := range n.IDs {
					named++
					if notes[id] != n.Pitch {
						t.Errorf("%s: %s is %q in the sheet, %s in the report", options, id, notes[id], n.Pitch)
					}
				}
			}
		}
		if named == 0 || named != len(notes) {
			t.Errorf("%s: %d notes named of %d", options, named, len(notes))
		}
	}
	if plain := s.do(postText("/v1/voicings", "C: I V", "Accept", typeMusicXML)).Body.String(); strings.Contains(plain, " id=\"pw-") {
		t.Error("ids that nobody asked for")
	}
}

// Every way has a measure of its own, whose notes it names.
func TestWaysAreASheet(t *testing.T) {
	s := engineService(t)
	body := `{"chords": "C: I V", "from": ["E5", "G4", "C4", "C3"], "ids": true}`
	ask := func(accept string) (types []string, bodies [][]byte) {
		w := s.do(post("/v1/continuations", body, "Content-Type", typeJSON, "Accept", accept))
		if accept == typeMixed {
			return parts(t, w)
		}
		return nil, [][]byte{w.Body.Bytes()}
	}
	types, bodies := ask(typeMixed)
	if !slices.Equal(types, []string{typeJSON, typeMusicXML}) {
		t.Fatalf("parts %v", types)
	}
	if single := ask1(t, ask, typeMusicXML); single != string(bodies[1]) {
		t.Error("the sheet alone is another one")
	}
	var r report.Continuation
	if err := json.Unmarshal(bodies[0], &r); err != nil {
		t.Fatal(err)
	}
	notes := pitchesByID(t, bodies[1])
	options := 0
	for _, g := range r.Groups {
		for _, o := range g.Options {
			options++
			if o.Number != options {
				t.Errorf("option %d has the number %d", options, o.Number)
			}
			var from, to []string
			for i := range o.IDs {
				from, to = append(from, notes[o.FromIDs[i]]), append(to, notes[o.IDs[i]])
			}
			if !slices.Equal(from, r.From.Pitches) || !slices.Equal(to, o.Pitches) {
				t.Errorf("option %d: %v to %v in the sheet, %v to %v in the report", o.Number, from, to, r.From.Pitches, o.Pitches)
			}
		}
	}
	if want := options * 2 * len(r.Voices); len(notes) != want {
		t.Errorf("%d notes for %d ways, want %d", len(notes), options, want)
	}
}

func ask1(t *testing.T, ask func(string) ([]string, [][]byte), accept string) string {
	t.Helper()
	_, bodies := ask(accept)
	return string(bodies[0])
}

// A phrase is held up to a change by giving its notes: what was chosen stays, the rest is
// voiced around it, and what breaks a rule is kept and named.
func TestAPhraseIsHeldUpToAChange(t *testing.T) {
	s := engineService(t)
	for _, c := range []struct {
		progression, breaks, why string
		held                     [][]string
	}{
		{"C: I{E5,G4,C4,C3} IV{F5,A4,C4,F3} V7 I", "", "C is common, the bass rises a fourth", [][]string{{"E5", "G4", "C4", "C3"}, {"F5", "A4", "C4", "F3"}}},
		{"C: I{G4,E4,C4,C3} IV V{G4,D4,B3,G3} I", "", "a chord in the middle is chosen", [][]string{{"G4", "E4", "C4", "C3"}, nil, {"G4", "D4", "B3", "G3"}}},
		{"C: I{C5,G4,E4,C3} ii{D5,A4,F4,D3} V I", "parallel", "roots a second apart in parallel motion: fifths and octaves with the bass (Hutchinson, 26.7)", [][]string{{"C5", "G4", "E4", "C3"}, {"D5", "A4", "F4", "D3"}}},
	} {
		var r report.Voicing
		if err := json.Unmarshal(s.do(postText("/v1/voicings", c.progression)).Body.Bytes(), &r); err != nil {
			t.Fatal(err)
		}
		for i, want := range c.held {
			if got := r.Alternatives[0].Chords[i].Pitches; want != nil && !slices.Equal(got, want) {
				t.Errorf("%s: chord %d is %v, given were %v", c.why, i+1, got, want)
			}
		}
		if got := strings.Join(r.Breaks, "; "); (got == "") != (c.breaks == "") || !strings.Contains(got, c.breaks) || (r.Obstacle == "") != (c.breaks == "") {
			t.Errorf("%s: breaks %q, obstacle %q", c.why, got, r.Obstacle)
		}
	}
}
