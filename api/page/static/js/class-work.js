// One attempt of a pupil as it is shown on a desk: what the service says about it, with the
// places of its notes. Nothing of it is changed here but by decisions.

import { History } from './history.js';
import { revise, ask } from './service.js';
import { language } from './words.js';
import * as service from './class-service.js';

const attemptPath = (id, reference, attempt) => `${service.referencePath(id, reference)}/hand-ins/${attempt}`;

export const scorePath = (w) => `${attemptPath(w.id, w.reference, w.attempt)}/score`;

export const markedPath = (w) => `${attemptPath(w.id, w.reference, w.attempt)}/marked`;

export const workOf = async (id, reference, attempt) => (await ask(attemptPath(id, reference, attempt))).json();

export class WorkSession {
  // pupil is set where no more is shown than the pupil sees, whoever looks.
  constructor({ id, reference, attempt, name, pupil }, changed) {
    Object.assign(this, { id, reference, attempt, name, pupil, changed, state: 'working', history: new History(), accepted: [], options: () => ({ language }) });
  }

  // check asks for the attempt. It can be decided on where it cannot be read or drawn, too.
  async check() {
    this.changed('state');
    try {
      this.work = await workOf(this.id, this.reference, this.attempt);
      if (this.pupil) this.work = asSeen(this.work);
      if (!this.bytes) await this.#read();
      this.report = this.work.report && this.placed && withPlaces(this.work.report, this.placed);
      Object.assign(this, { state: 'ready', problem: undefined });
    } catch (problem) {
      Object.assign(this, { state: this.work ? 'offline' : 'failed', problem });
    }
    this.changed('report');
  }

  async #read() {
    if (!this.work.report) return;
    const answer = await ask(scorePath(this));
    this.bytes = new Uint8Array(await answer.arrayBuffer());
    try {
      const { report, xml } = await revise(this, { language }, []);
      Object.assign(this, { placed: report.voice_notes, xml });
    } catch (problem) {
      // Whoever may hand in need not be allowed to check: the marked score has the marks in it.
      if (problem.document?.status !== 403) throw problem;
      Object.assign(this, { placed: this.work.report.voice_notes ?? [], xml: await (await ask(markedPath(this))).text() });
    }
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
    ...report, voice_notes: placed.map(({ voice, notes }) => ({ voice, notes: notes.map((n) => ({ ids: [], ...n })) })),
    findings: report.findings.map((f) => ({ ...f, notes: f.notes.map(place), related: (f.related ?? []).map(place) })),
  };
}

// keyOf names a finding as decisions do: those of one rule at one beat are decided together.
export const keyOf = (f) => `${f.rule}@${f.beat_exact} in ${f.measure}`;
