package batch_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/stage"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// engineBench works with the engine, and counts how often it did what.
func engineBench(t *testing.T, c store.Config) (b *bench, stages func(stage.Name) int) {
	t.Helper()
	var mu sync.Mutex
	counts := map[stage.Name]int{}
	engine := &worker.Engine{Version: "test", Observe: func(_ context.Context, name stage.Name, _ time.Duration) {
		mu.Lock()
		defer mu.Unlock()
		counts[name]++
	}}
	real := must(pool.New(pool.Config{Size: 2}, engine, nil, nil))(t)
	b = newBench(t, c, func(c *batch.Config) { c.Pool = real })
	b.start()
	return b, func(name stage.Name) int {
		mu.Lock()
		defer mu.Unlock()
		return counts[name]
	}
}

func demoScore(t *testing.T, folder, name string) string {
	t.Helper()
	return string(must(os.ReadFile(filepath.Join("..", "..", "testdata", folder, name+".musicxml")))(t))
}

// A score that sets a task is voiced; one that does not is checked all the same, and
// says why it is not voiced.
func TestScoresAreVoiced(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b, _ := engineBench(t, c)
		// A cluster is no chord stacked in thirds.
		cluster := clusterScore
		made := b.create(asked("voice", "true", "voice_exercise", "bass"), demoScore(t, "tasks", "block-chords"), cluster)
		status := b.wait(made.ID, store.BatchFinished)
		if status.Done != 2 || status.Failed != 0 {
			t.Fatalf("%+v: %s", status.Counts, b.results(made.ID)[0].Problem)
		}
		kept := must(batch.KeptOf(must(b.Result(t.Context(), org, made.ID, 1))(t)))(t)
		var names []string
		for _, f := range must(kept.Files())(t) {
			names = append(names, f.Suffix)
		}
		want := []string{".findings.json", ".voicing.json", ".voiced.musicxml", ".mid", ".exercise.musicxml"}
		if !slices.Equal(names, want) {
			t.Errorf("files %v, want %v", names, want)
		}
		// The numerals of the task, as its own test has them.
		said := kept.Voicing.Answer.Report.(*report.Voicing)
		if len(said.Alternatives) != 1 || said.Alternatives[0].Chords[0].Numeral != "I" || len(said.Alternatives[0].Chords) != 8 {
			t.Errorf("voiced are %+v", said.Alternatives)
		}
		if doc := must(musicxml.Read("a.musicxml", kept.Voicing.Answer.Files[0].Data, musicxml.Limits{}))(t); doc.Counts.Notes < 4*8 {
			t.Errorf("the sheet has %d notes for eight chords in four voices", doc.Counts.Notes)
		}

		without := must(batch.KeptOf(must(b.Result(t.Context(), org, made.ID, 2))(t)))(t)
		if v := without.Voicing; v == nil || v.Answer != nil || v.Problem == nil || v.Problem.Code != "nothing-to-voice" {
			t.Errorf("voiced is %+v", v)
		}
		if r, ok := without.Check.Report.(*report.Report); !ok || r.Score.Notes != 4 {
			t.Errorf("the check is %+v", without.Check.Report)
		}

		// What was voiced is not voiced again, what could not be is tried again.
		again := b.create(asked("voice", "true", "voice_exercise", "bass"), cluster, demoScore(t, "tasks", "block-chords"))
		b.wait(again.ID, store.BatchFinished)
		if r := b.results(again.ID); r[0].Reused || !r[1].Reused {
			t.Errorf("reused: %t, %t", r[0].Reused, r[1].Reused)
		}
		reused := must(batch.VoicingOf(must(b.Result(t.Context(), org, again.ID, 2))(t)))(t)
		if reused.Answer == nil || len(reused.Answer.Files) != 3 {
			t.Errorf("the voicing that was reused is %+v", reused)
		}
	})
}

// clusterScore is one chord of neighboring notes.
const clusterScore = `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Choir</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>
<note><chord/><pitch><step>D</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>
<note><chord/><pitch><step>E</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>
<note><chord/><pitch><step>F</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>
</measure></part></score-partwise>`

// A score that is checked and mended is read once, and its harmony named once.
func TestScoreIsReadOnceForAllJobs(t *testing.T) {
	b, stages := engineBench(t, store.Config{Dir: t.TempDir()})
	made := b.create(asked("mend", "true", "marks", "true", "analysis", "true"), demoScore(t, "class", "hand-in"))
	b.wait(made.ID, store.BatchFinished)
	if m := b.mending(made.ID, 1); m == nil || m.Answer == nil || m.Answer.Report.(*report.Mending).After != 0 {
		t.Fatalf("the mending is %+v", m)
	}
	for _, name := range []stage.Name{stage.Read, stage.Voices, stage.Harmony, stage.Check} {
		if n := stages(name); n != 1 {
			t.Errorf("stage %s was done %d times for one score that was checked and mended", name, n)
		}
	}
	two := b.create(asked("mend", "true"), demoScore(t, "class", "keyboard"), demoScore(t, "class", "model"))
	b.wait(two.ID, store.BatchFinished)
	if n := stages(stage.Read); n != 3 {
		t.Errorf("three scores were read %d times", n)
	}
	if _, err := b.Result(t.Context(), org, two.ID, 3); !errors.Is(err, store.ErrNotFound) {
		t.Error(err)
	}
}
