// Intervals between pitches as the service writes them (F#4).

import { parsePitch, midi } from './pitch.js';

const perfect = new Set([1, 4, 5]);
const sizes = [0, 2, 4, 5, 7, 9, 11];

// interval is the quality and number of an interval from the lower pitch to the higher,
// such as P5 or m10: simple within two octaves.
export function interval(high, low) {
  let a = parsePitch(high);
  let b = parsePitch(low);
  const place = (p) => p.octave * 7 + p.step;
  if (place(a) < place(b) || (place(a) === place(b) && midi(a) < midi(b))) [a, b] = [b, a];
  const steps = place(a) - place(b);
  const half = midi(a) - midi(b);
  const simple = steps % 7;
  const off = half - 12 * Math.floor(steps / 7) - sizes[simple];
  const kind = perfect.has(simple + 1)
    ? { '-2': 'dd', '-1': 'd', 0: 'P', 1: 'A', 2: 'AA' }[off]
    : { '-3': 'dd', '-2': 'd', '-1': 'm', 0: 'M', 1: 'A', 2: 'AA' }[off];
  return { name: `${kind ?? '?'}${steps + 1 > 15 ? ((steps - 1) % 7) + 2 : steps + 1}`, perfect: kind === 'P' && simple !== 3, simple: simple + 1 };
}

// pairs are the intervals of every pair of voices before and after a change; again is set
// where both move and the same perfect interval comes twice.
export function pairs(voices, from, to) {
  const all = [];
  for (let i = 0; i < voices.length; i++) {
    for (let k = i + 1; k < voices.length; k++) {
      const before = interval(from[i], from[k]);
      const after = interval(to[i], to[k]);
      const moves = from[i] !== to[i] && from[k] !== to[k];
      all.push({ high: voices[i], low: voices[k], before: before.name, after: after.name, again: moves && before.perfect && after.perfect && before.simple === after.simple });
    }
  }
  return all;
}
