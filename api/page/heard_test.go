package page_test

import (
	"math"
	"partwright/api/page/pagetest"
	"slices"
	"testing"
)

// listening hears what the page sends to the loudspeakers, and notes which tones it strikes,
// when, and how loud their voice is: the gain before the one that leads to the loudspeakers.
const listening = `globalThis.struck = [];
	const { connect } = AudioNode.prototype;
	AudioNode.prototype.connect = function (to, ...more) {
		this.leads ??= to;
		if (to instanceof AudioDestinationNode && this.context instanceof AudioContext) {
			globalThis.meter ??= new AnalyserNode(this.context, { fftSize: 32768 });
			connect.call(this, meter);
		}
		return connect.call(this, to, ...more);
	};
	const { start } = OscillatorNode.prototype;
	OscillatorNode.prototype.start = function (at) {
		const path = [this];
		while (path.at(-1).leads) path.push(path.at(-1).leads);
		if (this.context instanceof AudioContext) struck.push({ at, midi: Math.round(69 + 12 * Math.log2(this.frequency.value / 440)), level: path.at(-3).gain.value });
		return start.call(this, at);
	};
	globalThis.loud = () => {
		if (!globalThis.meter) return 0;
		const heard = new Float32Array(meter.fftSize);
		meter.getFloatTimeDomainData(heard);
		return Math.sqrt(heard.reduce((sum, x) => sum + x * x, 0) / heard.length);
	};`

// TestOnlyTheFindingIsHeard hears the parallel octaves of the hand-in, C3 under C5 to D3 under
// D5 (testdata/README.md): soprano and bass are loud and the others faint, slowly, from one
// beat before; what comes out of the loudspeakers sounds, and is silent after Stop.
func TestOnlyTheFindingIsHeard(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Do(pagetest.Script(listening))
	b.Press("A hand-in with faults")
	b.Until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
	b.Press("2\nmeasure 2")
	b.Press("Hear only this")
	b.Until("all is struck", `struck.some((n) => n.midi === 74) && struck.some((n) => n.midi === 50)`)
	b.Until("it is heard", `loud() > 0.002`)
	type tone struct {
		At, Level float64
		MIDI      int
	}
	heard := pagetest.Value[[]tone](b, `struck`)
	most := 0.0
	for _, n := range heard {
		most = max(most, n.Level)
	}
	var loud, faint []int
	first, octave := math.Inf(1), math.Inf(1)
	for _, n := range heard {
		if n.Level > most/2 {
			loud = append(loud, n.MIDI)
		} else {
			faint = append(faint, n.MIDI)
		}
		first = min(first, n.At)
		if n.MIDI == 72 && n.Level > most/2 {
			octave = min(octave, n.At)
		}
	}
	for _, key := range []int{72, 74, 48, 50} {
		if !slices.Contains(loud, key) {
			t.Errorf("MIDI %d is not among the loud %v", key, loud)
		}
	}
	if len(faint) != len(loud) {
		t.Errorf("of four voices two are faint: %v, and loud: %v", faint, loud)
	}
	// A quarter note at 46 a minute.
	if before := octave - first; math.Abs(before-60.0/46) > 0.01 {
		t.Errorf("it begins %.2f s before the octave, want one beat: %.2f s", before, 60.0/46)
	}
	b.Press("Stop")
	b.Until("nothing is heard any more", `loud() < 0.0002`)
}
