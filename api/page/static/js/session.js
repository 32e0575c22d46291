// One score that is looked over: what was posted, what was changed, what was found.

import { History } from './history.js';
import { revise, fixes } from './service.js';

export class Session {
  // changed is called whenever something is to be shown anew.
  constructor({ name, bytes, history = new History(), accepted = [], options }, changed = () => {}) {
    Object.assign(this, { name, bytes, history, accepted, options, changed, state: 'working', turn: 0 });
  }

  // check posts the score with its edits. What was found before stays until it answers.
  async check() {
    const turn = ++this.turn;
    this.trying = undefined;
    this.state = this.report ? 'checking' : 'working';
    const answering = revise(this, this.#fields(), this.history.edits); // on its way before anything is drawn
    performance.mark('asked');
    this.changed('state');
    try {
      const answer = await answering;
      performance.mark('answered');
      if (turn !== this.turn) return;
      Object.assign(this, answer, { state: 'ready', problem: undefined });
    } catch (problem) {
      if (turn !== this.turn) return;
      Object.assign(this, { state: this.report && problem.offline ? 'offline' : 'failed', problem });
    }
    this.changed('report');
  }

  #fields() {
    const { rule_set, rubric, language } = this.options();
    return { rule_set, rubric, language, analysis: true, accepted: this.acceptedText() };
  }

  // acceptedText is the file of accepted findings: for every measure its rules.
  acceptedText() {
    const measures = new Map();
    for (const { measure, rule } of this.accepted) measures.set(measure, [...(measures.get(measure) ?? []), rule]);
    return [...measures].map(([measure, rules]) => `${JSON.stringify(measure)}: [${[...new Set(rules)].join(', ')}]\n`).join('');
  }

  fixesFor(number) { return fixes(this, this.#fields(), this.history.edits, number); }

  // attempt checks edits without keeping them.
  async attempt(edits) {
    const turn = this.turn;
    const answer = await revise(this, this.#fields(), [...this.history.edits, ...edits]);
    if (turn === this.turn) this.trying = { ...answer, edits };
    return answer;
  }

  apply(edits) {
    this.history = this.history.with(edits);
    return this.check();
  }

  undo() { return this.#go(this.history.undone()); }

  redo() { return this.#go(this.history.redone()); }

  #go(history) {
    this.history = history;
    return this.check();
  }

  accept(finding) {
    this.accepted = [...this.accepted, { measure: finding.measure, rule: finding.rule }];
    return this.check();
  }

  takeBack(finding) {
    this.accepted = this.accepted.filter((a) => a.measure !== finding.measure || a.rule !== finding.rule);
    return this.check();
  }
}
