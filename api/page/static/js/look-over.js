// The view that looks scores over. It holds which scores there are and which is in
// front, and puts the parts together: welcome, score, findings.

import { replace } from './dom.js';
import { t, count, language } from './words.js';
import { announce } from './announce.js';
import { Session } from './session.js';
import { History } from './history.js';
import { keep, kept } from './draft.js';
import { takeFiles, takeDrops } from './take-files.js';
import { welcome } from './welcome.js';
import { Desk } from './desk.js';
import { problemBox } from './problem-box.js';
import { askSoon } from './options.js';
import { ask, askJSON } from './service.js';

export const name = 'look-over';

export const scopes = ['scores'];

export function open(root, page) {
  return new LookOver(root, page);
}

class LookOver {
  constructor(root, page) {
    Object.assign(this, { root, page, sessions: [], front: -1 });
    this.options = kept('options') ?? { rule_set: '', rubric: '' };
    this.release = takeDrops(root, (files) => this.take(files));
    askSoon();
    const draft = kept('draft');
    if (draft?.scores?.length) this.#restore(draft);
    else this.#draw();
  }

  get session() { return this.sessions[this.front]; }

  show(params) {
    const batch = params.get('batch');
    if (batch) this.#takeFromBatch(batch, params.get('score'));
  }

  hide() {}

  // take opens files that were dropped or chosen: the first in front, all checked. What is
  // at work gives way only to what can be read.
  async take(files) {
    let sessions;
    try {
      sessions = (await takeFiles(files)).map((score) => this.#sessionOf(score));
      if (this.session?.report && sessions.length === 1) await this.#tried(sessions[0]);
    } catch (problem) {
      this.#refuse(problem);
      return;
    }
    this.#open(sessions, 0);
    announce(count('look-over.opened', sessions.length));
  }

  // #tried checks a score before anything is given up for it.
  async #tried(session) {
    announce(t('desk.working'));
    await session.check();
    if (session.problem && !session.report) throw Object.assign(session.problem, { name: session.name });
  }

  async #takeFromBatch(batch, number) {
    const path = `/v1/batches/${encodeURIComponent(batch)}/scores/${encodeURIComponent(number)}`;
    try {
      const [{ file }, answer] = await Promise.all([askJSON(path), ask(`${path}/marked`, { headers: { Accept: 'application/vnd.recordare.musicxml+xml' } })]);
      const bytes = new Uint8Array(await answer.arrayBuffer());
      this.#open([Object.assign(this.#sessionOf({ name: file, bytes }), { batch })], 0);
      history.replaceState(null, '', `#${name}`);
    } catch (problem) {
      this.#refuse(problem);
    }
  }

  #sessionOf(score) {
    const session = new Session({ ...score, options: () => ({ ...this.options, language }) }, (what) => this.#changed(session, what));
    return session;
  }

  #open(sessions, front) {
    this.desk?.close();
    this.desk = this.refused = undefined;
    this.sessions = sessions;
    this.front = front;
    const { session } = this;
    if (!session || session.report) this.#draw();
    if (session) this.#checkAll(); // the first check draws, once the score is on its way
  }

  // #checkAll begins with the score in front.
  async #checkAll(anew = false) {
    const sessions = this.sessions;
    for (const session of [this.session, ...sessions.filter((s) => s !== this.session)]) {
      if (this.sessions !== sessions) return;
      if (anew || !session.report) await session.check();
    }
    if (sessions === this.sessions) this.#keep();
  }

  bringForward(index) {
    this.front = index;
    this.#draw();
    this.#keep();
  }

  setOption(option, value) {
    this.options = { ...this.options, [option]: value };
    keep('options', this.options);
    this.#checkAll(true);
  }

  closeAll() {
    this.#open([], -1);
    this.#keep();
    announce(t('look-over.closed'));
  }

  #changed(session, what) {
    if (!this.sessions.includes(session)) return; // it is only tried
    if (session === this.session) {
      if (what === 'report' && session.problem && !session.report) this.#draw();
      else if (this.desk) this.desk.changed(what);
      else if (what === 'state') this.#drawSoon();
      else this.#draw();
      if (what === 'report' && session.report && !session.problem) announce(summary(session.report));
    } else this.desk?.drawTabs();
    if (what === 'report') this.#keep();
  }

  #keep() {
    const scores = this.sessions.map(({ name, bytes, history, accepted }) => ({ name, bytes, steps: history.steps, at: history.at, accepted }));
    this.kept = keep('draft', { scores, front: this.front });
  }

  #restore({ scores, front }) {
    this.restored = true;
    this.#open(scores.map((s) => this.#sessionOf({ name: s.name, bytes: s.bytes, history: new History(s.steps, s.at), accepted: s.accepted })), Math.max(0, front));
  }

  // #refuse says what is wrong; what was at work stays.
  #refuse(problem) {
    announce(t('problem.title'));
    if (this.desk) {
      this.refused = problem;
      this.desk.changed('state');
      return;
    }
    replace(this.root, problemBox(problem), welcome((files) => this.take(files)));
  }

  // pass puts away what was said of a file that was refused.
  pass() {
    this.refused = undefined;
    this.desk?.changed('state');
  }

  // #drawSoon says that a score is being checked, unless what was found comes at once: to draw
  // the desk twice would keep the reader waiting.
  #drawSoon() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.#draw(), 120);
  }

  #draw() {
    clearTimeout(this.soon);
    const { session } = this;
    if (!session) {
      replace(this.root, welcome((files) => this.take(files)));
      return;
    }
    if (!session.report && session.problem) {
      this.desk?.close();
      this.desk = undefined;
      replace(this.root, problemBox(session.problem, { name: session.name, again: () => session.check() }),
        welcome((files) => this.take(files)));
      return;
    }
    if (!this.desk) {
      this.desk = new Desk(this);
      replace(this.root, this.desk.element);
    }
    this.desk.changed('session');
  }
}

export const summary = (report) => {
  const { faults, cautions, remarks } = report.summary;
  if (!report.findings.length) return t('findings.none');
  return [count('findings.fault', faults), count('findings.caution', cautions), count('findings.remark', remarks)].join(', ');
};
