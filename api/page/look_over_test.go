package page_test

import (
	"testing"
)

// TestExampleIsLookedOver begins with an example and sees faults, signs and paths. The
// hand-in's four faults are those of testdata/README.md.
func TestExampleIsLookedOver(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.picture("welcome")
	b.press("A hand-in with faults")
	b.until("findings are listed", `document.querySelectorAll('.item.fault').length === 4`)
	b.until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.until("each finding has its sign", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	if n := value[int](b, `document.querySelectorAll('.marks .path').length`); n == 0 {
		t.Error("no path is drawn between the notes of the voices")
	}
	b.press("1")
	b.until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
	b.picture("look-over")
}
