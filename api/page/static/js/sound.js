// Plays notes. The interface: play(notes, options) returns a handle.
//
//   notes    [{onset, duration, midi, voice}], onset and duration in quarter notes
//   tempo    quarter notes a minute
//   faint    voices that are heard in the background
//   loop     begin again at the end until stopped
//   length   quarter notes after which a loop begins again (default: the last note's end)
//   onnote   called with each note when it sounds
//   onend    called once when it is over or stopped
//   handle   stop()

let context;

export function play(notes, { tempo = 66, faint = [], loop = false, length, onnote, onend } = {}) {
  context ??= new AudioContext();
  context.resume();
  const quarter = 60 / tempo;
  const end = length ?? Math.max(0, ...notes.map((n) => n.onset + n.duration));
  const out = new GainNode(context, { gain: 0.2 });
  out.connect(context.destination);
  const timers = new Set();
  let over = false;
  const handle = {
    stop() {
      if (over) return;
      over = true;
      timers.forEach(clearTimeout);
      out.gain.setTargetAtTime(0, context.currentTime, 0.02);
      setTimeout(() => out.disconnect(), 200);
      onend?.();
    },
  };
  const wait = (seconds, work) => {
    const timer = setTimeout(() => { timers.delete(timer); work(); }, seconds * 1000);
    timers.add(timer);
  };
  const once = () => {
    const begin = context.currentTime + 0.06;
    for (const note of notes) {
      sound(out, note, begin + note.onset * quarter, note.duration * quarter, faint.includes(note.voice) ? 0.12 : 1);
      if (onnote) wait(note.onset * quarter + 0.06, () => onnote(note));
    }
    wait(end * quarter + 0.06, () => (loop && !over ? once() : handle.stop()));
  };
  once();
  return handle;
}

function sound(out, note, at, seconds, level) {
  const frequency = 440 * 2 ** ((note.midi - 69) / 12);
  const gain = new GainNode(context, { gain: 0 });
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(level, at + 0.02);
  gain.gain.setTargetAtTime(0, at + Math.max(0.05, seconds - 0.06), 0.05);
  const tone = new OscillatorNode(context, { type: 'triangle', frequency });
  tone.connect(gain).connect(out);
  tone.start(at);
  tone.stop(at + seconds + 0.4);
}
