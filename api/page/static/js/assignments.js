// The teacher's view of assignments: those that there are, how to set one, how a class did
// in one, and what one pupil handed in. The address says which of these is shown.

import { h, button, replace } from './dom.js';
import { t } from './words.js';
import { announce } from './announce.js';
import { bind, choose } from './launch.js';
import { assignments } from './class-service.js';
import { Problem } from './service.js';
import { problemBox } from './problem-box.js';
import { AssignmentForm } from './assignment-form.js';
import { ClassPage } from './class-page.js';
import { HandInPage } from './class-hand-in.js';
import { openness, when } from './class-words.js';

export const name = 'assignments';

export const scopes = ['classes'];

export function open(root, page) { return new Assignments(root, page); }

class Assignments {
  constructor(root, page) { Object.assign(this, { root, page }); }

  show(params) {
    this.hide();
    this.part = this.#partFor(params);
    replace(this.root, this.part.element);
    this.part.begin();
  }

  #partFor(params) {
    const id = params.get('assignment');
    if (params.has('new')) return new AssignmentForm((made) => this.page.go(name, `assignment=${encodeURIComponent(made.id)}`));
    const reference = params.get('reference');
    if (id && reference) return new HandInPage(id, reference, Number(params.get('attempt')) || undefined, this.page);
    if (id) return new ClassPage(id, this.page);
    return new List(this.page);
  }

  hide() {
    this.part?.close();
    this.part = undefined;
  }
}

class List {
  constructor(page) {
    this.page = page;
    this.element = h('div', { class: 'classes' });
  }

  // #forLink offers an assignment to the link of a learning system that has none yet, or
  // that asks to choose one.
  #forLink(id) {
    const { launched: l } = this.page;
    if (!l || (l.kind !== 'deep-linking' && l.assignment)) return undefined;
    return button(t('class.for-link'), async () => {
      if (l.kind === 'deep-linking') {
        choose(id);
        return;
      }
      try {
        await bind(id);
        l.assignment = id;
        announce(t('class.for-link-done'));
        this.page.go(name, `assignment=${encodeURIComponent(id)}`);
      } catch (problem) {
        this.problem = problem;
        this.#draw();
      }
    });
  }

  async begin() {
    this.#draw();
    try {
      this.all = (await assignments()).reverse();
      this.problem = undefined;
    } catch (problem) {
      this.problem = problem;
    }
    this.#draw();
  }

  close() {}

  #draw() {
    const { all, problem } = this;
    const off = problem instanceof Problem && problem.document.status === 404;
    this.element.setAttribute('aria-busy', String(!all && !problem));
    replace(this.element,
      h('h1', {}, t('class.title')), h('p', { class: 'lead' }, t('class.what')),
      off && h('div', { class: 'problem' }, h('h2', {}, t('class.off')), h('p', {}, t('class.off-what')), h('code', {}, 'partwright serve --data-dir ./data')),
      problem && !off && problemBox(problem, { again: () => this.begin() }),
      !off && h('p', {}, h('a', { class: 'button primary', href: `#${name}?new` }, t('class.new'))),
      !all && !problem && h('p', { class: 'waiting' }, t('class.loading')),
      all?.length === 0 && h('div', { class: 'nothing' }, h('p', {}, t('class.none')), h('p', { class: 'small' }, t('class.none-what'))),
      all?.length > 0 && h('ul', { class: 'class-list' }, all.map((a) => this.#one(a))));
  }

  #one(a) {
    return h('li', {},
      h('a', { href: `#${name}?assignment=${encodeURIComponent(a.id)}` }, a.title),
      openness(a),
      h('span', { class: 'small' }, a.task ?? ''),
      h('span', { class: 'small' }, a.closes ? t('class.closes-at', { when: when(a.closes) }) : t('class.closes-never')),
      this.#forLink(a.id));
  }
}
