// The view that leads voices: a row of chords is voiced as it is typed. It holds what is
// asked for and what came of it; the parts draw themselves from that.

import { h, button, replace, after } from './dom.js';
import { t, language } from './words.js';
import { announce } from './announce.js';
import { Problem, form, post, partsOf } from './service.js';
import { problemBox } from './problem-box.js';
import { kept, keep } from './draft.js';
import { takeFiles, takeDrops } from './take-files.js';
import { withGiven, placed, asRow, keyOf, transposed, between, movedPitch } from './lead-row.js';
import { RowEditor } from './lead-editor.js';
import { Phrase } from './lead-phrase.js';
import { Rail } from './lead-rail.js';
import { hush } from './listen.js';

export const name = 'lead-voices';

export const scopes = ['scores'];

const start = { row: 'C: I vi ii6 V7 I', style: 'chorale', contour: 'arch', ending: 'given', density: 0, seed: 1, decorations: '' };

export function open(root, page) { return new LeadVoices(root, page); }

class LeadVoices {
  constructor(root, page) {
    Object.assign(this, { root, page, given: new Map(), at: 0, front: 0 });
    this.asked = { ...start, ...kept('lead') };
    this.editor = new RowEditor(this);
    this.trouble = h('div', { class: 'trouble', role: 'status' });
    this.phrase = new Phrase(this);
    this.rail = new Rail(this);
    replace(root, this.editor.element, this.trouble, h('div', { class: 'lead-desk' }, this.phrase.element, this.rail.element));
    takeDrops(root, (files) => this.take(files));
    this.soon = after(130, () => this.voice());
  }

  // show takes what a link says.
  show(params) {
    if (params.has('row')) {
      for (const field of Object.keys(start)) {
        if (params.has(field)) this.asked[field] = typeof start[field] === 'number' ? Number(params.get(field)) : params.get(field);
      }
      this.given = new Map((params.get('given') ?? '').split(';').filter(Boolean).map((one) => {
        const [at, notes] = one.split(':');
        return [Number(at), notes.split(',')];
      }));
    }
    if (!this.drawn || params.has('row') && this.voiced !== this.signature) this.changed();
  }

  hide() { hush(); }

  // link is an address at which the same row is voiced; nothing of it is sent anywhere.
  get link() {
    const query = new URLSearchParams();
    for (const [field, value] of Object.entries(this.asked)) if (value !== start[field] || field === 'row') query.set(field, value);
    if (this.given.size) query.set('given', [...this.given].map(([at, notes]) => `${at}:${notes.join(',')}`).join(';'));
    return `#${name}?${query}`;
  }

  get signature() { return JSON.stringify([this.asked, [...this.given], language, this.front]); }

  get chosen() { return this.report?.alternatives[this.front]; }

  // ask changes what is asked for. Another row has no notes that were chosen.
  ask(what) {
    if ('row' in what && what.row !== this.asked.row) {
      this.given.clear();
      this.score = undefined;
    }
    Object.assign(this.asked, what);
    this.front = 0;
    this.changed('soon' in what ? false : true);
  }

  changed() {
    this.drawn = true;
    keep('lead', this.asked);
    this.editor.draw();
    this.soon();
  }

  // choose holds the phrase up to a chord, and that chord as it was chosen; what follows is
  // led anew.
  choose(at, pitches) {
    this.toRow();
    const chords = this.chosen.chords;
    for (let i = 0; i <= at; i++) this.given.set(i, i === at ? pitches : chords[i].pitches);
    for (const i of [...this.given.keys()]) if (i > at) this.given.delete(i);
    this.at = at - 1;
    this.front = 0;
    announce(t('lead.chosen', { chord: at + 1 }));
    this.changed();
  }

  release(at) {
    if (at === undefined) this.given.clear();
    else this.given.delete(at);
    this.front = 0;
    this.changed();
  }

  // toRow makes a row of a score that was dropped, with the line that it gave.
  toRow() {
    if (!this.score) return;
    const last = this.report.voices.length - 1;
    const lines = { bass: [last], unfigured: [last], soprano: [0], outer: [0, last] }[this.report.gives];
    this.asked.row = asRow(this.chosen.chords, (c) => lines && c.pitches.map((p, v) => (lines.includes(v) ? p : '-')));
    this.score = undefined;
  }

  transpose(to) {
    this.toRow();
    const interval = between(keyOf(this.asked.row), to);
    this.asked.row = transposed(this.asked.row, interval);
    for (const [at, notes] of this.given) this.given.set(at, notes.map((p) => movedPitch(p, interval)));
    this.front = 0;
    this.changed();
  }

  async take(files) {
    try {
      [this.score] = await takeFiles(files);
      this.given.clear();
      this.front = this.at = 0;
      replace(this.trouble, h('p', { class: 'waiting' }, t('lead.working', { name: this.score.name })));
      this.changed();
    } catch (problem) {
      this.#refuse(problem);
    }
  }

  fields(more = {}) {
    const { row, style, contour, ending, density, seed, decorations } = this.asked;
    return {
      progression: this.score ? undefined : withGiven(row, this.given, this.places),
      style, contour, ending, seed, language, ids: true, notes: true, alternatives: 3, annotate: 'none',
      density: density || undefined, decorations: decorations || undefined, reasons: this.phrase.shows.reasons || undefined, ...more,
    };
  }

  // voice asks for the phrase, and drops an answer that came too late.
  async voice() {
    this.asking?.abort();
    const mine = (this.asking = new AbortController());
    if (!this.score && !this.asked.row.trim()) return;
    this.root.setAttribute('aria-busy', 'true');
    try {
      if (this.given.size && !this.places) { // a link names chords: where they stand is not known yet
        const { report } = await this.sheets({ progression: this.asked.row }, mine.signal);
        this.places = placed(this.asked.row, report.alternatives[0].chords);
      }
      const answer = await this.sheets({}, mine.signal);
      if (mine.signal.aborted) return;
      Object.assign(this, answer);
      this.places = this.score ? undefined : placed(this.asked.row, this.report.alternatives[0].chords);
      this.front = Math.min(this.front, this.report.alternatives.length - 1);
      this.at = Math.max(0, Math.min(this.at, this.report.chords - 2));
      this.voiced = this.signature;
      this.#tell();
      if (location.hash.startsWith(`#${name}`) || this.drawn) history.replaceState(null, '', this.score ? `#${name}` : this.link);
      this.phrase.changed();
      this.rail.changed();
    } catch (error) {
      if (error.name !== 'AbortError') this.#refuse(error);
    } finally {
      if (this.asking === mine) this.root.removeAttribute('aria-busy');
    }
  }

  // sheets are the report with the documents of an answer.
  async sheets(more, signal) {
    const [report, ...files] = await partsOf(await post('/v1/voicings', form(this.score, this.fields(more)), 'multipart/mixed', signal));
    return { report: JSON.parse(report), documents: files.filter((f) => f.includes('<score-partwise')) };
  }

  bringForward(i) {
    this.front = i;
    this.phrase.changed();
    this.rail.changed();
  }

  goTo(at) {
    this.at = at;
    this.phrase.mark();
    this.rail.changed();
  }

  #tell() {
    const { report } = this;
    replace(this.trouble,
      report.obstacle && h('div', { class: 'obstacle' },
        h('p', {}, h('strong', {}, t('lead.obstacle')), ' ', report.obstacle),
        report.breaks?.length > 0 && h('p', {}, t('lead.breaks', { rules: report.breaks.join('; ') })),
        report.opens && h('p', {}, t('lead.opens', { change: report.opens })),
        this.given.size > 0 && button(t('lead.release-all'), () => this.release())),
      report.changed?.length > 0 && h('p', { class: 'small' }, report.changed.join('; ')));
  }

  #refuse(error) {
    const problem = error instanceof Problem ? error : { document: { title: t('problem.title'), detail: error.message } };
    replace(this.trouble, problemBox(problem, problem.offline ? { again: () => this.voice() } : {}));
    this.editor.pointTo(problem.document?.chord);
  }
}
