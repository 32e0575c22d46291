package sittings_test

import (
	"partwright/api/page/pagetest"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestArchiveIsFollowedToItsEnd drops the demo class, sees it answered, and goes from a
// bar to the scores behind it and from a score to its look-over.
func TestArchiveIsFollowedToItsEnd(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t, "--data-dir", t.TempDir())+"/#batches", 1280, 900)
	b.Until("there is where to drop", `document.querySelector('.batches-list[aria-busy="false"] .drop')`)
	b.Axe("batches, none")
	b.Until("there are rubrics", `document.querySelectorAll('#batch-rubric option').length > 1`)
	b.Do(pagetest.Chosen("#batch-rubric", "hundred"), pagetest.Chosen("#batch-language", "de"))
	b.Drop(pagetest.Archive(t))
	b.Until("all is answered", `document.querySelector('.batch progress')?.value === 4 && document.body.innerText.includes('4 of 4 answered · finished')`)
	b.Until("the scores are listed", `document.querySelectorAll('.scores tbody tr').length === 4`)
	b.Picture("batch")
	b.Axe("batches, finished")
	type answered struct{ Graded, German int }
	got := pagetest.Value[answered](b, `fetch('/v1/batches/' + new URLSearchParams(location.hash.split('?')[1]).get('batch') + '/results').then((a) => a.json()).then(({ results }) => ({
		Graded: results.filter((r) => r.report.mark).length, German: results.flatMap((r) => r.report.findings).filter((f) => /Takt|Quint|Oktav|Stimme/.test(f.message)).length }))`)
	if got.Graded == 0 || got.German == 0 {
		t.Errorf("with a rubric and in German: %+v", got)
	}
	b.Do(chromedp.Evaluate[chromedp.Void](`document.querySelector('[data-rule="parallel-octaves"]').click()`))
	b.Until("the scores behind the bar are listed", `document.querySelectorAll('.scores tbody tr').length > 0 && document.querySelectorAll('.scores tbody tr').length < 4 && document.body.innerText.includes('behind this')`)
	b.Press("class/hand-in.musicxml")
	b.Until("it is looked over", `location.hash.startsWith('#look-over') && document.querySelectorAll('.item.fault').length === 4`)
}
