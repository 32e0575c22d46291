package pool

import (
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/request"
)

// The estimate parts what takes milliseconds from what may take seconds.
func TestEstimate(t *testing.T) {
	heavy := Config{}.withDefaults().Heavy
	text := func(pairs ...string) request.Values {
		v := request.Values{}
		for i := 0; i < len(pairs); i += 2 {
			v[pairs[i]] = request.Source{Text: pairs[i+1]}
		}
		return v
	}
	long := "C:"
	for range 400 {
		long += " I V"
	}
	for _, tt := range []struct {
		job   request.Job
		said  request.Values
		bytes int
		heavy bool
		why   string
	}{
		{request.JobCheck, nil, 40 << 10, false, "a chorale"},
		{request.JobCheck, text("fixes", "2"), 40 << 10, false, "a chorale with ways to mend it"},
		{request.JobCheck, text("fixes", "5"), 1 << 20, true, "a long song with ways to mend it"},
		{request.JobCheck, nil, 20 << 20, true, "an opera"},
		{request.JobMend, nil, 4 << 10, false, "an exercise to mend"},
		{request.JobMend, text("alternatives", "5"), 100 << 10, true, "a song to mend in five ways"},
		{request.JobVoice, text("progression", "C: I IV V I"), 0, false, "a phrase"},
		{request.JobVoice, text("progression", long, "alternatives", "20", "style", "five-voices", "bass", "free"), 0, true, "800 chords in twenty ways"},
		{request.JobVoice, nil, 20 << 10, false, "a melody of a few lines"},
		{request.JobVoice, nil, 64 << 10, true, "a melody of hundreds of notes"},
		{request.JobClean, nil, 1 << 20, false, "marks to take off"},
		{request.JobContinue, text("chords", "C: I V", "from", "E5 G4 C4 C3"), 0, false, "one chord"},
	} {
		wish := request.Wish{Job: tt.job, Said: tt.said}
		plan, err := wish.Plan()
		if err != nil {
			t.Fatal(err)
		}
		if got := estimate(&worker.Input{Data: make([]byte, tt.bytes)}, plan); (got >= heavy) != tt.heavy {
			t.Errorf("%s: estimated at %s, heavy from %s on", tt.why, got.Round(time.Millisecond), heavy)
		}
	}
}
