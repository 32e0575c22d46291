package worker

import (
	"strings"
	"testing"
)

// What of a task is not in its sheets is said: repeats and endings, grace notes and cues
// (W3C MusicXML 4.0, repeat, ending, grace, cue). What is there needs no saying.
func TestWhatIsLeftOutIsSaid(t *testing.T) {
	note := func(step, inside, duration string) string {
		return "<note>" + inside + "<pitch><step>" + step + "</step><octave>5</octave></pitch>" + duration + "</note>"
	}
	half := func(step string) string { return note(step, "", "<duration>2</duration>") }
	again := `<barline location="right"><repeat direction="backward"/></barline>`
	for _, tt := range []struct{ first, second, want string }{
		{half("C") + half("D"), half("E") + half("C"), ""},
		{half("C") + half("D") + again, half("E") + half("C"), "repeats"},
		{half("C") + note("E", "<grace/>", "") + half("D"), half("E") + half("C"), "cue notes are left out: 1"},
		{half("C") + half("D"), half("C") + note("E", "<cue/>", "<duration>2</duration>"), "cue notes are left out: 1"},
	} {
		_, said := voiced(t, leadSheet(tt.first, tt.second))
		if got := strings.Join(said.Notices, " "); !strings.Contains(got, tt.want) || tt.want == "" && got != "" {
			t.Errorf("the notices are %q, want %q", got, tt.want)
		}
	}
}
