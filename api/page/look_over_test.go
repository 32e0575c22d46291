package page_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// drop drags files onto the middle of the page and lets them go, as a browser tells a
// page of a real drag.
func (b *tab) drop(files ...string) {
	b.t.Helper()
	data := &input.DragData{Items: []*input.DragDataItem{}, Files: files, DragOperationsMask: 1}
	for _, kind := range []input.DispatchDragEventType{"dragEnter", "dragOver", "drop"} {
		b.do(func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
			_, err := cdp.Call(ctx, target, input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: 300, Y: 300, Data: data})
			return chromedp.Void{}, err
		})
	}
}

// class is the path of a score of the demo class.
func class(t *testing.T, name string) string {
	t.Helper()
	path, err := filepath.Abs(filepath.Join("../../testdata/class", name))
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// TestFaultIsFoundHeardMendedAndUndone drops a hand-in, opens its first fault, hears it,
// tries and applies a way to mend it, sees it gone, and takes it back. The hand-in's four
// faults are those of testdata/README.md.
func TestFaultIsFoundHeardMendedAndUndone(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.picture("welcome")
	b.drop(class(t, "hand-in.musicxml"))
	b.until("four faults are listed", `document.querySelectorAll('.item.fault').length === 4`)
	b.until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.until("each finding has its sign", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	if !value[bool](b, `performance.getEntriesByName('findings')[0].startTime < performance.getEntriesByName('engraved')[0].startTime`) {
		t.Error("the score is drawn before the findings are shown")
	}
	b.press("1\nmeasure 1")
	b.until("its notes are ringed", `document.querySelectorAll('.ring.fault').length === 4`)
	b.until("the paths of its two voices are drawn, one dashed", `document.querySelectorAll('.path.chosen.voice-1').length === 1 && document.querySelectorAll('.path.chosen.voice-2').length === 1`)
	b.until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
	b.picture("look-over")
	b.axe("look-over, a finding open")
	b.press("Hear only this")
	b.press("Stop")

	b.press("Try")
	b.until("the change is tried", `document.querySelector('.banner.trying')?.innerText.includes('This finding is gone')`)
	b.picture("look-over-trying")
	b.axe("look-over, a change tried")
	b.press("Put it back")
	b.until("it is put back", `!document.querySelector('.banner.trying')`)
	b.press("Apply")
	b.until("the fault is gone", `document.querySelectorAll('.item.fault').length === 3 && ![...document.querySelectorAll('.item')].some((i) => i.innerText.includes('parallel fifths'))`)
	b.press("Undo")
	b.until("the fault is back", `document.querySelectorAll('.item.fault').length === 4`)
	b.press("Redo")
	b.until("it is gone again", `document.querySelectorAll('.item.fault').length === 3`)

	b.do(chromedp.Reload())
	b.until("the draft is still there", `document.querySelectorAll('.item.fault').length === 3`)
	b.press("Clear this browser")
	b.until("nothing is left of it", `document.querySelector('.welcome') && localStorage.length === 0`)
}

// TestPitchIsTypedAndMoved gives a note another pitch by keyboard alone, and hears that
// the check is done again: a soprano of B4 on the last chord is no fifth over the bass.
func TestPitchIsTypedAndMoved(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.press("The model answer")
	b.until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.score').focus()`), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.ArrowDown))
	b.until("the note is moved by a step", `document.querySelector('#note-pitch')?.value === 'A4'`)
	b.until("it is said", `document.querySelector('.said').innerText === 'soprano, measure 1: A4'`)
	b.until("it is shown where it would go", `document.querySelectorAll('.ghost').length === 1`)
	b.picture("note-editor")
	b.axe("look-over, a note chosen")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until("it is applied", `!document.querySelector('[aria-label="Undo"]').disabled && document.querySelector('.desk').dataset.state === 'ready'`)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.score').focus()`), chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	b.until("it is undone", `document.querySelector('[aria-label="Undo"]').disabled`)
}

// TestAnswerIsHidden shows places only until each is revealed.
func TestAnswerIsHidden(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 390, 844)
	b.picture("welcome-phone")
	b.axe("welcome")
	b.press("A hand-in with faults")
	b.until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	b.picture("look-over-phone")
	b.axe("look-over, phone")
	b.press("Hide the answer")
	b.until("nothing is said of the faults", `!document.querySelector('.findings').innerText.includes('parallel') && [...document.querySelectorAll('.marks .sign text')].every((e) => e.textContent === '?')`)
	b.press("?\nmeasure 2")
	b.picture("answer-hidden-phone")
	b.press("Show the answer")
	b.until("this one is said", `document.querySelector('.findings').innerText.includes('parallel octaves')`)
}

// TestHostileNamesAreText drops a score whose title and file name are markup.
func TestHostileNamesAreText(t *testing.T) {
	chromium(t)
	score, err := os.ReadFile(class(t, "hand-in.musicxml")) // #nosec G304 -- the test's own words
	if err != nil {
		t.Fatal(err)
	}
	const evil = `&lt;img src=x onerror=&quot;window.hurt=1&quot;&gt;&lt;script&gt;window.hurt=1&lt;/script&gt;`
	text := strings.ReplaceAll(string(score), "Harmonize the bass: hand-in", evil)
	text = strings.ReplaceAll(text, "Upper voices", evil)
	path := filepath.Join(t.TempDir(), `<img src=x onerror=window.hurt=1>.musicxml`)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	b := browse(t, serve(t), 1280, 900)
	b.drop(path)
	b.until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.until("title and name are text", `document.querySelector('h1').innerText.startsWith('<img src=x') && document.querySelector('.file-name').innerText.startsWith('<img')`)
	if value[bool](b, `Boolean(window.hurt || document.querySelector('main img, main script'))`) {
		t.Error("a title became markup")
	}
}

// TestProblemsAreSaid shows the service's own sentence, with its line, and what to do.
func TestProblemsAreSaid(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.drop(brokenScore(t))
	b.until("the problem has its line", `document.querySelector('.problem')?.innerText.includes('line 3')`)
	b.picture("problem")
	b.axe("a problem")
}

// TestOfflineIsSaid keeps what was done when the service does not answer.
func TestOfflineIsSaid(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.press("The model answer")
	b.until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.do(chromedp.Evaluate[chromedp.Void](`window.fetch = () => Promise.reject(new TypeError('no network'))`))
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.score').focus()`), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.Enter))
	b.until("it is said", `document.querySelector('.problem.offline')?.innerText.includes('kept in this browser')`)
	b.picture("offline")
	b.axe("offline")
	if n := value[int](b, `document.querySelectorAll('.score-page g.note').length`); n != 44 {
		t.Errorf("%d notes are left of the score", n)
	}
}

// TestNoteIsDraggedAndFaultAccepted drags a notehead two steps up with the pointer, types
// another pitch as a reader of German does, and lets a finding stand.
func TestNoteIsDraggedAndFaultAccepted(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('select').value = 'de'; document.querySelector('select').dispatchEvent(new Event('change'))`))
	b.press("Eine Abgabe mit Fehlern")
	b.until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	at := value[[]float64](b, `(() => { const r = document.querySelector('#pw-n1-1-1 .notehead').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2, r.height]; })()`)
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, at[0], at[1], chromedp.ButtonLeft),
		chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, at[0], at[1]-at[2], chromedp.ButtonLeft),
		chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, at[0], at[1]-at[2], chromedp.ButtonLeft))
	// Two steps above the soprano's B4; German names are those of DIN 5008 and Helmholtz.
	b.until("the note is moved", `document.querySelector('.note-editor').innerText.includes('jetzt h’') && document.querySelector('#note-pitch').value === 'D5'`)
	b.do(chromedp.SetValue("#note-pitch", "c’’"), chromedp.Focus("#note-pitch"), chromedp.KeyEvent(kb.Enter))
	b.until("it is applied and checked", `document.querySelector('[aria-label="Rückgängig"]')?.disabled === false && document.querySelector('.desk').dataset.state === 'ready'`)
	b.press("Rückgängig")
	b.until("it is undone", `document.querySelectorAll('.item.fault').length === 4`)
	b.press("1\nTakt 1")
	b.press("Hier kein Fehler")
	b.until("the finding stands as a remark", `document.querySelectorAll('.item.fault').length === 3 && document.querySelectorAll('.item.remark').length === 1`)
	b.do(chromedp.Reload())
	b.until("that is kept", `document.querySelectorAll('.item.fault').length === 3 && document.querySelectorAll('.item.remark').length === 1`)
	b.picture("german")
}

// TestArchiveIsOpenedInTheBrowser drops a zip on a service that keeps nothing.
func TestArchiveIsOpenedInTheBrowser(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.drop(archive(t))
	b.until("four scores are checked", `document.querySelectorAll('.tabs button').length === 4 && [...document.querySelectorAll('.tab-count')].every((e) => /finding/.test(e.innerText))`)
	b.press("model.musicxml")
	b.until("another score is in front", `document.querySelector('h1').innerText.includes('model answer')`)
	b.until("it is drawn", `document.querySelectorAll('.score-page g.note').length === 44 && document.querySelectorAll('.score-page .sign').length === 0`)
	b.picture("several")
	b.axe("several scores")
}

// TestBothAreHeardInTurn hears a fault and a way to mend it one after the other, over and
// over. What the oscillators are told is what sounds: first the pitches that are written,
// then those of the change, then again the first.
func TestBothAreHeardInTurn(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.do(script(`globalThis.struck = [];
		const { start, stop } = OscillatorNode.prototype;
		OscillatorNode.prototype.start = function (at) {
			this.struck = { at, midi: Math.round(69 + 12 * Math.log2(this.frequency.value / 440)) };
			return start.call(this, at);
		};
		OscillatorNode.prototype.stop = function (at) {
			if (this.context instanceof AudioContext && this.struck) struck.push({ ...this.struck, end: at });
			return stop.call(this, at);
		};`))
	b.press("A hand-in with faults")
	b.until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	b.press("1\nmeasure 1")
	b.until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
	b.press("Hear both")
	b.until("the change is shown", `document.querySelector('.banner.trying')`)
	// A passage ends where a quarter note of silence follows; a note rings for half a second.
	b.do(script(`globalThis.passages = () => {
		const all = [];
		let end = -Infinity;
		for (const n of [...struck].sort((a, b) => a.at - b.at)) {
			if (n.at - end > 0) all.push(new Set());
			all.at(-1).add(n.midi);
			end = Math.max(end, n.end);
		}
		return all.map((set) => [...set].sort((x, y) => x - y).join(' '));
	};`))
	b.until("it is heard a second time, to the end", `passages().length >= 4`)
	heard := value[[]string](b, `passages()`)
	if heard[0] == heard[1] || heard[0] != heard[2] {
		t.Errorf("before, after and again sound %q", heard[:3])
	}
	b.press("Stop")
}
