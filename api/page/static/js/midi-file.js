// Standard MIDI File (MIDI 1.0, SMF format 1): a track for every voice.

const ticks = 480; // a quarter note

export function midiFile(notes, tempo = 72) {
  const voices = [...new Set(notes.map((n) => n.voice))];
  const micros = Math.round(60e6 / tempo);
  const first = track([{ at: 0, data: [0xff, 0x51, 3, (micros >> 16) & 255, (micros >> 8) & 255, micros & 255] }]);
  const tracks = voices.map((voice, i) => track(notes.filter((n) => n.voice === voice).flatMap((n) => {
    const channel = (i < 9 ? i : i + 1) & 15; // the tenth is for drums
    return [
      { at: Math.round(n.onset * ticks), data: [0x90 | channel, n.midi, 80] },
      { at: Math.round((n.onset + n.duration) * ticks), data: [0x80 | channel, n.midi, 64] },
    ];
  })));
  const all = [first, ...tracks];
  return new Uint8Array([...bytes('MThd'), 0, 0, 0, 6, 0, 1, 0, all.length, ticks >> 8, ticks & 255, ...all.flat()]);
}

function track(events) {
  let last = 0;
  // A note ends before the next one of the same pitch begins.
  const data = events.sort((a, b) => a.at - b.at || a.data[0] - b.data[0]).flatMap(({ at, data }) => {
    const wait = variable(at - last);
    last = at;
    return [...wait, ...data];
  });
  data.push(0, 0xff, 0x2f, 0);
  return [...bytes('MTrk'), ...[24, 16, 8, 0].map((by) => (data.length >> by) & 255), ...data];
}

const bytes = (text) => [...text].map((c) => c.charCodeAt(0));

// variable is a number in groups of seven bits, the high bit set in all but the last.
function variable(n) {
  const groups = [n & 127];
  while ((n >>= 7) > 0) groups.unshift((n & 127) | 128);
  return groups;
}
