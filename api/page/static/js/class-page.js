// One assignment: how the class did, and what the teacher does with all of it. A bar of a
// plot leads to the hand-ins behind it, a hand-in to its score.

import { h, button, replace, keepFocus } from './dom.js';
import { t, count } from './words.js';
import { announce } from './announce.js';
import * as service from './class-service.js';
import { problemBox } from './problem-box.js';
import { chip, finality, notFinal, openness, points, stateChip, when } from './class-words.js';
import { alikeList, byMark, byMeasure, byRule, lessons, wrongChords } from './class-plots.js';
import { sheets } from './class-sheets.js';
import { logList } from './class-log.js';
import { ask } from './ask-first.js';
import { overwritten } from './class-gradebook.js';
import { handInLinks } from './class-links.js';
import { copyForm, moreTimeForm } from './class-tasks.js';
import { members } from './launch.js';
import * as names from './class-names.js';
import { address } from './class-address.js';

export class ClassPage {
  constructor(id, page) {
    Object.assign(this, { id, page, only: {} });
    this.element = h('div', { class: 'classes class-page' });
  }

  async begin() {
    this.problem = undefined;
    this.loading = true;
    this.draw();
    try {
      [this.assignment, this.report, this.log] = await Promise.all([service.assignment(this.id), service.classReport(this.id), service.log(this.id)]);
      names.arrive(this.report.hand_ins);
    } catch (problem) {
      this.problem = problem;
    }
    this.loading = false;
    this.draw();
    if (this.page.launched?.names && !names.areTold()) this.#nameThem();
  }

  // #nameThem puts the course's names in the place of references, if the learning system
  // tells them.
  async #nameThem() {
    try {
      names.tell(await members());
      this.draw();
    } catch { /* references do */ }
  }

  close() { this.lessons?.close(); }

  // decide enters a decision about the whole class and looks at what has become of it.
  async decide(decision, said) {
    try {
      await service.decide(this.id, decision);
      announce(said);
    } catch (problem) {
      this.wrong = problem;
      this.draw();
      return;
    }
    this.wrong = undefined;
    await this.begin();
  }

  async remove() {
    try {
      await service.remove(this.id);
      this.page.go('assignments');
    } catch (problem) {
      this.wrong = problem;
      this.draw();
    }
  }

  // pick narrows the hand-ins to those behind a bar; the same bar again shows all.
  pick(only) {
    this.only = this.only.key === only.key ? {} : only;
    this.draw();
    announce(count('class.behind', this.behind().length));
    this.element.querySelector('.hand-ins h2')?.scrollIntoView({ block: 'nearest' });
  }

  // rows are the references, each with the attempt that counts, or else the last one; in the
  // order of arrival where references are hidden.
  rows() {
    const rows = new Map();
    for (const o of this.report.hand_ins) {
      const row = rows.get(o.reference) ?? { attempts: 0 };
      row.attempts++;
      if (o.counts || !row.outcome?.counts) row.outcome = o;
      rows.set(o.reference, row);
    }
    const all = [...rows.values()];
    if (!names.hidden()) return all;
    const number = ({ outcome }) => names.numberOf(outcome.reference);
    return all.sort((a, b) => number(a) - number(b));
  }

  behind() {
    const { pupils, tenth } = this.only;
    const top = this.report.marks.available;
    const within = ({ outcome: { mark, counts } }) => counts && typeof mark === 'number' && Math.min(9, Math.floor((10 * mark) / (top || 1))) === tenth;
    return this.rows().filter((r) => (!pupils || pupils.includes(r.outcome.reference)) && (tenth === undefined || within(r)));
  }

  nameOf(reference) { return names.nameOf(reference); }

  draw() { keepFocus(this.element, () => this.#draw(), () => this.element.querySelector('h1')); }

  #draw() {
    const { assignment: a, report, problem, wrong } = this;
    this.element.setAttribute('aria-busy', String(this.loading === true));
    replace(this.element,
      h('p', { class: 'not-printed' }, h('a', { href: '#assignments' }, t('class.all'))),
      h('h1', { tabindex: '-1' }, a?.title ?? t('class.title')),
      problem && problemBox(problem, { again: () => this.begin() }),
      this.loading && !report && h('p', { class: 'waiting' }, t('class.loading')),
      a && report && [this.#summary(), this.#finality(), this.#tools(), wrong && problemBox(wrong)],
      a && report && (report.hand_ins.length ? this.#results() : this.#nobody()),
      a && this.log?.length > 0 && logList(this.log, (reference) => this.nameOf(reference)));
    if (this.lessons && !this.lessons.drawn) this.lessons.begin();
  }

  #finality() {
    const counted = this.report.hand_ins.filter((o) => o.counts);
    if (!counted.length) return undefined;
    return counted.every((o) => o.released) ? h('p', { class: 'not-final' }, t('class.all-final')) : notFinal();
  }

  #summary() {
    const { assignment: a, report } = this;
    const counted = report.hand_ins.filter((o) => o.counts);
    const released = counted.filter((o) => o.released).length;
    const { marks } = report;
    return h('div', { class: 'glance' },
      openness(a),
      a.closes && h('span', {}, t('class.closes-at', { when: when(a.closes) })),
      h('span', {}, count('class.handed-in', report.handed_in)),
      report.not_handed_in.length > 0 && h('span', {}, t('class.missing', { who: report.not_handed_in.map((r) => this.nameOf(r)).join(', ') })),
      counted.length > 0 && (released === counted.length ? chip('well', '✓', t('class.all-released')) : chip('doubt', '…', t('class.released-of', { n: released, of: counted.length }))),
      marks.count > 0 && h('span', {}, t('class.mean', { mean: points(Math.round(marks.mean * 10) / 10), median: points(marks.median), available: points(marks.available) })));
  }

  #tools() {
    const counted = this.report.hand_ins.filter((o) => o.counts);
    const some = counted.length > 0;
    const open = counted.filter((o) => !o.released).length;
    return h('div', { class: 'tools', role: 'toolbar', 'aria-label': t('desk.tools') },
      h('div', { class: 'group' },
        ask(t('class.release-all'), {
          question: count('class.release-ask', open), yes: t('class.release'), disabled: !open, primary: true,
          before: () => overwritten(this.id, (reference) => this.nameOf(reference)),
          act: () => this.decide({ do: 'release' }, t('class.released-done')),
        }),
        ask(t('class.take-back-all'), {
          question: t('class.take-back-ask'), yes: t('class.take-back'), disabled: !some || open === counted.length,
          act: () => this.decide({ do: 'take-back' }, t('class.taken-back')),
        })),
      h('div', { class: 'group' }, sheets(this), button(t('class.print'), () => this.print(), { disabled: !some })),
      h('div', { class: 'group' },
        button(t('class.hide-references'), () => { names.hide(!names.hidden()); this.draw(); }, { class: 'toggle', 'aria-pressed': String(names.hidden()), disabled: !some }),
        button(t('class.look-again'), () => this.begin())),
      h('div', { class: 'group end' },
        h('a', { class: 'button', href: `#hand-in?assignment=${encodeURIComponent(this.id)}` }, t('class.as-pupil')),
        this.page.accounts && handInLinks(this),
        moreTimeForm(this),
        copyForm(this),
        ask(t('class.delete'), { question: t('class.delete-ask'), yes: t('class.delete-yes'), quiet: true, act: () => this.remove() })));
  }

  // print waits until the examples are drawn.
  async print() {
    await this.lessons?.drawn;
    print();
  }

  #nobody() {
    return h('div', { class: 'nothing' }, h('p', {}, t('class.nobody')), h('p', { class: 'small' }, t('class.nobody-what')));
  }

  #results() {
    const { report, only } = this;
    const pick = (what) => this.pick(what);
    if (this.engraved !== report) { // the same passages need not be drawn again
      this.lessons?.close();
      this.lessons = lessons(report);
      this.engraved = report;
    }
    return [
      h('div', { class: 'plots' }, byMark(report, only, pick), byRule(report, only, pick), byMeasure(report, only, pick), wrongChords(report, only, pick)),
      this.#handIns(),
      report.alike.length > 0 && alikeList(report, (reference) => this.nameOf(reference), (reference, attempt) => address(this.id, reference, attempt)),
      this.lessons?.element,
    ];
  }

  #handIns() {
    const rows = this.behind();
    const narrowed = Boolean(this.only.key);
    names.list(this.id, rows.map((r) => r.outcome.reference));
    return h('section', { class: 'plot hand-ins' },
      h('h2', {}, narrowed ? count('class.behind', rows.length) : t('class.hand-ins')),
      narrowed && h('p', { class: 'picked' }, this.only.words, ' ', button(t('class.show-all'), () => this.pick(this.only))),
      h('table', {},
        h('thead', {}, h('tr', {}, ['reference', 'state', 'proposed', 'mark', 'final'].map((c) => h('th', { scope: 'col', class: `col-${c}` }, t(`class.col.${c}`))))),
        h('tbody', {}, rows.map((row) => this.#row(row)))));
  }

  // #members are those for whom a group has handed in.
  #members(reference) {
    const all = this.assignment.groups?.[reference];
    return all && !names.hidden() && h('span', { class: 'small' }, t('class.group-of', { who: all.map((r) => this.nameOf(r)).join(', ') }));
  }

  #row({ outcome: o, attempts }) {
    return h('tr', {},
      h('th', { scope: 'row' }, h('a', { href: address(this.id, o.reference, o.attempt) }, this.nameOf(o.reference)),
        attempts > 1 && h('span', { class: 'small' }, t('class.attempt-of', { n: o.attempt, of: attempts })),
        this.#members(o.reference)),
      h('td', {}, stateChip(o.state), o.late > 0 && h('span', { class: 'small' }, count('class.late', o.late)), o.refused && h('span', { class: 'small' }, t('class.refused'))),
      h('td', { class: 'number' }, points(o.proposed)),
      h('td', { class: 'number' }, points(o.mark), o.changed_by && h('span', { class: 'small' }, t('class.changed'))),
      h('td', { class: 'col-final' }, finality(o)));
  }
}
