// The paths of voices from one chord to the next, as a small drawing: high is high, each
// voice has a line of its own kind, the names of the notes stand at both ends.

import { s } from './dom.js';
import { parsePitch, midi, shown } from './pitch.js';

const left = 54;
const right = 146;
const semitone = 4.6;
const apart = 15; // pixels between names

export function voicePaths(from, to, words) {
  const ends = [heights(from), heights(to)];
  const top = Math.min(...ends.flatMap((e) => e.map((p) => p.name)), ...ends.flatMap((e) => e.map((p) => p.y)));
  const bottom = Math.max(...ends.flatMap((e) => e.map((p) => p.name)), ...ends.flatMap((e) => e.map((p) => p.y)));
  const svg = s('svg', { class: 'voice-paths', viewBox: `0 ${top - 12} 200 ${bottom - top + 24}`, role: 'img', 'aria-label': words });
  from.forEach((_, v) => {
    const [a, b] = [ends[0][v], ends[1][v]];
    svg.append(
      s('line', { class: `voice-line voice-${v + 1}${from[v] === to[v] ? ' kept' : ''}`, x1: left, y1: a.y, x2: right, y2: b.y }),
      s('circle', { class: 'voice-end', cx: left, cy: a.y, r: 3.5 }),
      s('circle', { class: 'voice-end', cx: right, cy: b.y, r: 3.5 }),
      s('text', { x: left - 9, y: a.name + 4.5, 'text-anchor': 'end', text: shown(from[v]) }),
      s('text', { x: right + 9, y: b.name + 4.5, text: shown(to[v]) }));
  });
  return svg;
}

// heights are those of the notes, and of their names, which may not lie over each other.
function heights(pitches) {
  const all = pitches.map((p) => ({ y: -midi(parsePitch(p)) * semitone }));
  let last = -Infinity;
  for (const place of all) {
    place.name = Math.max(place.y, last + apart);
    last = place.name;
  }
  return all;
}
