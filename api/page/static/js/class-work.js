// One attempt of a pupil as it is shown on a desk: what the service says about it, with the
// places of its notes. Its teacher changes nothing of it but by decisions; its pupil may
// change notes, to hand it in once more.

import { History } from './history.js';
import { keep, kept } from './draft.js';
import { ask } from './service.js';
import { language } from './words.js';
import * as service from './class-service.js';

const attemptPath = (id, reference, attempt) => `${service.referencePath(id, reference)}/hand-ins/${attempt}`;

export const scorePath = (w) => `${attemptPath(w.id, w.reference, w.attempt)}/score`;

export const markedPath = (w) => `${attemptPath(w.id, w.reference, w.attempt)}/marked`;

export const workOf = async (id, reference, attempt) => (await ask(attemptPath(id, reference, attempt))).json();

export class WorkSession {
  // pupil is set where no more is shown than the pupil sees, whoever looks.
  constructor({ id, reference, attempt, name, pupil }, changed) {
    Object.assign(this, { id, reference, attempt, name, pupil, changed, state: 'working', accepted: [], options: () => ({ language }), turn: 0 });
    this.history = new History((pupil && kept(this.#draft)) || []);
  }

  // #draft is under which name this browser keeps what was changed and not handed in.
  get #draft() { return `edits ${this.id} ${this.reference} ${this.attempt}`; }

  // edited is how many notes are others than those that were handed in.
  get edited() { return new Set(this.history.edits.map((e) => e.note)).size; }

  // check asks for the attempt. It can be decided on where it cannot be read or drawn, too.
  async check() {
    this.changed('state');
    try {
      this.work = await workOf(this.id, this.reference, this.attempt);
      if (this.pupil) this.work = asSeen(this.work);
      if (!this.placed && this.work.state !== 'unreadable') await this.#read();
      this.report = this.placed && this.#reported();
      Object.assign(this, { state: 'ready', problem: undefined });
    } catch (problem) {
      Object.assign(this, { state: this.work ? 'offline' : 'failed', problem });
    }
    this.changed('report');
  }

  // #read asks for the score as it was handed in, and then with what was changed before.
  async #read() {
    const { score, voice_notes: placed, xml } = await service.revised(this, []);
    Object.assign(this, { read: score, placed, notes: placed, xml });
    if (!this.edited) return;
    try {
      await this.#revise();
    } catch {
      this.history = new History(); // it no longer goes with the score
    }
  }

  async #revise() {
    const turn = ++this.turn;
    const { voice_notes: notes, xml } = await service.revised(this, this.history.edits);
    if (turn === this.turn) Object.assign(this, { notes, xml });
  }

  #reported() {
    const report = this.work.report ? withPlaces(this.work.report, this.placed) : unseen(this.read);
    return { ...report, voice_notes: this.notes.map(({ voice, notes }) => ({ voice, notes: notes.map((n) => ({ ids: [], ...n })) })) };
  }

  apply(edits) { return this.#go(this.history.with(edits)); }

  undo() { return this.#go(this.history.undone()); }

  redo() { return this.#go(this.history.redone()); }

  async #go(history) {
    const before = this.history;
    this.history = history;
    try {
      await this.#revise();
      this.report = this.#reported();
      Object.assign(this, { state: 'ready', problem: undefined });
      this.#keep();
    } catch (problem) {
      Object.assign(this, { history: before, state: 'offline', problem });
    }
    this.changed('report');
  }

  #keep() { keep(this.#draft, this.history.steps.slice(0, this.history.at)); }

  // handIn hands the score in as it is now, as another attempt; a problem is the caller's to
  // show.
  async handIn() {
    const bytes = await service.revisedFile(this, this.history.edits);
    const seen = await service.handIn(this.id, this.reference, { name: 'hand-in.musicxml', bytes });
    this.history = new History();
    this.#keep();
    return seen;
  }

  // decide enters a decision about this attempt; a problem is the caller's to show.
  async decide(decision) {
    const outcomes = await service.decide(this.id, { reference: this.reference, attempt: this.attempt, ...decision });
    this.deciding = true; // what was filled in is done with
    await this.check();
    this.deciding = false;
    return outcomes;
  }
}

// unseen stands in the place of a report that a pupil may not see.
const unseen = (score) => ({ unseen: true, score, findings: [], notices: [], summary: { faults: 0, cautions: 0, remarks: 0 } });

// asSeen leaves of a teacher's answer what pupils see at this moment.
function asSeen({ outcome, ...work }) {
  if (!work.findings) Object.assign(work, { report: undefined, unmet: undefined, since: undefined });
  return work.mark === undefined ? { ...work, proposed: undefined } : work;
}

// withPlaces gives the notes of a report the ids that they have in the document that is
// drawn: by voice, onset and pitch.
function withPlaces(report, placed) {
  const ids = new Map();
  for (const { voice, notes } of placed) for (const n of notes) ids.set(`${voice} ${n.onset} ${n.pitch}`, n.ids ?? []);
  const place = (n) => ({ ...n, id: ids.get(`${n.voice} ${n.onset} ${n.pitch}`)?.[0] });
  return {
    ...report,
    findings: report.findings.map((f) => ({ ...f, notes: f.notes.map(place), related: (f.related ?? []).map(place) })),
  };
}

// keyOf names a finding as decisions do: those of one rule at one beat are decided together.
export const keyOf = (f) => `${f.rule}@${f.beat_exact} in ${f.measure}`;
