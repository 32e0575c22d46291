package pagetest_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"partwright/api/page/pagetest"
	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classtest"
	"partwright/worker/request"
)

// quiz is what the class is set: the figures below are those of the same class in a folder
// (testdata/script/class.txtar), which says where each is from.
const quiz = `{"title":"Second quiz","task":"` + classtest.Row + `","gives":"bass","models":3,
	"demands":["chords","inversions","cadence"],"points":20,"unmet":3}`

// scoresOfClass are the thirty-one hand-ins for the quiz, made once.
var scoresOfClass = sync.OnceValues(func() (map[string][]byte, error) {
	a := &classroom.Assignment{Title: "Second quiz"}
	order := classroom.Order{Task: classtest.Row, Gives: request.GivesBass, Models: 1}
	if err := classroom.Prepare(context.Background(), &worker.Engine{}, a, order); err != nil {
		return nil, err
	}
	return classtest.HandIns(a)
})

// handedIn sets the quiz at a service and hands in some of the class, or all of it where no
// name is given. It returns the id of the assignment.
func handedIn(t *testing.T, address string, names ...string) string {
	t.Helper()
	scores, err := scoresOfClass()
	if err != nil {
		t.Fatal(err)
	}
	var made struct{ ID string }
	if err := json.Unmarshal(send(t, http.MethodPost, address+"/v1/assignments", "application/json", []byte(quiz)), &made); err != nil {
		t.Fatal(err)
	}
	if names == nil {
		names = slices.Sorted(maps.Keys(scores))
	}
	for _, name := range names {
		reference, _ := classroom.FromName(name)
		send(t, http.MethodPost, address+"/v1/assignments/"+made.ID+"/references/"+url.PathEscape(reference)+"/hand-ins", "application/xml", scores[name])
	}
	return made.ID
}

// send asks the service for something and wants it done.
func send(t *testing.T, method, address, kind string, body []byte) []byte {
	t.Helper()
	return sendAs(t, "", method, address, kind, body)
}

// sendAs does so with a key, "" for none.
func sendAs(t *testing.T, key, method, address, kind string, body []byte) []byte {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, address, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", kind)
	if key != "" {
		r.Header.Set("Authorization", "Bearer "+key)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode >= http.StatusBadRequest {
		t.Fatalf("%s %s: %d %v %s", method, address, answer.StatusCode, err, text)
	}
	return text
}

// handInFile is a hand-in of the class as a file.
func handInFile(t *testing.T, name string) string {
	t.Helper()
	scores, err := scoresOfClass()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), name+".musicxml")
	if err := os.WriteFile(path, scores[name], 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// some of the class, so that the tests stay short: two without fault, two with parallel
// fifths or octaves, IV for ii6, two alike, an empty one, and one who handed in twice.
var some = []string{"p01", "p04", "p09", "p12", "p20", "p21", "p22", "p24", "p30", "p30@2"}

// TestClasses goes through the views of assignments at both widths, in the light and in the
// dark, each state held to WCAG and to its width; on the desk it also does a teacher's work.
func TestMain(m *testing.M) { pagetest.Main(m) }

func TestClasses(t *testing.T) {
	pagetest.Chromium(t)
	address := pagetest.Serve(t, "--data-dir", t.TempDir())
	for _, width := range []int{1280, 390} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			b := pagetest.Browse(t, address+"/#assignments", width, 850)
			w := &classWalk{Tab: b, width: width, address: address}
			w.begin()
			w.set()
			w.id = handedIn(t, address, some...)
			w.work()
			w.glance()
			if width > 1000 {
				w.printed()
				w.sheets()
				w.byKeyboard()
			}
			w.pupil()
		})
	}
}

// classWalk goes through the views of a class.
type classWalk struct {
	*pagetest.Tab
	width       int
	address, id string
}

// see holds a state to its width and to WCAG.
func (w *classWalk) see(state string) {
	w.T.Helper()
	if wide := pagetest.Value[int](w.Tab, `document.documentElement.scrollWidth`); wide > w.width {
		w.T.Errorf("%s: the page is %d wide", state, wide)
	}
	w.Axe(fmt.Sprintf("class %s %d", state, w.width))
	w.NothingWrong()
}

func (w *classWalk) to(fragment string) {
	w.Do(pagetest.Script(`location.hash = ` + fmt.Sprintf("%q", fragment)))
}

// begin sees the list: at work, without the service, and empty or with what there is.
func (w *classWalk) begin() {
	w.Until("the list is there", `document.querySelector('.classes[aria-busy="false"]')`)
	w.see("list")
	w.Do(pagetest.Script(`window.fetched = window.fetch; window.fetch = () => new Promise(() => {}); location.hash = '#assignments?again'`))
	w.Until("it is being looked up", `document.querySelector('.classes[aria-busy="true"] .waiting')`)
	w.see("working")
	w.Do(pagetest.Script(`window.fetch = () => Promise.reject(new TypeError('no network')); location.hash = '#assignments?offline'`))
	w.Until("that nothing answers is said", `document.querySelector('.classes .problem.offline')`)
	w.see("offline")
	w.Do(pagetest.Script(`window.fetch = window.fetched`))
	w.Press("Try again")
	w.Until("the list is there", `document.querySelector('.classes[aria-busy="false"]:not(:has(.problem))')`)
}

// set makes an assignment: a row that cannot be read, one that no rule lets through, and one
// that can be solved, whose sheet is seen.
func (w *classWalk) set() {
	w.Press("Set an assignment")
	w.Until("the sheet is seen", `document.querySelector('.solved') && document.querySelectorAll('.assignment-form .score-page g.note').length > 0`)
	w.see("form")
	w.Do(pagetest.Typed("#class-task", "C: I xx V"))
	w.Until("the chord that is wrong is named", `document.querySelector('.row-said .problem')?.innerText.includes('"xx" is not a numeral')`)
	w.see("form, wrong")
	w.Do(pagetest.Typed("#class-task", "C: I vi ii6 V7 I"), pagetest.Typed("#class-title", "First quiz"), pagetest.Typed("#class-models", "1"), pagetest.Chosen("#class-late", "costs"))
	w.Until("what each day costs is asked", `document.querySelector('#class-day')?.checkVisibility()`)
	w.Do(pagetest.Typed("#class-day", "2"), pagetest.Typed("#class-closes", "2030-01-31T12:00"))
	w.Until("it can be solved", `document.querySelector('.solved')`)
	w.Do(pagetest.Typed("#class-groups", "g1 p01"))
	w.Until("a line that is no group keeps the form", `!document.querySelector('#class-groups').checkValidity() && document.querySelector('#class-groups').validationMessage.includes('g1 p01')`)
	w.Do(pagetest.Typed("#class-groups", "g1: p01, p02"))
	w.Do(pagetest.Script(`document.querySelector('.assignment-form').requestSubmit()`))
	w.Until("it is set, and nobody has handed in", `document.querySelector('.class-page .nothing')?.innerText.includes('Nobody has handed in yet')`)
	w.Press("Delete")
	w.see("nobody")
	if w.width < 1000 { // where the forms have least room
		w.again()
	}
	w.to("#assignments")
	w.Until("it is listed", `[...document.querySelectorAll('.class-list a')].some((a) => a.innerText === 'First quiz')`)
}

// again gives more time to somebody who has not handed in, and sets the same exercise once
// more with times of its own.
func (w *classWalk) again() {
	w.Press("Delete") // shuts it
	w.Press("Give more time")
	w.Do(pagetest.Typed("#time-reference", "p07"), pagetest.Typed("#time-until", "2030-02-07T12:00"))
	w.Press("Give it")
	w.Press("Log")
	w.Until("it stands in the log", `document.querySelector('.log[open]')?.innerText.includes('gave more time · p07')`)
	w.Press("Set again")
	w.Do(pagetest.Typed("#copy-title", "First quiz, next year"), pagetest.Typed("#copy-closes", "2031-01-31T12:00"), pagetest.Typed("#copy-groups", "g2: p03, p04"))
	w.see("set again")
	w.Press("Set it")
	w.Until("the copy is there, and nobody has handed in", `document.querySelector('h1').innerText === 'First quiz, next year' && document.querySelector('.class-page .nothing') && document.querySelector('.glance').innerText.includes('2031')`)
}

// work does what a teacher does with one hand-in: looks at its attempts, lets a finding
// stand, adds one, sets a mark with a reason and goes back to the proposed one. The figures
// are those of testdata/script/class.txtar: fifths in measure 1 and octaves in measure 3.
func (w *classWalk) work() {
	w.to("#assignments?assignment=" + w.id + "&reference=p30&attempt=2")
	w.Until("the second attempt is on the desk", `document.querySelector('.mark-holds')?.innerText === 'Mark: 19 of 20' && document.querySelectorAll('.marks .sign.fault').length > 0`)
	w.Do(pagetest.Script(`document.querySelector('.since summary').click()`))
	w.Until("what changed since the first attempt is told", `document.querySelector('.since[open]')?.innerText.includes('mended: 2')`)
	w.Do(pagetest.Script(`[...document.querySelectorAll('.item.fault .item-head')].at(0).click()`))
	w.Press("Costs nothing")
	w.Until("the finding is let stand", `document.querySelector('.finding-decisions .chip')?.innerText.includes('let it cost nothing')`)
	w.Until("the mark is better", `document.querySelector('.mark-holds').innerText === 'Mark: 19.5 of 20'`)
	w.Press("Count it again")
	w.Until("it is counted again", `document.querySelector('.mark-holds').innerText === 'Mark: 19 of 20'`)
	w.Press("Change the mark")
	w.Do(pagetest.Typed("#set-mark", "17.5"), pagetest.Typed("#set-why", "not the work of two weeks"))
	w.see("work")
	w.Press("Set this mark")
	w.Until("both marks are told", `document.querySelector('.mark-holds').innerText === 'Mark: 17.5 of 20' && document.querySelector('.mark-panel').innerText.includes('19 was proposed') && document.querySelector('.mark-panel').innerText.includes('two weeks')`)
	w.Press("Change the mark")
	w.Press("Back to the proposed mark")
	w.Until("what was proposed holds again", `document.querySelector('.mark-holds').innerText === 'Mark: 19 of 20'`)
	w.Press("Add a finding")
	w.Do(pagetest.Typed("#add-measure", "2"), pagetest.Typed("#add-text", "the alto is hard to sing here"), pagetest.Typed("#add-points", "1"))
	w.Press("Add it")
	w.Until("it is added and costs a point", `document.querySelector('.mark-holds').innerText === 'Mark: 18 of 20' && document.querySelector('.added')?.innerText.includes('hard to sing')`)
	w.Press("Back to the class")
}

// glance looks at a whole class: what the plots count, what is behind a bar, a release and
// taking it back.
func (w *classWalk) glance() {
	w.to("#assignments?assignment=" + w.id)
	w.Until("the class is shown", `document.querySelectorAll('.hand-ins tbody tr').length === 9`)
	w.Until("the passages are engraved", `[...document.querySelectorAll('.passages .paper')].every((p) => p.querySelector('.ring'))`)
	w.see("glance")
	w.Do(pagetest.Script(`document.querySelector('[data-key="rule-parallel-fifths"]').click()`))
	w.Until("the hand-ins behind the bar are listed", `document.querySelectorAll('.hand-ins tbody tr').length === 4 && document.querySelector('.hand-ins h2').innerText === '4 hand-ins behind this'`)
	w.Press("Release marks")
	w.Until("it is asked for", `[...document.querySelectorAll('.ask-first[open] button')].some((b) => b.checkVisibility())`)
	w.see("behind a bar")
	w.Press("Not now")
	w.Press("Show all hand-ins")
	w.Press("Hide references")
	w.Until("no reference is seen", `!/p0\d|p2\d/.test(document.querySelector('main').innerText)`)
	if w.width > 1000 {
		w.unnamed()
	}
	w.Press("Hide references")
	w.Press("Release marks")
	w.Do(pagetest.Script(`document.querySelector('.ask-first[open] button.primary').click()`))
	w.Until("all is released", `document.querySelector('.glance').innerText.includes('all released') && document.querySelectorAll('.hand-ins .chip-doubt').length === 0`)
	w.Press("Log")
	w.Until("the log says so", `document.querySelector('.log[open]')?.innerText.includes('released · everybody')`)
	w.see("released")
}

// unnamed goes from one hand-in to the next where references are hidden.
func (w *classWalk) unnamed() {
	w.Press("pupil 1")
	w.Until("nor with the score, which leads on", `document.querySelectorAll('.marks .sign').length > 0 && !/p0\d|p2\d/.test(document.querySelector('main').innerText) && document.querySelector('.score-title')?.innerText.includes('Next: pupil 2')`)
	w.Press("Next: pupil 2")
	w.Until("the next is there", `document.querySelector('.score-title')?.innerText.includes('Next: pupil 3') && document.querySelector('.mark-holds')`)
	w.Press("Back to the class")
	w.Until("the class is shown", `document.querySelectorAll('.hand-ins tbody tr').length === 9`)
}

// pupil looks as a pupil does, hands in an empty score and then a whole one, and sees no
// more than may be seen.
func (w *classWalk) pupil() {
	w.to("#hand-in?assignment=" + w.id + "&reference=p30")
	w.Until("the attempts are there", `document.querySelectorAll('.attempts li').length === 2 && document.querySelectorAll('.hand-in .score-page g.note').length > 0`)
	w.see("pupil, released")
	w.Press("See the findings in the score")
	w.Until("the findings are seen, and nothing to decide", `document.querySelectorAll('.hand-in-page .marks .sign.fault').length > 0 && document.querySelector('.mark-holds') && !document.querySelector('.decision, .finding-decisions')`)
	w.see("pupil, findings")
	w.to("#hand-in?assignment=" + w.id + "&reference=new")
	w.Until("there is none", `document.querySelector('.attempts')?.innerText.includes('not handed in yet')`)
	w.Drop(handInFile(w.T, "p24"))
	w.Until("it is taken, and said to be empty", `document.querySelectorAll('.attempts li').length === 1 && document.querySelector('.attempts .chip-bad')?.innerText.includes('empty') && !document.querySelector('.attempts a')`)
	w.Drop(pagetest.BrokenScore(w.T))
	w.Until("it is taken, and said to be unreadable", `document.querySelectorAll('.attempts li').length === 2 && document.querySelector('.attempts li').innerText.includes('Export the score again')`)
	w.see("pupil, refused")
}

// pdf is what is printed, to be looked at where PAGE_PICTURES names a folder.
func (w *classWalk) pdf(name string) []byte {
	w.T.Helper()
	pdf := pagetest.Result(w.Tab, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize()))
	if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o600); err != nil {
			w.T.Fatal(err)
		}
	}
	return pdf
}

// printed prints the report of the class: no tools, no likeness, and that nothing is final.
func (w *classWalk) printed() {
	w.Do(pagetest.Script(`window.print = () => { window.asked = true; }`))
	w.Press("Print the report")
	w.Until("it is printed", `window.asked`)
	text, ok := pagetest.TextOf(w.T, w.pdf("class"))
	if !ok {
		return
	}
	for _, want := range []string{"Second quiz", "Released: pupils see these marks", "Pupils by rule broken", "parallel fifths", "p30", "What to teach again"} {
		if !strings.Contains(text, want) {
			w.T.Errorf("%q is not printed", want)
		}
	}
	for _, never := range []string{"Alike, for the teacher alone", "Release marks", "Log ("} {
		if strings.Contains(text, never) {
			w.T.Errorf("%q is printed", never)
		}
	}
}

// sheets prints the sheet and all model answers, of which the quiz has three.
func (w *classWalk) sheets() {
	w.Do(pagetest.Script(`window.asked = false`))
	w.Press("Sheets")
	w.Press("Print the sheet and the model answers")
	w.Until("it is printed", `window.asked && document.querySelectorAll('.printed-sheet').length === 4`)
	notes := pagetest.Value[[]int](w.Tab, `[...document.querySelectorAll('.printed-sheet')].map((s) => s.querySelectorAll('g.note').length)`)
	// Twelve chords: the bass alone on the sheet, four voices in the answers.
	if !slices.Equal(notes, []int{12, 48, 48, 48}) {
		w.T.Errorf("the sheets have %v notes", notes)
	}
	pdf := w.pdf("sheets")
	if text, ok := pagetest.TextOf(w.T, pdf); ok && (!strings.Contains(text, "Second quiz: model answer 3 of 3") || strings.Contains(text, "Hand-ins")) {
		w.T.Errorf("printed is\n%s", text)
	}
	w.Do(pagetest.Script(`dispatchEvent(new Event('afterprint'))`))
}

// byKeyboard goes from the class by a bar to the hand-ins behind it and to one of them,
// changes its mark with a reason, and releases it, without a pointer.
func (w *classWalk) byKeyboard() {
	b := w.Tab
	w.to("#assignments?assignment=" + handedIn(w.T, w.address, "p04", "p12"))
	enter, tab := chromedp.KeyEvent(kb.Enter), chromedp.KeyEvent(kb.Tab)
	b.Until("the class is shown", `document.querySelectorAll('.hand-ins tbody tr').length === 2`)
	b.Do(pagetest.Script(`document.querySelector('[data-key="rule-parallel-fifths"]').scrollIntoView()`))
	for !pagetest.Value[bool](b, `document.activeElement.dataset.key === 'rule-parallel-fifths'`) {
		b.Do(tab)
	}
	b.Do(enter)
	b.Until("one hand-in is behind the bar", `document.querySelectorAll('.hand-ins tbody tr').length === 1`)
	b.Reach("p04")
	b.Do(enter)
	b.Until("it is on the desk", `document.querySelector('.mark-holds')?.innerText === 'Mark: 19.5 of 20' && document.querySelectorAll('.marks .sign').length > 0`)
	b.Reach("Change the mark")
	b.Do(enter, tab, chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)), chromedp.KeyEvent("18"), tab, chromedp.KeyEvent("a second thought"), enter)
	b.Until("the mark is changed", `document.querySelector('.mark-holds').innerText === 'Mark: 18 of 20'`)
	b.Reach("Release this mark")
	b.Do(enter)
	b.Reach("Release")
	b.Do(enter)
	b.Until("it is released", `document.querySelector('.mark-panel .chip-well + .chip-well')?.innerText.includes('released')`)
	b.Reach("Back to the class")
	b.Do(enter)
	b.Until("the class says so", `document.querySelector('.glance')?.innerText.includes('1 of 2 released')`)
}
