// What one pupil handed in, on the desk of the look-over: each attempt is a tab, and beside
// the score stand the proposed mark, its reasons, and what the teacher decides.

import { h, replace } from './dom.js';
import { t } from './words.js';
import { announce } from './announce.js';
import { Desk } from './desk.js';
import { WorkSession } from './class-work.js';
import { problemBox } from './problem-box.js';
import { address } from './class-address.js';
import { writable } from './class-words.js';
import { beside, nameOf } from './class-names.js';
import * as service from './class-service.js';

export class HandInPage {
  // fixed tells the desk that nothing is checked anew here.
  fixed = true;

  // pupil is set where it is shown as its pupil sees it.
  constructor(id, reference, attempt, page, pupil = false) {
    Object.assign(this, { id, reference, page, pupil, sessions: [], front: -1, wanted: attempt });
    this.element = h('div', { class: 'hand-in-page' });
  }

  get session() { return this.sessions[this.front]; }

  // writes tells whether the notes may be changed, to be handed in once more.
  get writes() { return this.pupil && ['in-time', 'late'].includes(this.task?.takes) && writable(this.session?.work?.state); }

  get back() {
    if (this.pupil) return { href: `#hand-in?${new URLSearchParams({ assignment: this.id, reference: this.reference })}`, words: t('pupil.to-assignment') };
    return { href: `#assignments?assignment=${encodeURIComponent(this.id)}`, words: t('class.to-class') };
  }

  // others lead to the hand-ins before and after in the list that the teacher came from.
  get others() {
    if (this.pupil) return [];
    const { before, after } = beside(this.id, this.reference);
    const link = (reference, words) => reference && { href: address(this.id, reference), words: t(words, { who: nameOf(reference) }) };
    return [link(before, 'class.before'), link(after, 'class.after')].filter(Boolean);
  }

  async begin() {
    replace(this.element, h('p', { class: 'classes waiting', 'aria-busy': 'true' }, t('class.loading')));
    try {
      const [seen, assignment, task] = await Promise.all([
        service.seen(this.id, this.reference), this.pupil ? undefined : service.assignment(this.id), this.pupil ? service.task(this.id, this.reference) : undefined]);
      if (this.over) return;
      Object.assign(this, { assignment, task });
      this.sessions = seen.map(({ attempt }) => this.#sessionOf(attempt));
      this.front = Math.max(0, this.wanted ? seen.findIndex((s) => s.attempt === this.wanted) : seen.length - 1);
      if (!seen.length) throw Object.assign(new Error(), { document: { title: t('class.nothing-of'), detail: t('class.nothing-of-what') } });
    } catch (problem) {
      replace(this.element, h('div', { class: 'classes' }, h('p', {}, h('a', { href: this.back.href }, this.back.words)), problemBox(problem, { again: () => this.begin() })));
      return;
    }
    this.desk = new Desk(this);
    replace(this.element, this.desk.element);
    this.desk.changed('session');
    this.#check();
  }

  #sessionOf(attempt) {
    const session = new WorkSession({ id: this.id, reference: this.reference, attempt, pupil: this.pupil, name: this.pupil ? t('pupil.attempt', { n: attempt }) : t('class.attempt-name', { who: nameOf(this.reference), n: attempt }) }, (what) => {
      if (this.over) return;
      if (session === this.session) this.desk?.changed(what);
      else this.desk?.drawTabs();
    });
    return session;
  }

  async #check() {
    for (const session of [this.session, ...this.sessions.filter((s) => s !== this.session)]) {
      if (this.over) return;
      await session.check();
    }
  }

  bringForward(index) {
    this.front = index;
    if (!this.pupil) history.replaceState(history.state, '', address(this.id, this.reference, this.session.attempt));
    this.desk.changed('session');
  }

  closeAll() { location.hash = this.back.href; }

  // handIn hands in what was changed, and goes to the attempts.
  async handIn() {
    const { attempt, message } = await this.session.handIn();
    announce(`${t('pupil.taken', { n: attempt })} ${message ?? ''}`);
    this.page.go('hand-in', String(new URLSearchParams({ assignment: this.id, reference: this.reference, just: attempt })));
  }

  // forget deletes what the pupil handed in for this assignment.
  async forget() {
    await service.forget(this.id, this.reference);
    announce(t('class.forgotten'));
    this.closeAll();
  }

  close() {
    this.over = true;
    this.desk?.close();
  }
}
