package leading_test

import (
	"fmt"
	"math"
	"partwright/api/page/pagetest"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestARowOfChordsIsLed types a row, looks at a change, chooses another way, and sees the
// rest led around it.
func TestARowOfChordsIsLed(t *testing.T) {
	pagetest.Chromium(t)
	address := pagetest.Serve(t)
	b := pagetest.Browse(t, address+"/#lead-voices?row=C%3A+I+vi+ii6+V7+I", 1280, 900)
	b.Until("the phrase is engraved", `document.querySelectorAll('.lead-voices .score-page g.note').length === 20`)
	b.Until("the paths of the change are drawn", `document.querySelectorAll('.marks .path.lead').length === 4`)
	b.Until("there are changes", `document.querySelectorAll('.changes button').length === 4`)
	b.Until("there are options", `document.querySelectorAll('.option').length > 4`)
	if n := pagetest.Value[int](b, `document.querySelectorAll('.option .voice-paths').length - document.querySelectorAll('.option').length`); n != 0 {
		t.Error("an option has no paths")
	}
	b.Axe("lead voices")
	b.Until("they stand in the rail, under the change", `(() => { const way = document.querySelector('.option').getBoundingClientRect(), rail = document.querySelector('.rail').getBoundingClientRect(), now = document.querySelector('.now').getBoundingClientRect(); return way.top >= now.bottom && way.left >= rail.left && Math.abs(way.width - rail.width) < 4; })()`)
	// What breaks a rule is there, with the rule named.
	b.Until("a way that breaks a rule is named", `document.querySelector('.option.fault .breaks strong')`)

	// Another way is chosen: the chord is held, the rest follows.
	pitches := pagetest.Value[string](b, `(() => { const card = [...document.querySelectorAll('.option.clean:not(.as-now)')][0]; card.querySelector('.primary').click(); return card.querySelector('svg').ariaLabel })()`)
	b.Until("the chord is held", `document.querySelectorAll('.held-sign').length === 1`)
	b.Until("its notes are ringed", `document.querySelectorAll('.marks .ring.held').length === 8`)
	if hash := pagetest.Value[string](b, `decodeURIComponent(location.hash)`); !strings.Contains(hash, "given=0:") {
		t.Errorf("the link of %s does not hold what was chosen: %s", pitches, hash)
	}
	b.Press("Let all chords free")
	b.Until("nothing is held", `document.querySelectorAll('.held-sign').length === 0`)

	// Typing voices anew.
	b.Do(pagetest.Typed("#lead-row", "g: bass G2 F#2/6 G2 C3/6 D3/7 G2*2"))
	b.Until("a figured bass is led", `document.querySelectorAll('.changes button').length === 5`)
	b.Do(pagetest.Typed("#lead-row", "C: I xx V"))
	b.Until("what is wrong is said", `document.querySelector('#lead-row').ariaInvalid === 'true' || document.querySelector('.trouble .problem')`)
	b.Axe("lead voices, a chord that is none")
	b.Do(pagetest.Typed("#lead-row", "C: I IV V I"))
	b.Until("it is led again", `document.querySelectorAll('.changes button').length === 3 && !document.querySelector('.trouble .problem')`)
	// With ornaments of one kind.
	b.Do(pagetest.Typed("#lead-row", "C: I*2 vi*2 ii6*2 V7*2 I*4"), pagetest.Chosen(".elaboration input[type=range]", "1"))
	b.Until("notes are added", `document.querySelectorAll('.lead-voices .score-page g.note').length > 22`)
	b.Until("the kinds can be chosen", `document.querySelectorAll('.elaboration .check').length === 5`)
	b.Do(pagetest.Typed("#lead-row", "C: I IV V I"))
	// Another key.
	b.Do(pagetest.Chosen(".row-settings label:nth-of-type(4) select", "Eb"))
	b.Until("the row is in another key", `document.querySelector('#lead-row').value.startsWith('Eb:')`)
	b.Until("so is the phrase", `document.querySelectorAll('.changes button').length === 3 && !document.querySelector('.lead-voices').hasAttribute('aria-busy')`)
	// What is heard is told by the notes that sound.
	b.Press("Hear all")
	b.Press("Stop")

	// In the other language nothing is left unsaid.
	b.Do(pagetest.Chosen(".head select", "de"))
	b.Until("it is led in German", `document.documentElement.lang === 'de' && document.querySelectorAll('.option').length > 2`)
	if raw := pagetest.Value[[]string](b, `document.body.innerText.match(/\b(lead|rule|severity)\.[a-z-]+/g) ?? []`); len(raw) > 0 {
		t.Errorf("words are missing: %v", raw)
	}
	b.Axe("lead voices in German")
	// A phone.
	b.Do(chromedp.EmulateViewport(390, 844))
	b.Until("it is engraved for the width", `document.querySelector('.lead-voices .score-page svg') && document.documentElement.scrollWidth <= 390`)
	b.Axe("lead voices on a phone")
}

// TestSoundIsWhatIsWritten measures what is rendered without playing it: pitch by
// counting how well the sound repeats after a period of it, level, silence of muted voices, equal
// loudness. A4 is 440 Hz (ISO 16), a semitone the twelfth root of 2.
func TestSoundIsWhatIsWritten(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 800, 600)
	b.Do(pagetest.Script(`import(document.querySelector('script[type=module]').src.replace('main.js', 'sound.js')).then((m) => { globalThis.sound = m; })`))
	b.Until("the module is there", `globalThis.sound`)
	b.Do(pagetest.Script(`globalThis.pitchOf = async (midi, timbre) => {
		const buffer = await sound.render([{ onset: 0, duration: 2, midi, voice: 'S' }], { tempo: 60, timbre });
		const data = buffer.getChannelData(0).subarray(13230, 13230 + 44100);
		// The lag of the best autocorrelation between 40 Hz and 1500 Hz, between samples by a parabola.
		const at = (lag) => { let sum = 0; for (let i = 0; i < 8192; i++) sum += data[i] * data[i + lag]; return sum; };
		let best = 0, most = -Infinity;
		const all = [];
		for (let lag = 29; lag < 1103; lag++) { all[lag] = at(lag); if (all[lag] > most) [best, most] = [lag, all[lag]]; }
		// The first peak that is nearly as high is the period.
		for (let lag = 30; lag < best; lag++) if (all[lag] > 0.93 * most && all[lag] >= all[lag - 1] && all[lag] >= all[lag + 1]) { best = lag; break; }
		const [l, c, r] = [all[best - 1], all[best], all[best + 1]];
		return 44100 / (best + (l - r) / (2 * (l - 2 * c + r)));
	};`))
	for _, timbre := range []string{"piano", "choir"} {
		for _, midi := range []int{43, 55, 60, 69, 76} {
			want := 440 * math.Pow(2, float64(midi-69)/12)
			got := pagetest.Value[float64](b, fmt.Sprintf("pitchOf(%d, %q)", midi, timbre))
			if cents := 1200 * math.Log2(got/want); math.Abs(cents) > 12 {
				t.Errorf("%s, MIDI %d: %.1f Hz, want %.1f (%.0f cents away)", timbre, midi, got, want, cents)
			}
		}
	}
	levels := pagetest.Value[[]float64](b, `(async () => {
		const peak = (buffer) => Math.max(...[0, 1].map((c) => buffer.getChannelData(c).reduce((a, x) => Math.max(a, Math.abs(x)), 0)));
		const chord = [76, 72, 67, 60, 55, 48, 43, 36].map((midi, i) => ({ onset: 0, duration: 2, midi, voice: 'V' + i }));
		const out = [];
		for (const timbre of ['piano', 'choir']) {
			out.push(peak(await sound.render(chord, { timbre })), peak(await sound.render(chord, { timbre, mute: chord.map((n) => n.voice) })));
			const one = chord.slice(0, 1);
			out.push(peak(await sound.render(one, { timbre, faint: ['V0'] })) / peak(await sound.render(one, { timbre })));
			const groups = await sound.equallyLoud([chord.slice(2, 6), chord.slice(0, 2)], { timbre });
			const [x, y] = await Promise.all(groups.map((g) => sound.loudness(g, { timbre })));
			out.push(20 * Math.log10(y / x));
		}
		return out;
	})()`)
	for i, timbre := range []string{"piano", "choir"} {
		all := levels[4*i : 4*i+4]
		t.Logf("%s: eight voices peak at %.3f, muted %.6f, a faint voice %.3f of its level, two chords %.2f dB apart", timbre, all[0], all[1], all[2], all[3])
		if all[0] < 0.1 || all[0] >= 1 {
			t.Errorf("%s: eight voices peak at %.3f: too soft, or clipped", timbre, all[0])
		}
		if all[1] != 0 {
			t.Errorf("%s: muted voices are heard: %g", timbre, all[1])
		}
		if all[2] < 0.05 || all[2] > 0.25 {
			t.Errorf("%s: a faint voice is %.3f of its level", timbre, all[2])
		}
		if math.Abs(all[3]) > 0.5 {
			t.Errorf("%s: what is compared is %.2f dB apart", timbre, all[3])
		}
	}
}

// TestBassIsDroppedIntoTheRow drops a score into the view that leads voices: its bass is
// harmonized, and the other voices with it.
func TestBassIsDroppedIntoTheRow(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t)+"/#lead-voices", 1280, 900)
	b.Until("a phrase is engraved", `document.querySelectorAll('.lead-voices .score-page g.note').length === 20`)
	b.Drop(pagetest.Class(t, "worksheet.musicxml"))
	b.Until("where it comes from is said", `document.querySelector('.from-score')?.innerText.includes('worksheet.musicxml')`)
	b.Until("it is led", `document.querySelectorAll('.changes button').length === 25 && document.querySelector('.lead-voices .score-page g.note')`)
	b.Until("the row is not the one of before", `document.querySelector('#lead-row').value === '' && document.querySelector('#lead-row').placeholder === 'from worksheet.musicxml' && !document.querySelector('.trouble').innerText`)
	b.Picture("lead-dropped")
	b.Axe("lead voices from a score")
}

// TestHeldUnderAMelody opens a link to a melody with short notes, whose chords are fewer than its
// notes: what was chosen is held where it was chosen.
func TestHeldUnderAMelody(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t)+"/#lead-voices?row=C%3A+soprano+G4+A4*1%2F2+B4*1%2F2+C5+B4+%7C+C5*4&given=2%3AC5,G4,E4,C3", 1280, 900)
	b.Until("it is led", `document.querySelectorAll('.changes button').length === 4 && document.querySelector('.lead-voices .score-page g.note')`)
	b.Until("one chord is held", `document.querySelectorAll('.held-sign').length === 1 && !document.querySelector('.trouble').innerText`)
	if held := pagetest.Value[bool](b, `document.querySelectorAll('.changes button')[1].parentElement.querySelector('.held-sign') !== null`); !held {
		t.Error("another chord than the third is held")
	}
	b.Do(pagetest.Script(`location.hash = '#lead-voices?row=C%3A+soprano+G4+A4*1%2F2+B4*1%2F2+C5+B4+%7C+C5*4&given=2%3AC5,A4,E4,A3'`))
	b.Until("other notes that were chosen are led", `document.querySelector('.lead-voices').innerText.includes('vi') && !document.querySelector('.trouble').innerText`)
}

// TestMIDIKeyboardWrites plays on a keyboard that stands in for one (W3C Web MIDI: note on
// is status 0x90, note off 0x80 or a velocity of 0). A note is written with its octave, what
// is held together as the chord that it is.
func TestMIDIKeyboardWrites(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t)+"/#lead-voices?row=G%3A+soprano+G4", 1280, 900)
	b.Do(pagetest.Script(`globalThis.keys = {}; navigator.requestMIDIAccess = async () => ({ inputs: new Map([['one', keys]]) });
		globalThis.strike = (...notes) => { for (const n of notes) keys.onmidimessage({ data: [0x90, n, 80] }); for (const n of notes) keys.onmidimessage({ data: n % 2 ? [0x90, n, 0] : [0x80, n, 64] }); }`))
	b.Press("Use a MIDI keyboard")
	b.Until("it listens", `keys.onmidimessage`)
	b.Until("the button says so", `document.body.innerText.includes('The MIDI keyboard is on')`)
	b.Do(pagetest.Script(`strike(66); strike(67)`))
	b.Until("notes are written, spelled as the key has them", `document.querySelector('#lead-row').value === 'G: soprano G4 F#4 G4'`)
	b.Do(pagetest.Typed("#lead-row", "G: I"))
	b.Do(pagetest.Script(`strike(50, 57, 66, 72)`)) // D3 A3 F#4 C5
	b.Until("a chord is named", `document.querySelector('#lead-row').value === 'G: I V7'`)
}
