// What is heard of a report: all of it, a finding from one beat before, two versions in
// turn.

import { play, equallyLoud } from './sound.js';

// fraction reads "3/2" or "7".
export function fraction(text) {
  const [over, under = 1] = String(text).split('/').map(Number);
  return over / under;
}

// notesOf are the sounding notes of a report, in quarter notes.
export function notesOf(report) {
  return report.voice_notes.flatMap(({ voice, notes }) =>
    notes.filter((n) => n.midi !== undefined).map((n) => ({
      voice, onset: fraction(n.onset), duration: fraction(n.duration), midi: n.midi, ids: n.ids,
    })));
}

// spanOf is from one beat before a finding's first note to the end of its last.
export function spanOf(report, finding) {
  const ids = new Set(finding.notes.map((n) => n.id));
  const onsets = finding.notes.map((n) => fraction(n.onset));
  const concerned = notesOf(report).filter((n) => n.ids.some((id) => ids.has(id)));
  const to = Math.max(...onsets.map((o) => o + 0.5), ...concerned.map((n) => n.onset + Math.min(n.duration, 4)));
  return { from: Math.max(0, Math.min(...onsets) - 1), to };
}

// within cuts notes to a span and lets it begin at 0.
export function within(notes, { from, to }, offset = 0) {
  return notes.filter((n) => n.onset < to && n.onset + n.duration > from).map((n) => {
    const onset = Math.max(n.onset, from);
    return { ...n, onset: onset - from + offset, duration: Math.min(n.onset + n.duration, to) - onset };
  });
}

let sounding;

// hush stops what sounds.
export function hush() {
  sounding?.stop();
  sounding = undefined;
}

function begin(notes, options) {
  hush();
  const mine = play(notes, { ...options, onend: () => { if (sounding === mine) sounding = undefined; options.onend?.(); } });
  sounding = mine;
  return mine;
}

export const hearAll = (report, options) => begin(notesOf(report), { tempo: 72, ...options });

// hearFinding plays slowly the voices of a finding, the others faintly.
export function hearFinding(report, finding, options) {
  const others = report.voice_notes.map((v) => v.voice).filter((v) => !finding.voices.includes(v));
  return begin(within(notesOf(report), spanOf(report, finding)), { tempo: 46, faint: others, ...options });
}

// hearBoth plays a span of two reports in turn, over and over, equally loud.
export function hearBoth(before, after, finding, options) {
  const span = spanOf(before, finding);
  return hearInTurn([before, after].map((report) => within(notesOf(report), span)), { tempo: 60, each: span.to - span.from, ...options });
}

export const hearNotes = (notes, options) => begin(notes, options);

// hearInTurn plays groups of notes in turn, over and over, as loud as the first.
export async function hearInTurn(groups, { tempo = 50, rest = 1, each, ...options } = {}) {
  hush();
  const wanted = (hearInTurn.turn = (hearInTurn.turn ?? 0) + 1);
  const even = await equallyLoud(groups, { tempo });
  if (wanted !== hearInTurn.turn) return undefined;
  let offset = 0;
  const notes = even.flatMap((group) => {
    const moved = group.map((n) => ({ ...n, onset: n.onset + offset }));
    offset += (each ?? Math.max(...group.map((n) => n.onset + n.duration))) + rest;
    return moved;
  });
  return begin(notes, { tempo, loop: true, length: offset, ...options });
}
