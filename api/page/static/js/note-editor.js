// Gives a note another pitch: dragged in the score, moved by the arrow keys, or typed.
// Nothing is kept until it is applied.

import { h, s, button, replace } from './dom.js';
import { t, voiceName } from './words.js';
import { parsePitch, writePitch, moved, shown, midi } from './pitch.js';
import { announce } from './announce.js';
import { play } from './sound.js';

const step = 90; // engraver's units between a line and the next space

export class NoteEditor {
  constructor(desk) {
    this.desk = desk;
    this.element = h('form', { class: 'note-editor', hidden: true, 'aria-label': t('note.title'), onsubmit: (e) => { e.preventDefault(); this.apply(); } });
  }

  // fixed is set where notes are looked at only.
  get fixed() { return !this.desk.writes; }

  // press chooses a note and lets it be dragged up and down.
  press(id, event) {
    if (!this.choose(id) || this.fixed) return;
    event.preventDefault();
    const { svg } = this.desk.score.note(id).page;
    const inner = svg.querySelector('svg.definition-scale') ?? svg;
    const units = inner.viewBox.baseVal.height / svg.getBoundingClientRect().height;
    const from = event.clientY;
    const move = (e) => this.#by(Math.round(((from - e.clientY) * units) / step));
    const end = () => {
      removeEventListener('pointermove', move);
      if (this.pitch !== this.note.pitch) this.sound();
    };
    addEventListener('pointermove', move);
    addEventListener('pointerup', end, { once: true });
    this.desk.score.element.focus({ preventScroll: true });
  }

  // choose brings a note forward, by its id; false if it has no pitch that is known.
  choose(id) {
    const found = this.#find(id);
    if (!found) return false;
    Object.assign(this, found, { pitch: found.note.pitch });
    this.draw();
    this.desk.score.mark();
    this.desk.placeChosen = { measure: this.#measureOf(found.note) };
    announce(this.#told());
    return true;
  }

  #find(id) {
    for (const { voice, notes } of this.desk.report?.voice_notes ?? []) {
      const index = notes.findIndex((n) => n.ids.includes(id));
      if (index >= 0) return { id: notes[index].ids[0], voice, index, note: notes[index], fifths: this.#fifthsAt(id) };
    }
    return undefined;
  }

  // #measureOf is the printed measure of a note: that of a finding there, or else its place.
  #measureOf(note) {
    return this.desk.report.findings.find((f) => f.measure_index === note.measure_index)?.measure ?? String(note.measure_index + 1);
  }

  // #fifthsAt is the key signature before a note, as the document has it.
  #fifthsAt(id) {
    const { xml } = this.desk;
    const until = xml.indexOf(`id="${id}"`);
    const at = xml.lastIndexOf('<fifths>', until);
    return at < 0 ? 0 : parseInt(xml.slice(at + 8, at + 12), 10) || 0;
  }

  #by(steps) {
    const was = parsePitch(this.note.pitch);
    const now = steps ? writePitch(moved(was, steps, this.fifths)) : this.note.pitch;
    if (now === this.pitch) return;
    this.pitch = now;
    this.draw();
    this.desk.score.mark();
  }

  listenTo(element) {
    element.addEventListener('keydown', (event) => {
      const act = this.#keys(event)[event.key];
      if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      act();
    });
  }

  #keys(event) {
    const one = event.shiftKey ? 7 : 1;
    const stepped = (by) => () => this.note && this.#stepped(by);
    const move = {
      ArrowRight: () => this.#along(1), ArrowLeft: () => this.#along(-1),
      PageDown: () => this.#across(1), PageUp: () => this.#across(-1), Escape: () => this.close(),
    };
    if (this.fixed) return move;
    return {
      ...move,
      ArrowUp: stepped(one), ArrowDown: stepped(-one),
      '+': () => this.#altered(1), '-': () => this.#altered(-1),
      Enter: () => this.apply(),
    };
  }

  #stepped(by) {
    this.pitch = writePitch(moved(parsePitch(this.pitch), by, this.fifths));
    this.#changed();
  }

  #altered(by) {
    if (!this.note) return;
    const p = parsePitch(this.pitch);
    this.pitch = writePitch({ ...p, alter: Math.max(-2, Math.min(2, p.alter + by)) });
    this.#changed();
  }

  #changed() {
    this.draw();
    this.desk.score.mark();
    this.sound();
    announce(this.#told());
  }

  #along(by) {
    const voices = this.desk.report?.voice_notes ?? [];
    const voice = voices.find((v) => v.voice === this.voice) ?? voices[0];
    const next = voice?.notes[this.note ? this.index + by : 0];
    if (next) this.#reach(next.ids[0]);
  }

  // #across goes to what another voice has at the same time.
  #across(by) {
    const voices = this.desk.report?.voice_notes ?? [];
    const voice = voices[voices.findIndex((v) => v.voice === this.voice) + by];
    const same = voice?.notes.findLast((n) => Number(n.measure_index) <= this.note.measure_index && value(n.onset) <= value(this.note.onset));
    if (same) this.#reach(same.ids[0]);
  }

  async #reach(id) {
    await this.desk.score.reveal(id);
    this.choose(id);
  }

  #told() {
    return t('note.told', { voice: voiceName(this.voice), measure: this.note.measure_index + 1, pitch: shown(this.pitch) });
  }

  sound() {
    const pitch = parsePitch(this.pitch);
    if (pitch) play([{ onset: 0, duration: 1, midi: midi(pitch), voice: this.voice }]);
  }

  apply() {
    const typed = this.element.querySelector('input')?.value;
    const pitch = parsePitch(typed && document.activeElement?.closest('.note-editor') ? typed : this.pitch ?? '');
    if (!this.note || !pitch) {
      if (this.note) announce(t('note.unknown'));
      return;
    }
    const edit = { note: this.id, pitch: writePitch(pitch) };
    const changed = edit.pitch !== this.note.pitch;
    this.close();
    if (changed) this.desk.apply([edit]);
  }

  close() {
    this.note = undefined;
    this.draw();
    this.desk.score.mark();
  }

  draw() {
    this.element.hidden = !this.note || this.fixed;
    if (this.element.hidden) {
      replace(this.element);
      return;
    }
    const input = h('input', { id: 'note-pitch', value: this.pitch, size: 5, autocomplete: 'off', spellcheck: 'false', 'aria-describedby': 'note-help' });
    replace(this.element,
      h('label', { for: 'note-pitch' }, t('note.pitch', { voice: voiceName(this.voice), was: shown(this.note.pitch) })),
      input,
      button('−', () => this.#stepped(-1), { 'aria-label': t('note.down') }), button('+', () => this.#stepped(1), { 'aria-label': t('note.up') }),
      h('button', { type: 'submit', class: 'primary' }, t('note.apply')),
      button(t('note.cancel'), () => this.close(), { class: 'quiet' }),
      h('p', { id: 'note-help', class: 'small' }, t('note.help')));
  }

  // decorate rings the chosen note and shows where it would go.
  decorate(page) {
    const place = this.note && page.map.notes.get(this.id);
    if (!place) return;
    page.overlay.append(s('circle', { class: 'ring editing', cx: place.x, cy: place.y, r: 230 }));
    const [was, now] = [parsePitch(this.note.pitch), parsePitch(this.pitch)];
    if (!was || !now || this.pitch === this.note.pitch) return;
    const by = now.octave * 7 + now.step - was.octave * 7 - was.step;
    const y = place.y - by * step;
    page.overlay.append(s('ellipse', { class: 'ghost', cx: place.x, cy: y, rx: 125, ry: 85 }),
      s('text', { class: 'ghost-name', x: place.x + 230, y: y + 80, text: shown(this.pitch) }));
  }
}

function value(text) {
  const [over, under = 1] = text.split('/').map(Number);
  return over / under;
}
