// The view for many scores at once. It shows the batches that the service keeps, and one
// of them: how far it is, what came of each score, and where the faults are.

import { h, button, replace } from './dom.js';
import { t, count, language, languages } from './words.js';
import { keep, kept } from './draft.js';
import { rulesAndRubric } from './options.js';
import { ask, askJSON, post, Problem } from './service.js';
import { problemBox } from './problem-box.js';
import { takeDrops } from './take-files.js';
import { announce } from './announce.js';
import { Follower } from './batch-follower.js';
import { plots, scoreTable } from './batch-plots.js';

export const name = 'batches';

export const scopes = ['read-batches'];

export function open(root, page) {
  return new Batches(root, page);
}

class Batches {
  constructor(root, page) {
    Object.assign(this, { root, page, only: {} });
    this.options = kept('batch-options') ?? {};
    takeDrops(root, (files) => this.send(files));
  }

  // show opens the batch that the address names, or lists those that there are.
  async show(params) {
    const id = params.get('batch');
    if (id) {
      if (this.follower?.id !== id) this.#follow(id);
      return;
    }
    this.#leave();
    this.listing = true;
    this.#draw();
    try {
      this.list = (await askJSON('/v1/batches')).batches;
      this.problem = undefined;
    } catch (problem) {
      this.problem = problem;
    }
    this.listing = false;
    this.#draw();
  }

  hide() { this.#leave(); }

  #leave() {
    this.follower?.stop();
    this.follower = undefined;
    this.only = {};
  }

  async send(files) {
    this.sending = true;
    this.problem = undefined;
    this.#draw();
    announce(t('batches.sending'));
    try {
      const body = new FormData();
      for (const file of files) body.append('score', file, file.name);
      const batch = await (await post(`/v1/batches?${this.#asked()}`, body)).json();
      this.page.go(name, `batch=${batch.id}`);
    } catch (problem) {
      this.problem = problem;
    }
    this.sending = false;
    this.#draw();
  }

  // #asked are the options of a batch; without a choice, sentences are in the page's language.
  #asked() {
    const { rule_set, rubric, analysis, pupil, language: chosen } = this.options;
    return new URLSearchParams(Object.entries({
      marks: true, language: chosen || language, rule_set, rubric, analysis: analysis && true, view: pupil && 'pupil',
    }).filter(([, value]) => value));
  }

  #set(name, value) {
    this.options = { ...this.options, [name]: value };
    keep('batch-options', this.options);
  }

  #chooseOptions() {
    const check = (name) => h('label', { class: 'check' }, h('input', {
      type: 'checkbox', checked: Boolean(this.options[name]), onchange: (e) => this.#set(name, e.target.checked),
    }), t(`batches.option.${name}`));
    const tongue = h('select', { id: 'batch-language', onchange: (e) => this.#set('language', e.target.value) },
      languages.map((tag) => h('option', { value: tag, lang: tag, selected: tag === (this.options.language || language) }, t(`language.${tag}`))));
    return h('fieldset', { class: 'batch-options' }, h('legend', {}, t('batches.options')),
      rulesAndRubric(this.options, (name, value) => this.#set(name, value), { prefix: 'batch-' }).map((pair) => h('div', {}, pair)),
      h('div', {}, h('label', { for: tongue.id }, t('batches.option.language')), tongue),
      check('analysis'), check('pupil'));
  }

  #follow(id) {
    this.#leave();
    this.follower = new Follower(id, (what) => {
      this.#draw();
      if (what === 'finished') announce(t('batches.finished'));
    });
    this.#draw();
    this.follower.begin();
  }

  async #delete(id) {
    try {
      await ask(`/v1/batches/${id}`, { method: 'DELETE' });
      this.page.go(name);
    } catch (problem) {
      this.problem = problem;
      this.#draw();
    }
  }

  // pick narrows the scores to those behind a bar; the same bar again shows all.
  pick(only) {
    this.only = JSON.stringify(this.only) === JSON.stringify(only) ? {} : only;
    this.#draw();
    announce(count('batches.behind', this.#behind().length));
  }

  #behind() {
    const { rule, measure } = this.only;
    return this.follower.scores.filter((s) => (!rule && measure === undefined)
      || s.findings.some((f) => (!rule || f.rule === rule) && (measure === undefined || f.measure_index === measure)));
  }

  #draw() {
    if (this.follower) this.#drawBatch();
    else this.#drawList();
  }

  #drawList() {
    const off = this.problem instanceof Problem && this.problem.document.status === 404;
    const input = h('input', { type: 'file', multiple: true, class: 'file', id: 'choose-archive', accept: '.zip,.tar.gz,.tgz,.musicxml,.xml,.mxl', onchange: (e) => e.target.files.length && this.send([...e.target.files]) });
    replace(this.root, h('div', { class: 'batches-list', 'aria-busy': String(this.listing === true) },
      h('h1', {}, t('batches.title')), h('p', { class: 'lead' }, t('batches.what')),
      off ? h('div', { class: 'problem' }, h('h2', {}, t('batches.off')), h('p', {}, t('batches.off-what')), h('code', {}, 'partwright serve --data-dir ./data'))
        : this.problem && problemBox(this.problem),
      !off && this.#chooseOptions(),
      !off && h('div', { class: 'drop' }, h('p', { class: 'drop-words' }, this.sending ? t('batches.sending') : t('batches.drop')), input, h('label', { for: 'choose-archive', class: 'button primary' }, t('batches.choose'))),
      !off && this.list?.length > 0 && h('section', {}, h('h2', {}, t('batches.kept')), h('ul', { class: 'kept' }, this.list.map((b) => h('li', {},
        h('a', { href: `#${name}?batch=${encodeURIComponent(b.id)}` }, new Date(b.created).toLocaleString(document.documentElement.lang)),
        h('span', {}, count('batches.scores', b.scores.total)), h('span', {}, t(`batches.state.${b.state}`))))))));
  }

  #drawBatch() {
    const { batch, scores, problem, id } = this.follower;
    const behind = this.#behind();
    replace(this.root, h('div', { class: 'batch' },
      h('p', {}, h('a', { href: `#${name}` }, t('batches.all'))),
      h('h1', {}, batch ? t('batches.of', { when: new Date(batch.created).toLocaleString(document.documentElement.lang) }) : t('batches.title')),
      (problem ?? this.problem) && problemBox(problem ?? this.problem, { again: () => this.follower.begin() }),
      batch && progress(batch),
      scores.length > 0 && plots(scores, this.only, (only) => this.pick(only)),
      scores.length > 0 && scoreTable(behind, this.only, (number) => this.page.go('look-over', `batch=${id}&score=${number}`), () => this.pick(this.only)),
      batch && h('div', { class: 'actions' },
        ['findings.csv', 'marked.zip', 'finding-statistics.csv'].map((file) => h('a', { class: 'button', href: `/v1/batches/${id}/${file}`, download: file }, t(`batches.${file}`))),
        button(t('batches.delete'), () => this.#delete(id), { class: 'quiet' }))));
  }
}

function progress({ scores, state, seconds_left: left }) {
  const done = scores.done + scores.failed + scores.canceled;
  const told = t('batches.progress', { done, total: scores.total });
  return h('div', { class: 'progress' },
    h('progress', { max: scores.total || 1, 'aria-label': told, value: done }),
    h('p', {}, told, ' · ', t(`batches.state.${state}`), scores.failed > 0 && ` · ${count('batches.failed', scores.failed)}`,
      left > 0 && ` · ${t('batches.left', { seconds: Math.ceil(left) })}`));
}
