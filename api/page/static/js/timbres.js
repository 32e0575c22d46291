// Two tones, each made of partials: a struck string and a sung vowel. A timbre sounds one
// note: timbre(context, out, note, at, seconds), times in seconds.

const frequencyOf = (midi) => 440 * 2 ** ((midi - 69) / 12);

const waves = new WeakMap();

// wave keeps what was made of partials for a context.
function wave(context, key, amplitudes) {
  if (!waves.has(context)) waves.set(context, new Map());
  const kept = waves.get(context);
  if (!kept.has(key)) {
    const partials = amplitudes();
    const most = Math.hypot(...partials);
    const imag = new Float32Array([0, ...partials.map((a) => a / most)]);
    kept.set(key, new PeriodicWave(context, { real: new Float32Array(imag.length), imag, disableNormalization: true }));
  }
  return kept.get(key);
}

// highest is how many partials of a frequency can be heard and rendered.
const highest = (context, frequency, most) => Math.max(1, Math.min(most, Math.floor(Math.min(9000, context.sampleRate * 0.45) / frequency)));

// piano: partials that fall off, the more so the higher the note; struck, then dying away
// in two stages, the high partials first.
function piano(context, out, { midi, level = 1 }, at, seconds) {
  const frequency = frequencyOf(midi);
  const slope = 1.1 + Math.max(0, midi - 48) / 40;
  const periodic = wave(context, `piano ${midi}`, () =>
    Array.from({ length: highest(context, frequency, 16) }, (_, i) => (i + 1) ** -slope * (i === 6 ? 0.3 : 1)));
  const tone = new OscillatorNode(context, { type: 'custom', periodicWave: periodic, frequency });
  const filter = new BiquadFilterNode(context, { type: 'lowpass', frequency: Math.min(9000, frequency * 9), Q: -3 });
  filter.frequency.setValueAtTime(Math.min(9000, frequency * 9), at);
  filter.frequency.setTargetAtTime(Math.min(5000, frequency * 3), at + 0.02, 0.5);
  const gain = new GainNode(context, { gain: 0 });
  const ring = 4.5 * 2 ** ((48 - midi) / 18); // seconds; a low string rings longer
  const end = at + Math.max(0.09, seconds - 0.02);
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(1.5 * level, at + 0.006);
  gain.gain.setTargetAtTime(0.75 * level, at + 0.006, 0.12);
  gain.gain.setTargetAtTime(0, at + 0.3, ring);
  gain.gain.cancelScheduledValues(end);
  gain.gain.setTargetAtTime(0, end, 0.06);
  tone.connect(filter).connect(gain).connect(out);
  tone.start(at);
  tone.stop(end + 0.5);
}

// Formants of the vowel of "father" in hertz, and how wide they are: means of men and of
// women after Peterson and Barney (1952, table II), from memory; widths are ours.
const formants = {
  low: [[730, 90], [1090, 110], [2440, 160]],
  high: [[850, 100], [1220, 120], [2810, 170]],
};

const strengths = [1, 0.5, 0.25];

// sung is how strong a frequency is in a voice: the source falls by 12 dB an octave, the
// mouth strengthens what lies near its formants.
function sung(frequency, fundamental, vowel) {
  const source = (fundamental / frequency) ** 1.4;
  const mouth = vowel.reduce((sum, [center, width], i) => sum + strengths[i] / (1 + ((frequency - center) / (width * 1.6)) ** 2), 0.12);
  return source * mouth;
}

// choir: a sung vowel by two singers who are not quite together, with a slow vibrato that
// begins late.
function choir(context, out, { midi, level = 1 }, at, seconds) {
  const frequency = frequencyOf(midi);
  const vowel = midi < 58 ? formants.low : formants.high;
  const periodic = wave(context, `choir ${midi}`, () =>
    Array.from({ length: highest(context, frequency, 40) }, (_, i) => sung(frequency * (i + 1), frequency, vowel)));
  const gain = new GainNode(context, { gain: 0 });
  const end = at + Math.max(0.12, seconds - 0.04);
  gain.gain.setValueAtTime(0, at);
  gain.gain.setTargetAtTime(0.5 * level, at, Math.min(0.05, seconds / 5));
  gain.gain.setTargetAtTime(0, end, 0.08);
  gain.connect(out);
  const vibrato = new OscillatorNode(context, { frequency: 5.2 });
  const depth = new GainNode(context, { gain: 0 });
  depth.gain.setValueAtTime(0, at);
  depth.gain.setTargetAtTime(9, at + 0.25, 0.35); // cents
  vibrato.connect(depth);
  for (const detune of [-4, 4]) {
    const tone = new OscillatorNode(context, { type: 'custom', periodicWave: periodic, frequency, detune });
    depth.connect(tone.detune);
    tone.connect(gain);
    tone.start(at);
    tone.stop(end + 0.6);
  }
  vibrato.start(at);
  vibrato.stop(end + 0.6);
}

export const timbres = { piano, choir };
