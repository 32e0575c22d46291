// The pupil's view of one assignment: what is asked, handing in, one's own attempts with
// what the teacher lets be seen. It asks for nothing else. A teacher looks at it under any
// reference, to see what a pupil sees.

import { h, replace, keepFocus } from './dom.js';
import { t, count } from './words.js';
import { announce } from './announce.js';
import * as service from './class-service.js';
import { takeFiles, takeDrops } from './take-files.js';
import { problemBox } from './problem-box.js';
import { chip, markOf, openness, stateChip, when, writable } from './class-words.js';
import { ScoreView } from './score-view.js';
import { closeCut } from './assignment-form.js';
import { saveButton } from './save-file.js';
import { HandInPage } from './class-hand-in.js';

export const name = 'hand-in';

export const scopes = ['hand-ins'];

export function open(root, page) { return new HandIn(root, page); }

class HandIn {
  constructor(root, page) {
    Object.assign(this, { root, page });
    this.element = h('div', { class: 'classes hand-in' });
    replace(root, this.element);
    takeDrops(root, (files) => this.send(files));
  }

  show(params) {
    // The tab in the head names no assignment: for a pupil it leads to the one that was shown.
    const id = params.get('assignment') ?? this.page.pupil?.assignment ?? (this.page.pupil && this.last);
    this.last = id;
    const reference = this.page.pupil?.reference ?? params.get('reference');
    const attempt = Number(params.get('attempt'));
    if (id && reference && attempt) {
      this.hide();
      this.looking = new HandInPage(id, reference, attempt, this.page, true);
      replace(this.root, this.looking.element);
      this.looking.begin();
      return;
    }
    replace(this.root, this.element);
    if (id === this.id && reference === this.reference && this.attempts) return;
    this.hide();
    Object.assign(this, { id, reference, attempts: undefined, problem: undefined, wrong: undefined, just: Number(params.get('just')) || undefined });
    this.begin();
  }

  hide() {
    this.looking?.close();
    this.looking = undefined;
    this.score?.close();
    this.score = this.paper = this.sheet = undefined;
    this.id = undefined;
  }

  async begin() {
    this.problem = undefined;
    this.loading = true;
    this.draw();
    try {
      if (this.id) await this.#load();
    } catch (problem) {
      this.problem = problem;
    }
    this.loading = false;
    this.draw();
    if (this.sheet && !this.score) this.#engrave();
  }

  async #load() {
    this.sheet = await service.exercise(this.id);
    this.title = /<(?:work-title|movement-title)>([^<]*)</.exec(this.sheet)?.[1];
    await this.#look();
    if (!this.reference && !this.page.pupil) this.assignment = await service.assignment(this.id);
  }

  // look asks for what changes with every attempt.
  async #look() {
    if (!this.reference) return;
    [this.assignment, this.attempts] = await Promise.all([service.task(this.id, this.reference), service.seen(this.id, this.reference)]);
  }

  async #engrave() {
    const paper = this.element.querySelector('.sheet');
    if (!paper) return;
    this.score = new ScoreView(paper, { label: t('class.sheet'), scale: innerWidth < 600 ? 34 : 44, pageHeight: 700 });
    this.score.layout = closeCut;
    this.paper = paper;
    try {
      await this.score.show(this.sheet);
    } catch { /* the sheet can be saved all the same */ }
  }

  // send hands in the first score of what was dropped or chosen.
  async send(files) {
    if (!this.reference || this.sending) return;
    this.sending = true;
    this.wrong = undefined;
    this.draw();
    announce(t('pupil.sending'));
    try {
      const scores = await takeFiles(files);
      if (scores.length > 1) throw Object.assign(new Error(), { document: { title: t('pupil.one-only'), detail: t('pupil.one-only-what') } });
      const seen = await service.handIn(this.id, this.reference, scores[0]);
      await this.#look();
      announce(`${t('pupil.taken', { n: seen.attempt })} ${seen.message ?? ''}`);
      this.just = seen.attempt;
    } catch (problem) {
      this.wrong = problem;
    }
    this.sending = false;
    this.draw();
  }

  draw() { keepFocus(this.element, () => this.#draw(), () => this.element.querySelector('h1')); }

  #draw() {
    const { assignment: a, problem, id } = this;
    this.element.setAttribute('aria-busy', String(Boolean(this.loading || this.sending)));
    const paper = this.paper ?? h('div', { class: 'paper sheet' });
    replace(this.element,
      !this.page.pupil && h('p', {}, h('a', { href: `#assignments?assignment=${encodeURIComponent(id ?? '')}` }, t('class.to-class'))),
      h('h1', { tabindex: '-1' }, a?.title ?? (this.title || t('pupil.title'))),
      problem && problemBox(problem, { again: () => this.begin() }),
      this.loading && !this.sheet && h('p', { class: 'waiting' }, t('class.loading')),
      !id && !this.loading && h('div', { class: 'nothing' }, h('p', {}, t('pupil.no-assignment'))),
      a && h('div', { class: 'glance' }, openness(a), a.closes && h('span', {}, t('class.closes-at', { when: when(a.closes) })),
        a.attempts > 0 && h('span', {}, a.left === undefined ? count('pupil.attempts-allowed', a.attempts) : count('pupil.attempts-left', a.left)),
        a.attempts !== 1 && h('span', {}, t(`pupil.counts.${a.counts}`)),
        h('span', {}, t(`pupil.sees.${a.shows}`))),
      this.sheet && [
        !this.page.pupil && this.#asWhom(),
        h('section', { class: 'plot' }, h('h2', {}, t('class.sheet')), paper,
          saveButton(t('pupil.save-sheet'), `${service.pathOf(id)}/exercise`, `${this.title || 'exercise'}.musicxml`, (wrong) => { this.wrong = wrong; this.draw(); })),
        this.reference && [this.#place(), this.#attempts()]]);
  }

  #asWhom() {
    const field = h('input', { id: 'as-reference', value: this.reference ?? '', autocomplete: 'off', maxlength: 200 });
    return h('form', { class: 'as-whom', onsubmit: (e) => { e.preventDefault(); this.page.go(name, String(new URLSearchParams({ assignment: this.id, reference: field.value.trim() }))); } },
      h('label', { for: 'as-reference' }, t('pupil.as-whom')), field, h('button', { type: 'submit' }, t('pupil.as-whom-look')),
      h('p', { class: 'small' }, t('pupil.as-whom-what')));
  }

  #place() {
    const input = h('input', { type: 'file', class: 'file', id: 'choose-hand-in', accept: '.musicxml,.xml,.mxl', onchange: (e) => e.target.files.length && this.send([...e.target.files]) });
    return h('section', { class: 'drop' },
      h('p', { class: 'drop-words' }, this.sending ? t('pupil.sending') : t('pupil.drop')),
      input, h('label', { for: 'choose-hand-in', class: 'button primary' }, t('pupil.choose')),
      h('p', { class: 'small' }, t('pupil.checked')),
      this.wrong && problemBox(this.wrong));
  }

  #attempts() {
    const { attempts } = this;
    return h('section', { class: 'plot attempts' }, h('h2', {}, t('pupil.attempts')),
      !attempts?.length && h('p', {}, t('pupil.none-yet')),
      attempts?.length > 0 && h('ol', {}, [...attempts].reverse().map((a) => this.#attempt(a))));
  }

  // #desk leads to the score of an attempt: to what was found in it, to change notes, or to both.
  #desk(a) {
    const writes = writable(a.state) && ['in-time', 'late'].includes(this.assignment?.takes);
    if (!a.findings && !writes) return undefined;
    const words = a.findings ? [t('pupil.see-findings'), writes && t('pupil.and-go-on')].filter(Boolean).join(' ') : t('pupil.go-on');
    return h('p', {}, h('a', { class: 'button', href: `#${name}?${new URLSearchParams({ assignment: this.id, reference: this.reference, attempt: a.attempt })}` }, words));
  }

  #attempt(a) {
    const { counts: c } = a;
    const released = a.mark !== undefined;
    return h('li', { class: a.attempt === this.just ? 'just' : '' },
      h('h3', {}, t('pupil.attempt', { n: a.attempt })),
      h('p', {}, stateChip(a.state)),
      a.message && h('p', {}, a.message),
      a.refused && h('p', { class: 'refused' }, a.refused),
      c && h('p', {}, [count('findings.fault', c.faults), count('findings.caution', c.cautions), count('findings.remark', c.remarks)].join(', ')),
      this.#desk(a),
      !c && h('p', { class: 'small' }, t('pupil.findings-later')),
      h('p', { class: released ? 'mark-given' : '' }, released ? t('pupil.mark', { mark: markOf(a.mark, a.available) }) : chip('doubt', '…', t('pupil.not-released'))),
      h('p', { class: 'small' }, a.note));
  }
}
