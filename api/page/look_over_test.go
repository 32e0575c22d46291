package page_test

import (
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestFaultIsFoundHeardMendedAndUndone drops a hand-in, opens its first fault, hears it,
// tries and applies a way to mend it, sees it gone, and takes it back. The hand-in's four
// faults are those of testdata/README.md.
func TestFaultIsFoundHeardMendedAndUndone(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Picture("welcome")
	b.Drop(pagetest.Class(t, "hand-in.musicxml"))
	b.Until("four faults are listed", `document.querySelectorAll('.item.fault').length === 4`)
	b.Until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.Until("each finding has its sign", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	if !pagetest.Value[bool](b, `performance.getEntriesByName('findings')[0].startTime < performance.getEntriesByName('engraved')[0].startTime`) {
		t.Error("the score is drawn before the findings are shown")
	}
	b.Press("1\nmeasure 1")
	b.Until("its notes are ringed", `document.querySelectorAll('.ring.fault').length === 4`)
	b.Until("the paths of its two voices are drawn, one dashed", `document.querySelectorAll('.path.chosen.voice-1').length === 1 && document.querySelectorAll('.path.chosen.voice-2').length === 1`)
	b.Until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
	b.Picture("look-over")
	b.Axe("look-over, a finding open")
	b.Press("Hear only this")
	b.Press("Stop")

	b.Press("Try")
	b.Until("the change is tried", `document.querySelector('.banner.trying')?.innerText.includes('This finding is gone')`)
	b.Picture("look-over-trying")
	b.Axe("look-over, a change tried")
	b.Press("Put it back")
	b.Until("it is put back", `!document.querySelector('.banner.trying')`)
	b.Press("Apply")
	b.Until("the fault is gone", `document.querySelectorAll('.item.fault').length === 3 && ![...document.querySelectorAll('.item')].some((i) => i.innerText.includes('parallel fifths'))`)
	b.Press("Undo")
	b.Until("the fault is back", `document.querySelectorAll('.item.fault').length === 4`)
	b.Press("Redo")
	b.Until("it is gone again", `document.querySelectorAll('.item.fault').length === 3`)

	b.Do(chromedp.Reload())
	b.Until("the draft is still there", `document.querySelectorAll('.item.fault').length === 3`)
	b.Press("Clear this browser")
	b.Until("nothing is left of it", `document.querySelector('.welcome') && localStorage.length === 0`)
}

// TestPitchIsTypedAndMoved gives a note another pitch by keyboard alone, and hears that
// the check is done again: a soprano of B4 on the last chord is no fifth over the bass.
func TestPitchIsTypedAndMoved(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Press("The model answer")
	b.Until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.Do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.score').focus()`), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.ArrowDown))
	b.Until("the note is moved by a step", `document.querySelector('#note-pitch')?.value === 'A4'`)
	b.Until("it is said", `document.querySelector('.said').innerText === 'soprano, measure 1: A4'`)
	b.Until("it is shown where it would go", `document.querySelectorAll('.ghost').length === 1`)
	b.Picture("note-editor")
	b.Axe("look-over, a note chosen")
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until("it is applied", `!document.querySelector('[aria-label="Undo"]').disabled && document.querySelector('.desk').dataset.state === 'ready'`)
	b.Do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.score').focus()`), chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	b.Until("it is undone", `document.querySelector('[aria-label="Undo"]').disabled`)
}

// TestAnswerIsHidden shows places only until each is revealed.
func TestAnswerIsHidden(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 390, 844)
	b.Picture("welcome-phone")
	b.Axe("welcome")
	b.Press("A hand-in with faults")
	b.Until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	b.Picture("look-over-phone")
	b.Axe("look-over, phone")
	b.Press("Hide the answer")
	b.Until("nothing is said of the faults", `!document.querySelector('.findings').innerText.includes('parallel') && [...document.querySelectorAll('.marks .sign text')].every((e) => e.textContent === '?')`)
	b.Press("?\nmeasure 2")
	b.Picture("answer-hidden-phone")
	b.Press("Show the answer")
	b.Until("this one is said", `document.querySelector('.findings').innerText.includes('parallel octaves')`)
}

// TestHostileNamesAreText drops a score whose title and file name are markup.
func TestHostileNamesAreText(t *testing.T) {
	pagetest.Chromium(t)
	score, err := os.ReadFile(pagetest.Class(t, "hand-in.musicxml")) // #nosec G304 -- the test's own words
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
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Drop(path)
	b.Until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.Until("title and name are text", `document.querySelector('h1').innerText.startsWith('<img src=x') && document.querySelector('.file-name').innerText.startsWith('<img')`)
	if pagetest.Value[bool](b, `Boolean(window.hurt || document.querySelector('main img, main script'))`) {
		t.Error("a title became markup")
	}
}

// TestProblemsAreSaid shows the service's own sentence, with its line, and what to do.
func TestProblemsAreSaid(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Drop(pagetest.BrokenScore(t))
	b.Until("the problem has its line", `document.querySelector('.problem')?.innerText.includes('line 3')`)
	b.Picture("problem")
	b.Axe("a problem")
}

// TestOfflineIsSaid keeps what was done when the service does not answer.
func TestOfflineIsSaid(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Press("The model answer")
	b.Until("the score is drawn", `document.querySelectorAll('.score-page g.note').length === 44`)
	b.Do(chromedp.Evaluate[chromedp.Void](`window.fetch = () => Promise.reject(new TypeError('no network'))`))
	b.Do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.score').focus()`), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.Enter))
	b.Until("it is said", `document.querySelector('.problem.offline')?.innerText.includes('kept in this browser')`)
	b.Picture("offline")
	b.Axe("offline")
	if n := pagetest.Value[int](b, `document.querySelectorAll('.score-page g.note').length`); n != 44 {
		t.Errorf("%d notes are left of the score", n)
	}
}

// TestNoteIsDraggedAndFaultAccepted drags a notehead two steps up with the pointer, types
// another pitch as a reader of German does, and lets a finding stand.
func TestNoteIsDraggedAndFaultAccepted(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Do(chromedp.Evaluate[chromedp.Void](`document.querySelector('select').value = 'de'; document.querySelector('select').dispatchEvent(new Event('change'))`))
	b.Press("Eine Abgabe mit Fehlern")
	b.Until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	at := pagetest.Value[[]float64](b, `(() => { const r = document.querySelector('#pw-n1-1-1 .notehead').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2, r.height]; })()`)
	b.Do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, at[0], at[1], chromedp.ButtonLeft),
		chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, at[0], at[1]-at[2], chromedp.ButtonLeft),
		chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, at[0], at[1]-at[2], chromedp.ButtonLeft))
	// Two steps above the soprano's B4; German names are those of DIN 5008 and Helmholtz.
	b.Until("the note is moved", `document.querySelector('.note-editor').innerText.includes('jetzt h’') && document.querySelector('#note-pitch').value === 'D5'`)
	b.Do(chromedp.SetValue("#note-pitch", "c’’"), chromedp.Focus("#note-pitch"), chromedp.KeyEvent(kb.Enter))
	b.Until("it is applied and checked", `document.querySelector('[aria-label="Rückgängig"]')?.disabled === false && document.querySelector('.desk').dataset.state === 'ready'`)
	b.Press("Rückgängig")
	b.Until("it is undone", `document.querySelectorAll('.item.fault').length === 4`)
	b.Press("1\nTakt 1")
	b.Press("Hier kein Fehler")
	b.Until("the finding stands as a remark", `document.querySelectorAll('.item.fault').length === 3 && document.querySelectorAll('.item.remark').length === 1`)
	b.Do(chromedp.Reload())
	b.Until("that is kept", `document.querySelectorAll('.item.fault').length === 3 && document.querySelectorAll('.item.remark').length === 1`)
	b.Picture("german")
}

// TestArchiveIsOpenedInTheBrowser drops a zip on a service that keeps nothing.
func TestArchiveIsOpenedInTheBrowser(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Drop(pagetest.Archive(t))
	b.Until("four scores are checked", `document.querySelectorAll('.tabs button').length === 4 && [...document.querySelectorAll('.tab-count')].every((e) => /finding/.test(e.innerText))`)
	b.Press("model.musicxml")
	b.Until("another score is in front", `document.querySelector('h1').innerText.includes('model answer')`)
	b.Until("it is drawn", `document.querySelectorAll('.score-page g.note').length === 44 && document.querySelectorAll('.score-page .sign').length === 0`)
	b.Picture("several")
	b.Axe("several scores")
}

// TestBothAreHeardInTurn hears a fault and a way to mend it one after the other, over and
// over. What the oscillators are told is what sounds: first the pitches that are written,
// then those of the change, then again the first.
func TestBothAreHeardInTurn(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Do(pagetest.Script(`globalThis.struck = [];
		const { start, stop } = OscillatorNode.prototype;
		OscillatorNode.prototype.start = function (at) {
			this.struck = { at, midi: Math.round(69 + 12 * Math.log2(this.frequency.value / 440)) };
			return start.call(this, at);
		};
		OscillatorNode.prototype.stop = function (at) {
			if (this.context instanceof AudioContext && this.struck) struck.push({ ...this.struck, end: at });
			return stop.call(this, at);
		};`))
	b.Press("A hand-in with faults")
	b.Until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	b.Press("1\nmeasure 1")
	b.Until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
	b.Press("Hear both")
	b.Until("the change is shown", `document.querySelector('.banner.trying')`)
	// A passage ends where a quarter note of silence follows; a note rings for half a second.
	b.Do(pagetest.Script(`globalThis.passages = () => {
		const all = [];
		let end = -Infinity;
		for (const n of [...struck].sort((a, b) => a.at - b.at)) {
			if (n.at - end > 0) all.push(new Set());
			all.at(-1).add(n.midi);
			end = Math.max(end, n.end);
		}
		return all.map((set) => [...set].sort((x, y) => x - y).join(' '));
	};`))
	b.Until("it is heard a second time, to the end", `passages().length >= 4`)
	heard := pagetest.Value[[]string](b, `passages()`)
	if heard[0] == heard[1] || heard[0] != heard[2] {
		t.Errorf("before, after and again sound %q", heard[:3])
	}
	b.Press("Stop")
}
