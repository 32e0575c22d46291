// Pitches as the service writes them (F#4, Bb3) and as a reader of German does (fis', B).

import { t, has } from './words.js';

const steps = 'CDEFGAB';
const semitones = [0, 2, 4, 5, 7, 9, 11];

export function parsePitch(text) {
  const m = /^([A-Ga-g])(#{1,2}|b{1,2}|♯{1,2}|♭{1,2}|x|n|♮)?(-?\d)$/.exec(text.trim());
  if (m) return { step: steps.indexOf(m[1].toUpperCase()), alter: alterOf(m[2]), octave: Number(m[3]) };
  return t('pitch-names') === 'german' ? parseGerman(text.trim()) : undefined;
}

function alterOf(sign = '') {
  if (sign === 'x') return 2;
  if (sign === 'n' || sign === '♮' || sign === '') return 0;
  return (/[#♯]/.test(sign) ? 1 : -1) * sign.length;
}

const germanSigns = { isis: 2, is: 1, '': 0, es: -1, s: -1, eses: -2, ses: -2 };

// parseGerman reads Helmholtz's names: C, c, c', fis'', b, h.
function parseGerman(text) {
  const m = /^([A-Ha-h])(isis|is|eses|ses|es|s)?([,']*|’*)$/.exec(text);
  if (!m) return undefined;
  let letter = m[1].toUpperCase();
  let alter = germanSigns[m[2] ?? ''];
  if (letter === 'B') alter -= 1;
  if (letter === 'H') letter = 'B';
  const small = m[1] === m[1].toLowerCase();
  const marks = m[3].length * (m[3].startsWith(',') ? -1 : 1);
  return { step: steps.indexOf(letter), alter, octave: (small ? 3 : 2) + marks };
}

export const writePitch = (p) => steps[p.step] + (p.alter > 0 ? '#'.repeat(p.alter) : 'b'.repeat(-p.alter)) + p.octave;

export const midi = (p) => 12 * (p.octave + 1) + semitones[p.step] + p.alter;

// shown is a pitch as the reader's language has it.
export function shown(text) {
  const p = parsePitch(text);
  if (!p) return text;
  return t('pitch-names') === 'german' ? german(p) : text.replaceAll('#', '♯').replace(/(?<=[A-G])b+/, (b) => '♭'.repeat(b.length));
}

function german(p) {
  let name = 'cdefgah'[p.step];
  if (p.alter > 0) name += 'is'.repeat(p.alter);
  if (p.alter < 0) {
    if (name === 'h') name = p.alter === -1 ? 'b' : 'heses';
    else name += (name === 'a' || name === 'e' ? 's' : 'es') + 'es'.repeat(-p.alter - 1);
  }
  if (p.octave < 3) return name[0].toUpperCase() + name.slice(1) + ','.repeat(2 - p.octave);
  return name + '’'.repeat(p.octave - 3);
}

// moved is a pitch so many steps of the staff higher, with the sign of the key.
export function moved(p, by, fifths) {
  const index = p.octave * 7 + p.step + by;
  const step = ((index % 7) + 7) % 7;
  return { step, alter: signOf(step, fifths), octave: Math.floor(index / 7) };
}

// signOf is what a key signature does to a step: sharps come in fifths from F, flats
// in fourths from B.
export function signOf(step, fifths) {
  const order = [3, 0, 4, 1, 5, 2, 6];
  const place = order.indexOf(step);
  if (fifths > 0) return place < fifths ? 1 : 0;
  return 6 - place < -fifths ? -1 : 0;
}

// keyName is a key as rows of chords write it (Eb, c#) in the reader's language.
export function keyName(name) {
  const minor = /^[a-g]/.test(name);
  const tonic = name[0].toUpperCase() + name.slice(1).replaceAll('#', '♯').replaceAll('b', '♭');
  const key = `lead.key.${name}`;
  return has(key) ? t(key) : t(minor ? 'lead.minor' : 'lead.major', { tonic });
}

// keyShown is a key as the service names it ("Eb major") in the reader's language.
export function keyShown(key) {
  const [, tonic, mode] = /^([A-G][#b]*) (major|minor)$/.exec(key) ?? [];
  return tonic ? keyName(mode === 'minor' ? tonic[0].toLowerCase() + tonic.slice(1) : tonic) : key;
}

// numeralShown is a numeral with the signs that are printed for its letters.
export const numeralShown = (numeral) => numeral.replace(/(?<=[iv])o/g, '°').replace(/(?<=^|\/)[b#]+/g, (signs) => signs.replaceAll('b', '♭').replaceAll('#', '♯'));
