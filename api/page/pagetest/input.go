package pagetest

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Script runs a script in the page.
func Script(text string) chromedp.Action[chromedp.Void] {
	return chromedp.Evaluate[chromedp.Void](text)
}

// Leave runs a script that goes to another page or loads this one anew, once the script was
// answered for: a page that is gone answers nothing.
func Leave(text string) chromedp.Action[chromedp.Void] {
	return Script(`window.before = true; setTimeout(() => { ` + text + ` })`)
}

// set gives a field of a form a value, as if it had been typed or chosen.
func set(selector, value, event string) chromedp.Action[chromedp.Void] {
	s, _ := json.Marshal(selector)
	v, _ := json.Marshal(value)
	return Script(`(() => { const e = document.querySelector(` + string(s) + `); e.focus(); e.value = ` + string(v) + `; e.dispatchEvent(new Event('` + event + `', { bubbles: true })); })()`)
}

// Typed fills a field as if its text had been typed.
func Typed(selector, text string) chromedp.Action[chromedp.Void] { return set(selector, text, "input") }

// Chosen chooses a value as if it had been chosen by hand.
func Chosen(selector, value string) chromedp.Action[chromedp.Void] {
	return set(selector, value, "change")
}

// Drop drags files onto the middle of the page and lets them go, as a browser tells a
// page of a real drag.
func (b *Tab) Drop(files ...string) {
	b.T.Helper()
	data := &input.DragData{Items: []*input.DragDataItem{}, Files: files, DragOperationsMask: 1}
	for _, kind := range []input.DispatchDragEventType{"dragEnter", "dragOver", "drop"} {
		b.Do(func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
			_, err := cdp.Call(ctx, target, input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: 300, Y: 300, Data: data})
			return chromedp.Void{}, err
		})
	}
}

// Reach goes by the tab key to what has the words given, and no other way.
func (b *Tab) Reach(words string) {
	b.T.Helper()
	for range 80 {
		b.Do(chromedp.KeyEvent(kb.Tab))
		if Value[bool](b, `((e) => (e.innerText ?? '').trim().startsWith(`+strconv.Quote(words)+`) || e.ariaLabel === `+strconv.Quote(words)+`)(document.activeElement)`) {
			if !Value[bool](b, `document.activeElement.matches(':focus-visible') && document.activeElement.checkVisibility()`) {
				b.T.Errorf("the focus on %q is not seen", words)
			}
			return
		}
	}
	b.T.Fatalf("the tab key does not reach %q", words)
}

// BrokenScore is the path of a file that is no whole score.
func BrokenScore(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "broken.musicxml")
	if err := os.WriteFile(path, []byte("<score-partwise>\n<part-list>\n</score-partwise>"), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// InUTF16 is a document with a declaration as some programs write it (XML 1.0, 4.3.3).
func InUTF16(document string) []byte {
	_, body, _ := strings.Cut(document, "?>")
	out := []byte{0xfe, 0xff}
	for _, unit := range utf16.Encode([]rune(`<?xml version="1.0" encoding="UTF-16"?>` + body)) {
		out = binary.BigEndian.AppendUint16(out, unit)
	}
	return out
}

// TextOf is what stands in a PDF; false where there is nothing that reads it.
func TextOf(t *testing.T, pdf []byte) (string, bool) {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Log("the text of the PDF is not looked at: pdftotext (poppler-utils) is not installed")
		return "", false
	}
	cmd := exec.Command("pdftotext", "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(text), true
}
