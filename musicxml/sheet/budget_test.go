package sheet_test

import (
	"context"
	"errors"
	"testing"

	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/theorytest"
)

// A note of many measures is written as many tied ones: a sheet of some bytes of music
// may take gigabytes, and stops at what it may take.
func TestWritingDrawsOnTheBudget(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5")
	_, work := theory.NewWork(context.Background(), 1<<20)
	for v := range texture.Voices {
		texture.Voices[v].Notes[1].Duration = theory.Whole(1 << 20)
	}
	texture.Score.Measures[len(texture.Score.Measures)-1].Length = theory.Whole(1 << 20)
	var err error
	allocations := testing.AllocsPerRun(1, func() {
		err = work.Run(func() error {
			_, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Closed(texture), Work: work})
			return err
		})
	})
	if allocations > 100 {
		t.Errorf("it is refused after %.0f allocations: the number of its note heads is known before", allocations)
	}
	var memory *theory.MemoryError
	if !errors.As(err, &memory) {
		t.Errorf("%v, want an error of memory", err)
	}
}
