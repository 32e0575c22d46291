// The desk: the engraved score, and the findings beside it.

import { h, button, replace, keepFocus, breakable } from './dom.js';
import { t, count } from './words.js';
import { ScoreView } from './score-view.js';
import { drawFinding, drawHarmonies } from './marks.js';
import { FindingsList } from './findings-list.js';
import { NoteEditor } from './note-editor.js';
import { hearAll, hush } from './listen.js';
import { chooser } from './options.js';
import { downloads, workDownloads } from './downloads.js';
import { readingNotes } from './reading-notes.js';
import { problemBox } from './problem-box.js';
import { printed } from './print.js';
import { icon } from './icons.js';
import { kept, keep } from './draft.js';
import { ownEdits } from './class-edits.js';

const manyFindings = 40; // from here on only the chosen finding's paths are drawn
const manyMeasures = 24; // from here on the beginning is drawn before the rest
const beginning = 12; // measures

export class Desk {
  constructor(view) {
    this.view = view;
    this.shows = { harmonies: true, paths: true, answer: true, ...kept('shows') };
    this.paper = h('div', { class: 'paper' });
    this.tabs = h('nav', { class: 'tabs', 'aria-label': t('desk.scores') });
    this.title = h('div', { class: 'score-title' });
    this.tools = h('div', { class: 'tools', role: 'toolbar', 'aria-label': t('desk.tools') });
    this.banner = h('div', { class: 'banner', role: 'status' });
    this.list = new FindingsList(this);
    this.editor = new NoteEditor(this);
    this.element = h('div', { class: 'desk' },
      h('div', { class: 'score-side' }, this.tabs, this.title, this.tools, this.banner, this.editor.element, this.paper),
      this.list.element);
    this.score = new ScoreView(this.paper, {
      label: t('desk.score'), scale: kept('scale') ?? (innerWidth < 600 ? 36 : 54),
      decorate: (page) => this.#decorate(page),
      onnote: (id, event) => this.editor.press(id, event),
    });
    this.editor.listenTo(this.score.element);
    this.element.addEventListener('keydown', (event) => this.#key(event));
  }

  get session() { return this.view.session; }

  // writes tells whether notes may be changed.
  get writes() { return !this.view.fixed || Boolean(this.view.writes); }

  // report and xml are what is shown: those of a way to mend that is tried come first.
  get report() { return (this.session.trying ?? this.session).report; }

  get xml() { return (this.session.trying ?? this.session).xml; }

  changed(what) {
    if (what === 'session') this.chosen = undefined;
    this.element.dataset.state = this.session.state;
    if (what !== 'state') this.#choiceAfterCheck();
    // What was found comes first; while the engraver works there is time for the rest.
    this.list.draw();
    if (what !== 'state') this.engrave();
    this.drawTabs();
    this.#drawTitle();
    this.#drawTools();
    this.#drawBanner();
    this.editor.draw();
  }

  // #choiceAfterCheck keeps the same finding chosen where it is still there.
  #choiceAfterCheck() {
    const { report } = this.session;
    if (!this.chosen || !report) return;
    this.chosen = report.findings.find((f) => same(f, this.chosen));
  }

  // engrave draws the document that is shown. The engraver works beside the page, which puts
  // the findings on the screen meanwhile.
  async engrave() {
    const { xml } = this;
    if (!xml || xml === this.engraved) {
      this.score.mark();
      return;
    }
    this.engraved = xml;
    this.idsByOnset = undefined;
    try {
      await this.score.show(xml, { first: this.report.score.measures > manyMeasures ? beginning : undefined });
      if (this.chosen) this.score.reveal(this.chosen.notes.at(-1)?.id);
    } catch (error) {
      replace(this.paper, problemBox({ document: { title: t('desk.not-drawn'), detail: t('desk.not-drawn-what', { why: error.message }) } }), this.score.element);
    }
    performance.mark('engraved');
  }

  #decorate(page) {
    const { report } = this;
    if (!report) return;
    this.idsByOnset ??= onsetsOf(report);
    const few = report.findings.length <= manyFindings;
    for (const found of report.findings) {
      const finding = this.#numbered(found);
      const chosen = Boolean(this.chosen && same(finding, this.chosen));
      const open = this.shows.answer || this.list.revealed(finding);
      drawFinding(page, finding, {
        chosen: chosen && open, paths: this.shows.paths && few && open && finding.severity !== 'remark',
        open, onpress: (f) => this.choose(f, { from: 'score' }),
      });
    }
    if (this.shows.harmonies && this.shows.answer && report.analysis) drawHarmonies(page, report.analysis.harmonies, (onset) => this.idsByOnset.get(onset) ?? []);
    this.editor.decorate(page);
  }

  // #numbered gives a finding of a change that is tried the number that it has in the list,
  // which is still that of the score before; what the change brings has none there.
  #numbered(finding) {
    if (!this.session.trying) return finding;
    const before = this.session.report.findings.find((f) => same(f, finding));
    return { ...finding, number: before?.number ?? '+' };
  }

  // choose brings a finding forward in the list and in the score.
  async choose(finding, { from } = {}) {
    const again = this.chosen && finding && same(this.chosen, finding);
    if (this.session.trying) this.putBack();
    hush();
    this.chosen = again && from === 'list' ? undefined : finding;
    this.list.draw();
    this.score.mark();
    if (!this.chosen) return;
    if (from === 'score') this.list.bring(finding);
    else await this.score.reveal(finding.notes.at(-1)?.id);
    this.score.mark();
  }

  // attempt shows a way to mend without keeping it.
  async attempt(edits) {
    await this.session.attempt(edits);
    this.#drawBanner();
    await this.engrave();
    return this.session.trying;
  }

  putBack() {
    this.session.trying = undefined;
    this.#drawBanner();
    this.engrave();
  }

  async apply(edits) {
    hush();
    await this.session.apply(edits);
  }

  drawTabs() { keepFocus(this.tabs, () => this.#putTabs()); }

  #putTabs() {
    const { sessions, front } = this.view;
    this.tabs.hidden = sessions.length < 2;
    replace(this.tabs, h('ul', {}, sessions.map((s, i) => h('li', {}, button([
      h('span', { class: 'tab-name' }, s.name.split('/').pop()),
      h('span', { class: 'tab-count' }, tabState(s)),
    ], () => this.view.bringForward(i), { 'aria-current': i === front && 'true' })))));
  }

  #drawTitle() {
    const { session } = this;
    const report = session.report;
    replace(this.title,
      h('h1', {}, report?.score.title || breakable(session.name)),
      report?.score.title && h('p', { class: 'file-name' }, breakable(session.name)),
      session.batch && h('a', { href: `#batches?batch=${encodeURIComponent(session.batch)}` }, t('desk.to-batch')),
      this.view.back && [this.view.back, ...this.view.others].map(({ href, words }) => h('a', { href }, words)),
      session.state === 'working' && h('p', { class: 'working' }, t('desk.working')));
  }

  #drawTools() { keepFocus(this.tools, () => this.#putTools()); }

  #putTools() {
    const { session } = this;
    const toggle = (name) => button(t(`desk.${name}`), () => this.#toggle(name), { 'aria-pressed': String(name === 'answer' ? !this.shows.answer : this.shows[name]), class: 'toggle' });
    const iconButton = (name, label, act, more = {}) => button(icon(name), act, { 'aria-label': label, title: label, class: 'icon', ...more });
    const { fixed } = this.view;
    replace(this.tools,
      this.writes && h('div', { class: 'group' },
        iconButton('undo', t('desk.undo'), () => session.undo(), { disabled: !session.history.canUndo }),
        iconButton('redo', t('desk.redo'), () => session.redo(), { disabled: !session.history.canRedo })),
      h('div', { class: 'group' },
        button(t('desk.hear'), () => hearAll(this.report), { disabled: !session.report }),
        button(t('desk.hush'), hush)),
      !session.report?.unseen && h('div', { class: 'group' }, toggle('paths'), toggle('harmonies'), toggle('answer')),
      h('div', { class: 'group' },
        iconButton('smaller', t('desk.smaller'), () => this.#zoom(1 / 1.15)),
        iconButton('larger', t('desk.larger'), () => this.#zoom(1.15))),
      h('div', { class: 'group end' },
        !fixed && chooser(this.view),
        fixed ? workDownloads(session) : downloads(this),
        button(t('desk.print'), () => printed(this), { disabled: !session.report }),
        button(t('desk.close'), () => this.view.closeAll(), { class: 'quiet' })));
  }

  #toggle(name) {
    this.shows = { ...this.shows, [name]: !this.shows[name] };
    keep('shows', this.shows);
    this.list.hideAgain();
    this.#drawTools();
    this.list.draw();
    this.score.mark();
  }

  #zoom(by) {
    const scale = Math.round(Math.min(90, Math.max(22, this.score.scale * by)));
    keep('scale', scale);
    this.score.zoom(scale);
  }

  #drawBanner() { keepFocus(this.banner, () => this.#putBanner(), () => this.list.element.querySelector('.item.chosen > button')); }

  #putBanner() {
    const { session } = this;
    const { trying, report } = session;
    this.banner.classList.toggle('trying', Boolean(trying));
    if (trying) {
      const gone = this.chosen && !trying.report.findings.some((f) => f.rule === this.chosen.rule && f.onset === this.chosen.onset && String(f.voices) === String(this.chosen.voices));
      replace(this.banner,
        h('p', {}, h('strong', {}, t('try.title')), ' ', gone ? t('try.gone') : t('try.still'), ' ',
          t('try.counts', { before: counted(report), after: counted(trying.report) })),
        button(t('try.apply'), () => this.apply(trying.edits), { class: 'primary' }),
        button(t('try.back'), () => this.putBack()));
      return;
    }
    const { refused } = this.view;
    replace(this.banner,
      refused && h('div', { class: 'refused-file' }, problemBox(refused, { name: refused.name }), h('p', {}, t('desk.kept-open'), ' ', button(t('desk.pass'), () => this.view.pass()))),
      session.state === 'offline' && problemBox(session.problem, { again: () => session.check() }),
      session.state === 'failed' && report && problemBox(session.problem, { undo: () => session.undo() }),
      ownEdits(this),
      this.view.kept === false && h('p', { class: 'small' }, t('desk.not-kept')),
      report && readingNotes(report));
  }

  #key(event) {
    if (!(event.ctrlKey || event.metaKey) || event.target.matches('input, textarea, select')) return;
    const key = event.key.toLowerCase();
    if (key === 'z' && !event.shiftKey && this.session.history.canUndo) this.session.undo();
    else if ((key === 'y' || (key === 'z' && event.shiftKey)) && this.session.history.canRedo) this.session.redo();
    else return;
    event.preventDefault();
  }

  close() {
    hush();
    this.score.close();
    this.element.remove();
  }
}

export const same = (a, b) => a.rule === b.rule && a.onset === b.onset && String(a.voices) === String(b.voices) && String(a.notes.map((n) => n.id)) === String(b.notes.map((n) => n.id));

// onsetsOf lists the notes that begin at each onset, the lowest voice first; what is tied to
// one may stand on the next page.
function onsetsOf(report) {
  const at = new Map();
  for (const { notes } of report.voice_notes ?? []) {
    for (const { onset, ids } of notes) at.set(onset, [ids[0], ...(at.get(onset) ?? [])]);
  }
  return at;
}

const counted = ({ summary: { faults, cautions } }) => `${count('findings.fault', faults)}, ${count('findings.caution', cautions)}`;

function tabState(session) {
  if (session.report?.unseen) return '';
  if (session.report) return count('findings.short', session.report.findings.length);
  return session.problem ? t('tabs.problem') : t('tabs.waiting');
}
