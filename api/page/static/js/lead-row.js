// A row of chords as it is typed: a key with numerals, chord symbols, or after the word
// `bass` notes with figures, after `soprano` a melody. See the contract's Progression.

const steps = 'CDEFGAB';
const semitones = [0, 2, 4, 5, 7, 9, 11];
const modes = { bass: 'notes', unfigured: 'notes', soprano: 'notes', chords: 'chords' };
const roman = /^([#b]*[ivIV]|N|Ger|It|Fr|Cad|CTo)/;

// tokens are the words of a row; chord counts those that are chords, from 0.
export function tokens(text) {
  let line = 'chords';
  let chord = 0;
  return [...text.matchAll(/\S+/g)].map(({ 0: word, index }) => {
    const token = { word, index, line, mode: modes[line] };
    const name = word.replace(/:$/, '').toLowerCase();
    if (modes[name]) line = name;
    else if (word.endsWith(':')) token.key = word.slice(0, -1);
    else if (!/^(\|+|\d+\/\d+|m\d+\S*|b\d\S*)$/.test(word)) token.chord = chord++;
    return token;
  });
}

const rewritten = (text, write) => {
  let out = '';
  let at = 0;
  for (const token of tokens(text)) {
    out += text.slice(at, token.index) + write(token);
    at = token.index + token.word.length;
  }
  return out + text.slice(at);
};

// withGiven puts notes into braces behind the words that have some, from the top voice
// down; those are numbered by chord, places has the word of each chord. A melody is given by its words.
export function withGiven(text, given, places = []) {
  const at = new Map();
  for (const [chord, notes] of given) {
    const word = places[chord] ?? chord;
    if (!at.has(word)) at.set(word, notes);
  }
  return rewritten(text, ({ word, chord, line }) => {
    const notes = at.get(chord);
    if (!notes) return word;
    const [, bare, times] = /^(.*?)(\*.*)?$/.exec(word.replace(/\{[^}]*\}/, ''));
    return `${bare}{${(line === 'soprano' ? ['-', ...notes.slice(1)] : notes).join(',')}}${times ?? ''}`;
  });
}

// placed are, for each chord that a row was voiced with, the number of the word it stands at:
// under a melody a chord lasts over short notes. Words without durations have a chord each.
export function placed(text, chords) {
  const words = tokens(text);
  const notes = words.filter((w) => w.chord !== undefined);
  if (notes.length === chords.length) return chords.map((_, i) => i);
  const metre = words.find((w) => /^\d+\/\d+$/.test(w.word))?.word ?? '4/4';
  const [beats, kind] = metre.split('/').map(Number);
  const beat = (beats > 3 && beats % 3 === 0 ? 12 : 4) / kind;
  let at = 0;
  const onsets = notes.map(({ word }) => {
    const onset = at;
    at += beat * quotient(/\*(.+)$/.exec(word)?.[1] ?? '1');
    return onset;
  });
  return chords.map((c) => onsets.findLastIndex((o) => o <= quotient(c.onset) + 1e-6));
}

// quotient is a number that may be written as a fraction.
const quotient = (text) => text.split('/').map(Number).reduce((a, b) => a / b);

export const chordsOf = (text) => tokens(text).filter((w) => w.chord !== undefined).length;

// keyOf is the first key of a row.
export const keyOf = (text) => tokens(text).find((w) => w.key)?.key;

const parse = (name) => {
  const m = /^([A-Ga-g])(#+|b+)?(.*)$/.exec(name);
  return m && { step: steps.indexOf(m[1].toUpperCase()), alter: (m[2]?.length ?? 0) * (m[2]?.startsWith('b') ? -1 : 1), rest: m[3], small: m[1] !== m[1].toUpperCase() };
};

const write = ({ step, alter, small }) => (small ? steps[step].toLowerCase() : steps[step]) + (alter < 0 ? 'b' : '#').repeat(Math.abs(alter));

// between is how far it is from one key to another, the shorter way: steps of the staff
// and semitones.
export function between(from, to) {
  const a = parse(from);
  const b = parse(to);
  let by = (((b.step - a.step) % 7) + 7) % 7;
  let half = semitones[b.step] + b.alter - semitones[a.step] - a.alter;
  half = ((half % 12) + 12) % 12;
  if (half > 6) [by, half] = [by - 7, half - 12];
  return { by, half };
}

// moved transposes a name with what follows it; an octave is a number right behind it.
function moved(name, { by, half }) {
  const p = parse(name);
  if (!p) return name;
  const index = p.step + by;
  const step = ((index % 7) + 7) % 7;
  const octaves = Math.floor(index / 7);
  const alter = semitones[p.step] + p.alter + half - semitones[step] - 12 * octaves;
  const octave = /^(-?\d+)(.*)$/.exec(p.rest);
  return write({ ...p, step, alter }) + (octave ? Number(octave[1]) + octaves + octave[2] : p.rest);
}

export const movedPitch = (pitch, interval) => (pitch === '-' ? pitch : moved(pitch, interval));

// transposed is a row in other keys; numerals stay as they are.
export function transposed(text, interval) {
  return rewritten(text, ({ word, key, chord, mode }) => {
    if (key) return `${moved(key, interval)}:`;
    if (chord === undefined) return word;
    const [, bare, given, rest] = /^([^{]*)(\{[^}]*\})?(.*)$/.exec(word);
    const notes = given ? `{${given.slice(1, -1).split(',').map((p) => movedPitch(p.trim(), interval)).join(',')}}` : '';
    if (mode === 'notes') return moved(bare, interval) + notes + rest;
    if (roman.test(bare)) return bare + notes + rest;
    const [root, bass] = bare.split('/');
    const symbol = /^([A-G][#b]?)(.*)$/.exec(root);
    const moving = symbol ? movedRoot(symbol[1], interval) + symbol[2] : root;
    return moving + (bass ? `/${movedRoot(bass, interval)}` : '') + notes + rest;
  });
}

const movedRoot = (name, interval) => {
  const [, letter, rest] = /^([A-G][#b]*)(.*)$/.exec(name) ?? [, '', name];
  return letter ? moved(letter, interval) + rest : name;
};

// keys that a row can be moved to: at most six signs (major and minor).
export const keys = {
  major: ['C', 'Db', 'D', 'Eb', 'E', 'F', 'F#', 'G', 'Ab', 'A', 'Bb', 'B'],
  minor: ['c', 'c#', 'd', 'eb', 'e', 'f', 'f#', 'g', 'g#', 'a', 'bb', 'b'],
};

// asRow writes voiced chords as a row of numerals, with the notes that stay.
export function asRow(chords, given = () => undefined) {
  let key;
  return chords.map((c, i) => {
    const head = c.key === key ? '' : `${c.key}: `;
    key = c.key;
    const notes = given(c, i);
    return `${head}${c.numeral}${notes ? `{${notes.join(',')}}` : ''}${times(c.duration)}`;
  }).join(' ');
}

const times = (duration) => (duration === '1' ? '' : `*${duration}`);
