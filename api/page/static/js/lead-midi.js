// Notes from a MIDI keyboard (W3C Web MIDI), where the browser has it. What is held
// together is one chord: a single note is written with its octave, several are named.

import { button } from './dom.js';
import { t } from './words.js';
import { askJSON } from './service.js';

const letters = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };
const sharps = ['C', 'C#', 'D', 'D#', 'E', 'F', 'F#', 'G', 'G#', 'A', 'A#', 'B'];
const flats = ['C', 'Db', 'D', 'Eb', 'E', 'F', 'Gb', 'G', 'Ab', 'A', 'Bb', 'B'];
const styles = { 3: 'three-voices', 4: 'chorale', 5: 'five-voices' };
const fifths = { C: 0, G: 1, D: 2, A: 3, E: 4, B: 5, 'F#': 6, F: -1, Bb: -2, Eb: -3, Ab: -4, Db: -5, Gb: -6 };

// spelled is a key of the keyboard as a key of music spells it: flats in flat keys, and
// the raised leading tone in minor.
export function spelled(number, key) {
  const minor = /^[a-g]/.test(key);
  const tonic = key[0].toUpperCase() + key.slice(1);
  const signs = (fifths[tonic] ?? 0) - (minor ? 3 : 0);
  const octave = Math.floor(number / 12) - 1;
  const tonicClass = (letters[tonic[0]] + (tonic[1] === '#' ? 1 : tonic[1] === 'b' ? -1 : 0) + 12) % 12;
  if (minor && (number - tonicClass + 120) % 12 === 11) {
    const letter = 'GABCDEF'['ABCDEFG'.indexOf(tonic[0])];
    const alter = ((number % 12) - letters[letter] + 18) % 12 - 6;
    return letter + (alter < 0 ? 'b'.repeat(-alter) : '#'.repeat(alter)) + (letter === 'B' && alter > 0 ? octave - 1 : octave);
  }
  return (signs < 0 ? flats : sharps)[number % 12] + octave;
}

let access;

export function midiKeyboard(played, keyNow) {
  if (!navigator.requestMIDIAccess) return undefined;
  if (access) listen(access, played, keyNow);
  return button(access ? t('lead.midi-on') : t('lead.midi'), async (event) => {
    const sign = event.target;
    try {
      access = await navigator.requestMIDIAccess();
      listen(access, played, keyNow);
      sign.textContent = t(access.inputs.size ? 'lead.midi-on' : 'lead.midi-none');
    } catch {
      sign.textContent = t('lead.midi-no');
    }
  });
}

function listen(from, played, keyNow) {
  const held = new Set();
  let together = [];
  for (const input of from.inputs.values()) {
    input.onmidimessage = async ({ data: [kind, number, speed] }) => {
      const down = (kind & 0xf0) === 0x90 && speed > 0;
      const up = (kind & 0xf0) === 0x80 || (kind & 0xf0) === 0x90 && speed === 0;
      if (down) {
        held.add(number);
        together.push(number);
      }
      if (!up) return;
      held.delete(number);
      if (held.size || !together.length) return;
      const notes = [...new Set(together)].sort((a, b) => b - a).map((n) => spelled(n, keyNow()));
      together = [];
      const name = await named(notes, keyNow());
      if (name) played([name]);
    };
  }
}

// named is the symbol of a chord that was played; the service names it.
async function named(notes, key) {
  if (notes.length === 1) return notes[0];
  if (!styles[notes.length]) return undefined;
  try {
    const body = JSON.stringify({ chords: `${key}: ${/^[a-g]/.test(key) ? 'i' : 'I'}`, from: notes, style: styles[notes.length], best: 1 });
    return (await askJSON('/v1/continuations', { method: 'POST', body, headers: { 'Content-Type': 'application/json' } })).from.numeral;
  } catch {
    return undefined;
  }
}
