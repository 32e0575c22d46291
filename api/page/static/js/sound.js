// Plays notes. The interface: play(notes, options) returns a handle.
//
//   notes    [{onset, duration, midi, voice, level}], onset and duration in quarter notes;
//            level is 1 where nothing is said
//   tempo    quarter notes a minute
//   timbre   'piano' or 'choir' (default: what `choose` chose)
//   faint    voices that are heard in the background
//   mute     voices that are not heard
//   loop     begin again at the end until stopped
//   length   quarter notes after which a loop begins again (default: the last note's end)
//   onnote   called with each note when it sounds
//   onend    called once when it is over or stopped
//   handle   stop(), mute(voice, yes)
//
// render(notes, options) gives the same as an audio buffer, without playing it.

import { timbres } from './timbres.js';

export const timbreNames = Object.keys(timbres);
let chosen = 'piano';
export const choose = (timbre) => { if (timbres[timbre]) chosen = timbre; };

const faintLevel = 0.12;
const voiceLevel = 0.05; // eight voices together stay below full scale
const wet = 0.16;
const lead = 0.08; // seconds before the first note
const ahead = 1.5; // seconds of notes that are scheduled at once

let context;

export function play(notes, options = {}) {
  context ??= new AudioContext();
  context.resume();
  return new Playing(context, notes, options);
}

class Playing {
  constructor(context, notes, options) {
    Object.assign(this, { context, options, over: false, timers: new Set() });
    this.notes = [...notes].sort((a, b) => a.onset - b.onset);
    this.quarter = 60 / (options.tempo ?? 66);
    this.length = options.length ?? endOf(notes);
    this.desk = new Desk(context, options);
    this.begin = context.currentTime + lead;
    this.next = 0;
    this.pump();
  }

  // pump schedules the notes of the next moments, and looks again soon.
  pump() {
    if (this.over) return;
    const { context, notes, quarter } = this;
    for (;;) {
      const note = notes[this.next];
      if (!note) break;
      const at = this.begin + note.onset * quarter;
      if (at > context.currentTime + ahead) break;
      this.next++;
      this.desk.sound(note, at, note.duration * quarter);
      if (this.options.onnote) this.wait(at - context.currentTime, () => this.options.onnote(note));
    }
    const end = this.begin + this.length * quarter;
    if (this.next >= notes.length && context.currentTime > end - 0.5) {
      if (!this.options.loop) {
        this.wait(end - context.currentTime, () => this.stop());
        return;
      }
      this.begin = end;
      this.next = 0;
    }
    this.wait(0.2, () => this.pump());
  }

  wait(seconds, work) {
    const timer = setTimeout(() => { this.timers.delete(timer); work(); }, Math.max(0, seconds) * 1000);
    this.timers.add(timer);
  }

  mute(voice, yes = true) { this.desk.voice(voice).gain.setTargetAtTime(yes ? 0 : this.desk.levelOf(voice), this.context.currentTime, 0.02); }

  stop() {
    if (this.over) return;
    this.over = true;
    this.timers.forEach(clearTimeout);
    this.desk.close();
    this.options.onend?.();
  }
}

const endOf = (notes) => Math.max(0, ...notes.map((n) => n.onset + n.duration));

// Desk has a gain for each voice, one for all, and the room.
class Desk {
  constructor(context, { timbre, faint = [], mute = [] }) {
    Object.assign(this, { context, faint, muted: mute, voices: new Map() });
    this.timbre = timbres[timbre ?? chosen] ?? timbres.piano;
    this.out = new GainNode(context, { gain: 1 });
    this.room = new ConvolverNode(context, { buffer: roomOf(context), disableNormalization: true });
    this.out.connect(context.destination);
    this.out.connect(new GainNode(context, { gain: wet })).connect(this.room).connect(context.destination);
  }

  levelOf(voice) { return voiceLevel * (this.faint.includes(voice) ? faintLevel : 1); }

  voice(name) {
    if (!this.voices.has(name)) {
      const gain = new GainNode(this.context, { gain: this.muted.includes(name) ? 0 : this.levelOf(name) });
      gain.connect(this.out);
      this.voices.set(name, gain);
    }
    return this.voices.get(name);
  }

  sound(note, at, seconds) { this.timbre(this.context, this.voice(note.voice), note, at, seconds); }

  close() {
    const { context, out, room } = this;
    out.gain.setTargetAtTime(0, context.currentTime, 0.02);
    setTimeout(() => { out.disconnect(); room.disconnect(); }, 1500);
  }
}

const rooms = new WeakMap();

// roomOf is the answer of a small room to a clap: noise that dies away within a second,
// the high of it first. It is always the same.
function roomOf(context) {
  if (rooms.has(context)) return rooms.get(context);
  const rate = context.sampleRate;
  const buffer = new AudioBuffer({ length: Math.round(rate * 0.9), numberOfChannels: 2, sampleRate: rate });
  for (let channel = 0; channel < 2; channel++) {
    const data = buffer.getChannelData(channel);
    let seed = 20 + channel;
    let smooth = 0;
    for (let i = 0; i < data.length; i++) {
      seed = (seed * 16807) % 2147483647;
      const time = i / rate;
      const keep = Math.min(0.9, 0.35 + time);
      smooth = keep * smooth + (1 - keep) * ((seed / 2147483647) * 2 - 1);
      data[i] = time < 0.012 ? 0 : smooth * Math.exp(-time * 6.9) * 0.35;
    }
  }
  rooms.set(context, buffer);
  return buffer;
}

// render gives what play would play once as an audio buffer.
export function render(notes, { tempo = 66, tail = 1, rate = 44100, channels = 2, through, ...options } = {}) {
  const quarter = 60 / tempo;
  const seconds = endOf(notes) * quarter + tail;
  const offline = new OfflineAudioContext({ numberOfChannels: channels, length: Math.ceil(seconds * rate), sampleRate: rate });
  const desk = new Desk(offline, options);
  if (through) {
    desk.out.disconnect();
    through(offline, desk.out).connect(offline.destination);
  }
  for (const note of notes) desk.sound(note, note.onset * quarter, note.duration * quarter);
  return offline.startRendering();
}

// loudness is how loud notes are in all, after the filter of ITU-R BS.1770: a shelf for
// the head and a high pass, then the mean square.
export async function loudness(notes, options = {}) {
  if (!notes.length) return 0;
  const buffer = await render(notes, {
    ...options, rate: 22050, channels: 1, tail: 0.1,
    through: (offline, from) => from
      .connect(new BiquadFilterNode(offline, { type: 'highshelf', frequency: 1500, gain: 4 }))
      .connect(new BiquadFilterNode(offline, { type: 'highpass', frequency: 38, Q: -6 })),
  });
  const data = buffer.getChannelData(0);
  let sum = 0;
  for (const x of data) sum += x * x;
  return Math.sqrt(sum / data.length);
}

// equallyLoud gives groups of notes levels at which all are as loud as the first.
export async function equallyLoud(groups, options) {
  const all = await Promise.all(groups.map((notes) => loudness(notes, options)));
  return groups.map((notes, i) => {
    const level = all[i] > 0 ? Math.min(2, Math.max(0.5, all[0] / all[i])) : 1;
    return notes.map((n) => ({ ...n, level: (n.level ?? 1) * level }));
  });
}
