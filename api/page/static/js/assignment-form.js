// Sets an assignment. The row of chords is voiced as it is typed, so that it is seen at once
// whether it can be solved and what the sheet gives.

import { h, replace, after } from './dom.js';
import { t, language, languages } from './words.js';
import { announce } from './announce.js';
import { create } from './class-service.js';
import { form, partsOf, post, Problem } from './service.js';
import { problemBox } from './problem-box.js';
import { rulesAndRubric } from './options.js';
import { ScoreView } from './score-view.js';
import { tokens } from './lead-row.js';
import { kept, keep } from './draft.js';
import { groupsField, parse } from './class-groups.js';

const choices = {
  gives: ['auto', 'bass', 'soprano', 'outer'],
  style: ['chorale', 'keyboard', 'three-voices', 'five-voices'],
  shows: ['after-closing', 'at-once', 'counts', 'never'],
  counts: ['last', 'best'],
  late: ['accept', 'costs', 'refuse'],
};

// Sheets on the screen need no room for signs over and under them.
export const closeCut = { pageMarginTop: 40, pageMarginBottom: 60 };

const demands = ['chords', 'inversions', 'cadence', 'labels'];

const start = {
  title: '', task: 'C: I vi ii6 V7 I', gives: 'auto', style: 'chorale', models: 3, demands: ['chords'],
  shows: 'after-closing', opens: '', closes: '', attempts: '', counts: 'last', late: 'accept', day: '', points: '', unmet: 3,
  rule_set: '', rubric: 'hundred', groups: '',
};

export class AssignmentForm {
  constructor(done) {
    this.done = done;
    this.asked = { ...start, ...kept('assignment') };
    this.said = h('div', { class: 'row-said', role: 'status', id: 'row-said' });
    this.sheet = h('div', { class: 'paper sheet' });
    this.trouble = h('div', { class: 'form-trouble' });
    this.send = h('button', { type: 'submit', class: 'primary' }, t('class.make'));
    this.soon = after(300, () => this.#try());
    this.element = h('form', { class: 'classes assignment-form', onsubmit: (e) => { e.preventDefault(); this.#make(); } });
    replace(this.element,
      h('p', {}, h('a', { href: '#assignments' }, t('class.all'))),
      h('h1', {}, t('class.new')),
      this.#group('class.form.what', [
        this.#text('title', { required: true, maxlength: 200, wide: true }),
        this.#row(),
        this.#select('gives', true), this.#select('style', true),
        this.#number('models', { min: 1, max: 20 })]),
      h('section', { class: 'try', 'aria-label': t('class.form.sheet') }, this.said, this.sheet),
      this.#group('class.form.asked', [this.#demands()]),
      this.#group('class.form.when', [
        this.#text('opens', { type: 'datetime-local' }), this.#text('closes', { type: 'datetime-local' }),
        this.#number('attempts', { min: 0, max: 50 }), this.#select('counts'),
        this.#select('late', false, () => this.#lateness()), this.lateness = h('div', { class: 'lateness', hidden: true })]),
      this.#group('class.form.marks', [
        this.#number('points', { min: 0, max: 1000, step: 0.5 }), this.#number('unmet', { min: 0, max: 1000, step: 0.5 }),
        rulesAndRubric(this.asked, (name, value) => { this.#set(name, value); this.soon(); }, { prefix: 'class-', marked: true }).map((pair) => h('div', {}, pair))]),
      this.#group('class.form.sees', [this.#select('shows')]),
      this.#group('class.form.together', [h('div', { class: 'field wide' }, groupsField('class-groups', this.asked.groups, (text) => this.#set('groups', text)))]),
      h('p', { class: 'not-final' }, t('class.form.final')),
      this.trouble,
      h('div', { class: 'actions' }, this.send));
    this.#lateness();
  }

  begin() {
    this.view = new ScoreView(this.sheet, { label: t('class.form.sheet'), scale: innerWidth < 600 ? 34 : 44, pageHeight: 700 });
    this.view.layout = closeCut;
    this.#try();
  }

  close() {
    this.asking?.abort();
    this.view?.close();
  }

  #set(name, value) {
    this.asked[name] = value;
    keep('assignment', this.asked);
  }

  #group(title, parts) { return h('fieldset', { class: 'form-group' }, h('legend', {}, t(title)), parts); }

  #field(name, input, wide) {
    return h('div', { class: `field ${wide ? 'wide' : ''}` }, h('label', { for: input.id }, t(`class.form.${name}`)), input);
  }

  #text(name, { wide, ...more } = {}) {
    return this.#field(name, h('input', { id: `class-${name}`, type: 'text', autocomplete: 'off', value: this.asked[name], oninput: (e) => this.#set(name, e.target.value), ...more }), wide);
  }

  #number(name, more) { return this.#text(name, { type: 'number', ...more }); }

  #select(name, tries = false, then = () => {}) {
    return this.#field(name, h('select', { id: `class-${name}`, onchange: (e) => { this.#set(name, e.target.value); then(); if (tries) this.soon(); } },
      choices[name].map((value) => h('option', { value, selected: value === this.asked[name] }, t(`class.${name}.${value}`)))));
  }

  #row() {
    this.task = h('textarea', {
      id: 'class-task', rows: '2', required: true, spellcheck: 'false', autocomplete: 'off', autocapitalize: 'off', 'aria-describedby': 'row-help row-said',
      oninput: (e) => { this.#set('task', e.target.value); this.soon(); }, value: this.asked.task,
    });
    return h('div', { class: 'field wide' }, h('label', { for: 'class-task' }, t('lead.row')), this.task, h('p', { class: 'small', id: 'row-help' }, t('lead.help')));
  }

  #demands() {
    return demands.map((d) => h('label', { class: 'check' }, h('input', {
      type: 'checkbox', checked: this.asked.demands.includes(d),
      onchange: (e) => this.#set('demands', demands.filter((k) => (k === d ? e.target.checked : this.asked.demands.includes(k)))),
    }), t(`class.demand.${d}`)));
  }

  #lateness() {
    const costs = this.asked.late === 'costs';
    this.lateness.hidden = !costs;
    replace(this.lateness, costs && this.#number('day', { min: 0.5, max: 1000, step: 0.5, required: true }));
  }

  // #try voices the row, to say whether it can be solved. What is made is checked once more.
  async #try() {
    this.asking?.abort();
    const { signal } = (this.asking = new AbortController());
    const { task, style, gives, title, rule_set: rules } = this.asked;
    if (!task.trim()) return;
    this.element.setAttribute('aria-busy', 'true');
    try {
      const answer = await post('/v1/voicings', form(undefined, { progression: task, style, exercise: gives, rule_set: rules, title, language }), 'multipart/mixed', signal);
      const [report, ...files] = await partsOf(answer);
      const said = JSON.parse(report);
      this.#say(said.obstacle ? h('p', { class: 'unsolved' }, h('strong', {}, t('class.form.unsolved')), ' ', said.obstacle) : h('p', { class: 'solved' }, t('class.form.solved')));
      this.task.removeAttribute('aria-invalid');
      await this.view.show(files.at(-1));
    } catch (error) {
      if (error.name === 'AbortError') return;
      this.#wrong(error);
    } finally {
      if (this.asking?.signal === signal) this.element.removeAttribute('aria-busy');
    }
  }

  #say(what) { replace(this.said, what); }

  #wrong(error) {
    const { chord } = error.document ?? {};
    const word = chord && tokens(this.asked.task).find((w) => w.chord === chord - 1)?.word;
    if (error instanceof Problem && error.document.status === 403) {
      this.#say(h('p', { class: 'small' }, t('class.form.untried')));
      return;
    }
    if (!error.offline) this.task.setAttribute('aria-invalid', 'true');
    this.#say([word && h('p', { class: 'wrong' }, t('lead.wrong-chord', { chord, word })), problemBox(error)]);
  }

  async #make() {
    this.send.disabled = true;
    this.send.textContent = t('class.making');
    replace(this.trouble);
    try {
      const made = await create(this.#body());
      keep('assignment', { ...this.asked, title: '', opens: '', closes: '', groups: '' });
      announce(t('class.made', { title: made.title }));
      this.done(made);
    } catch (problem) {
      replace(this.trouble, problemBox(problem));
      this.send.disabled = false;
      this.send.textContent = t('class.make');
    }
  }

  #body() {
    const { title, task, gives, style, models, demands: wanted, shows, opens, closes, attempts, counts, late, day, points, unmet, rule_set: rules, rubric } = this.asked;
    const number = (text) => (text === '' ? undefined : Number(text));
    const time = (text) => (text ? new Date(text).toISOString() : undefined);
    return {
      title: title.trim(), task: task.trim(), gives, style, models: number(models), demands: wanted, shows, counts,
      opens: time(opens), closes: time(closes), attempts: number(attempts), points: number(points) || undefined, unmet: number(unmet),
      late: { policy: late, ...(late === 'costs' && { points: number(day) }) },
      groups: parse(this.asked.groups).groups,
      rules: rules || undefined, rubric: rubric || undefined, language: languages.includes(language) ? language : undefined,
    };
  }
}
