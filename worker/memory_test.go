package worker

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"partwright/theory/theorytest"
	"partwright/worker/request"
)

// What a score may take for each of its notes, in bytes: what is kept of it while it is
// worked on, and what is allocated in all for a check, most of it garbage soon. Measured
// on these scores, with about half as much again; the text, which has about 100 bytes for
// each note, is part of it.
const (
	keptPerNote      = 700
	allocatedPerNote = 9000
)

// chorus is a score of four parts with so many measures of four quarters, whose notes and
// harmonies change all the time.
func chorus(measures int) []byte {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list>`)
	for part := range 4 {
		fmt.Fprintf(&b, `<score-part id="P%d"><part-name>%d</part-name></score-part>`, part, part)
	}
	b.WriteString(`</part-list>`)
	for part := range 4 {
		fmt.Fprintf(&b, `<part id="P%d">`, part)
		for m := range measures {
			fmt.Fprintf(&b, `<measure number="%d">`, m+1)
			if m == 0 {
				b.WriteString(`<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`)
			}
			for n := range 4 {
				step := "CDEFGAB"[(2*part+(m*4+n)*(m+3))%7]
				fmt.Fprintf(&b, `<note><pitch><step>%c</step><octave>%d</octave></pitch><duration>1</duration></note>`, step, 5-part)
			}
			b.WriteString(`</measure>`)
		}
		b.WriteString(`</part>`)
	}
	b.WriteString(`</score-partwise>`)
	return []byte(b.String())
}

// keptOf is how many bytes are in use for a score once it has been checked and what was
// read of it is kept: at least, of a few times, since what others leave only adds.
func keptOf(t *testing.T, data []byte, plan request.Plan) int64 {
	t.Helper()
	inUse := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC() // what waits for its finalizer goes with the second
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	var least int64
	for try := range 3 {
		before := inUse()
		in := Input{Name: "long.musicxml", Data: data, Read: &Reading{}}
		if _, err := (&Engine{}).Do(t.Context(), in, plan); err != nil {
			t.Fatal(err)
		}
		kept := inUse() - before
		runtime.KeepAlive(in)
		if try == 0 || kept < least {
			least = kept
		}
	}
	return least
}

// A large score takes so much memory for each of its notes and no more, and four times as
// much where it is four times as long.
func TestMemoryGrowsWithTheNotes(t *testing.T) {
	if testing.Short() {
		t.Skip("checks scores of tens of thousands of notes")
	}
	plan, err := request.Defaults(&request.Check{}).Plan()
	if err != nil {
		t.Fatal(err)
	}
	const measures = 1500
	quarter, whole := chorus(measures/4), chorus(measures)
	notes := int64(measures * 16)
	if kept, small := keptOf(t, whole, plan), keptOf(t, quarter, plan); kept > notes*keptPerNote || kept > 5*small+1<<20 {
		t.Errorf("%d bytes are kept for each note, %d of a quarter of the score; %d may be", kept/notes, small*4/notes, keptPerNote)
	} else {
		t.Logf("%d bytes are kept for each note, %d of a quarter of the score", kept/notes, small*4/notes)
	}
	allocated := func(data []byte) uint64 {
		return theorytest.Allocated(func() {
			if _, err := (&Engine{}).Do(t.Context(), Input{Name: "long.musicxml", Data: data}, plan); err != nil {
				t.Fatal(err)
			}
		})
	}
	// What is allocated beside it only adds: the least counts.
	g := theorytest.Growth{Quarter: allocated(quarter), Whole: allocated(whole)}
	for range 2 {
		g = theorytest.Growth{Quarter: min(g.Quarter, allocated(quarter)), Whole: min(g.Whole, allocated(whole))}
	}
	if !g.Linear() || g.Whole > uint64(notes*allocatedPerNote) {
		t.Errorf("%d bytes are allocated for each note, %d of a quarter of the score; %d may be", g.Whole/uint64(notes), g.Quarter*4/uint64(notes), allocatedPerNote)
	} else {
		t.Logf("%d bytes are allocated for each note, %d of a quarter of the score", g.Whole/uint64(notes), g.Quarter*4/uint64(notes))
	}
}
