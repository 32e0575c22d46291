// The findings beside the score. One is open at a time: why it matters, how it sounds,
// ways to mend it.

import { h, button, replace, keepFocus, keepOpen, whenIdle } from './dom.js';
import { t, count, place } from './words.js';
import { listSign } from './marks.js';
import { hearFinding } from './listen.js';
import { mendings } from './mendings.js';
import { findingDecisions, markPanel } from './class-mark.js';

const severities = ['fault', 'caution', 'remark'];

// So many findings of a long list are drawn at a time, where none was seen before.
const some = 24;

export class FindingsList {
  constructor(desk) {
    this.desk = desk;
    this.only = new Set(severities);
    this.shown = new Set(); // findings that a pupil has had revealed
    this.element = h('aside', { class: 'findings', 'aria-label': t('findings.title') });
  }

  // keyOf names a finding over checks, whose numbers may differ.
  keyOf(f) { return `${f.rule} ${f.onset} ${f.voices}`; }

  revealed(finding) { return this.shown.has(this.keyOf(finding)); }

  hideAgain() { this.shown.clear(); }

  // draw keeps the focus on the same finding, or brings it to the heading if it is gone.
  draw() {
    const key = document.activeElement?.closest?.('[data-key]')?.dataset.key;
    const again = () => (key && this.element.querySelector(`[data-key="${CSS.escape(key)}"] > button`)) || this.element.querySelector('h2');
    keepOpen(this.element, !this.desk.session.deciding, () => keepFocus(this.element, () => this.#draw(), again));
  }

  #draw() {
    const { session } = this.desk;
    const { work } = session;
    if (!session.report) {
      if (work) replace(this.element, markPanel(this.desk), h('h2', { tabindex: '-1', class: 'unseen' }, t('findings.title')));
      else replace(this.element, h('h2', {}, t('findings.title')), session.state === 'working' && h('div', { class: 'waiting', 'aria-busy': 'true' }, t('desk.working')));
      return;
    }
    if (session.report.unseen) {
      replace(this.element, markPanel(this.desk), h('h2', { tabindex: '-1' }, t('findings.title')), h('p', {}, t('pupil.findings-later')));
      return;
    }
    const { findings, summary, mark } = session.report;
    const listed = findings.filter((f) => this.only.has(f.severity));
    replace(this.element,
      work && markPanel(this.desk),
      h('h2', { tabindex: '-1' }, t('findings.title')),
      h('div', { class: 'counts', role: 'group', 'aria-label': t('findings.filter') }, severities.map((s) => this.#filter(s, summary[`${s}s`]))),
      mark && !work && gradeBox(mark),
      !findings.length && h('p', { class: 'all-well' }, t('findings.none-what')),
      this.#items(listed),
      h('p', { class: 'small' }, t('findings.teacher')));
    performance.mark('findings');
  }

  // #items are those of a list. The first are there at once, and more as soon as there is
  // nothing more urgent to do; a list that was seen before is there as a whole.
  #items(listed) {
    const list = h('ol', { class: `list ${listed.length > 100 ? 'many' : ''}` });
    const add = (findings) => list.append(...findings.map((f) => this.#item(f)));
    const more = (from) => whenIdle(() => {
      if (!list.isConnected) return;
      add(listed.slice(from, from + some));
      if (from + some < listed.length) more(from + some);
    });
    const first = this.element.querySelector('.item') ? listed.length : some;
    add(listed.slice(0, first));
    if (first < listed.length) more(first);
    return list;
  }

  #filter(severity, n) {
    return button([listSign(severity, n), ' ', count(`findings.${severity}-word`, n)], () => {
      if (this.only.has(severity) && this.only.size > 1) this.only.delete(severity);
      else this.only.add(severity);
      this.draw();
    }, { 'aria-pressed': String(this.only.has(severity)), class: `toggle filter ${severity}` });
  }

  #item(finding) {
    const chosen = this.desk.chosen && this.keyOf(this.desk.chosen) === this.keyOf(finding) && this.desk.chosen.number === finding.number;
    const open = this.desk.shows.answer || this.revealed(finding);
    const id = `finding-${finding.number}`;
    const head = button([
      listSign(open ? finding.severity : 'hidden', open ? finding.number : '?'),
      h('span', { class: 'item-words' },
        h('span', { class: 'item-place' }, place(finding), open && h('span', { class: 'item-severity' }, ` · ${t(`severity.${finding.severity}`)}`)),
        h('span', { class: 'item-message' }, open ? finding.message : t('findings.look'))),
    ], () => this.desk.choose(finding, { from: 'list' }), { 'aria-expanded': String(Boolean(chosen)), 'aria-controls': id, class: 'item-head' });
    return h('li', { class: `item ${open ? finding.severity : ''} ${chosen ? 'chosen' : ''}`, data: { key: this.keyOf(finding) } },
      head, h('div', { id, class: 'item-more', hidden: !chosen }, chosen && (open ? this.#more(finding) : this.#riddle(finding))));
  }

  #riddle(finding) {
    return [
      h('p', {}, t('findings.riddle')),
      button(t('findings.reveal'), () => {
        this.shown.add(this.keyOf(finding));
        this.draw();
        this.desk.score.mark();
      }, { class: 'primary' }),
    ];
  }

  #more(finding) {
    const { session } = this.desk;
    const { work } = session;
    const acceptable = finding.severity !== 'remark';
    const taken = session.accepted.some((a) => a.measure === finding.measure && a.rule === finding.rule);
    return [
      h('p', { class: 'why' }, finding.why),
      finding.source && h('p', { class: 'source small' }, t('findings.source', { source: finding.source })),
      h('div', { class: 'actions' },
        finding.notes.length > 0 && button(t('findings.hear'), () => hearFinding(this.desk.report, finding), { class: 'hear' }),
        acceptable && !work && button(t('findings.accept'), () => session.accept(finding), { class: 'quiet', title: t('findings.accept-why') }),
        taken && !work && button(t('findings.take-back'), () => session.takeBack(finding), { class: 'quiet' })),
      work?.outcome && findingDecisions(this.desk, finding),
      !work && finding.severity !== 'remark' && finding.notes.length > 0 && mendings(this.desk, finding),
    ];
  }

  // bring scrolls the list to a finding, without taking the focus from the score.
  bring(finding) {
    const item = this.element.querySelector(`.item.chosen, [data-key="${CSS.escape(this.keyOf(finding))}"]`);
    item?.scrollIntoView({ block: 'nearest' });
  }
}

function gradeBox(mark) {
  return h('details', { class: 'grade' },
    h('summary', {}, t('grade.earned', mark)),
    h('ul', {}, mark.lines.map((l) => h('li', {}, `${t(`rule.${l.rule}`)}: −${l.lost}`))),
    (mark.praise ?? []).map((p) => h('p', {}, p)),
    h('p', { class: 'small' }, mark.note));
}
