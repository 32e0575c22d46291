// The rail: every change of the phrase, and at the one looked at the ways that a teacher
// weighs, those that break a rule with the rule named.

import { h, button, replace } from './dom.js';
import { t, voiceName, has, count } from './words.js';
import { askJSON } from './service.js';
import { language } from './words.js';
import { voicePaths } from './voice-paths.js';
import { pairs } from './intervals.js';
import { parsePitch, midi, shown } from './pitch.js';
import { listSign } from './marks.js';
import { hearNotes, hearInTurn } from './listen.js';
import { problemBox } from './problem-box.js';

const orders = ['weighed', 'top', 'opens'];
const tops = { stays: 0, falls: 1, rises: 2 };

export class Rail {
  constructor(view) {
    Object.assign(this, { view, order: 'weighed' });
    this.list = h('ol', { class: 'changes' });
    this.what = h('div', { class: 'change' });
    this.element = h('aside', { class: 'rail', 'aria-label': t('lead.rail') },
      h('h2', {}, t('lead.rail')), this.list, this.what);
  }

  changed() {
    const { view } = this;
    const { chords } = view.chosen;
    replace(this.list, chords.slice(1).map((chord, i) => h('li', {}, button([
      h('span', { class: 'from' }, chords[i].numeral), ' → ', h('span', { class: 'to' }, chord.numeral),
      view.given.has(i + 1) && h('span', { class: 'held-sign', 'aria-hidden': 'true' }, '●'),
      view.given.has(i + 1) && h('span', { class: 'said' }, t('lead.held')),
    ], () => view.goTo(i), { 'aria-current': i === view.at && 'step' }))));
    this.#look();
  }

  // #look shows a change, and asks for the other ways there.
  async #look() {
    const { view } = this;
    const { chords, changes } = view.chosen;
    const [from, to] = [chords[view.at], chords[view.at + 1]];
    this.asking?.abort();
    if (!to) {
      replace(this.what, h('p', {}, t('lead.one-chord')));
      return;
    }
    const mine = (this.asking = new AbortController());
    const options = h('div', { class: 'other-ways' }, h('p', { class: 'waiting' }, t('lead.looking')));
    replace(this.what, this.#now(from, to, changes[view.at]), options);
    try {
      const found = await this.#continuations(from, to, chords[view.at + 2], mine.signal);
      if (mine.signal.aborted) return;
      this.found = found;
      this.#drawOptions(options, from, to);
    } catch (error) {
      if (error.name !== 'AbortError') replace(options, problemBox(error));
    }
  }

  #continuations(from, to, next, signal) {
    const two = from.key === to.key ? `${from.key}: ${from.numeral} ${to.numeral}` : `${from.key}: ${from.numeral} ${to.key}: ${to.numeral}`;
    const body = { chords: two, from: from.pitches, style: this.view.asked.style, language, best: 2 };
    if (next && next.key === to.key) body.then = next.numeral;
    return askJSON('/v1/continuations', { method: 'POST', body: JSON.stringify(body), signal, headers: { 'Content-Type': 'application/json' } });
  }

  // #now is the change as it is led: why, and the intervals of all pairs.
  #now(from, to, change) {
    const { view } = this;
    const held = view.given.has(view.at + 1);
    return h('section', { class: 'now', 'aria-label': t('lead.now') },
      h('h3', {}, `${from.numeral} → ${to.numeral}`, h('span', { class: 'small' }, ` ${to.symbol}`)),
      h('div', { class: 'now-actions' },
        button(t('lead.hear-change'), () => hearNotes(chordNotes([from.pitches, to.pitches], view.report.voices), { tempo: 50 })),
        held && button(t('lead.release'), () => view.release(view.at + 1)),
        view.given.size > 1 && button(t('lead.release-all'), () => view.release())),
      change && this.#reasons(change),
      this.#intervals(from, to));
  }

  #reasons(change) {
    const rows = change.moves.map((m) => h('tr', {},
      h('th', { scope: 'row' }, voiceName(m.voice)),
      h('td', {}, m.common ? t('lead.keeps', { pitch: shown(m.from) }) : `${shown(m.from)} → ${shown(m.to)}`),
      h('td', {}, m.common ? '=' : m.interval.replace('-', '−')),
      h('td', {}, m.tendency ? word('lead.tendency', m.tendency) : m.against_bass && !m.common ? word('lead.motion', m.against_bass) : '')));
    const why = change.instead.filter((c) => c.cost > 0).map((c) => word('lead.term', c.term));
    return h('details', { open: true }, h('summary', {}, t('lead.why')),
      h('table', { class: 'moves' }, h('thead', {}, h('tr', {}, ['voice', 'goes', 'by', 'because'].map((c) => h('th', { scope: 'col' }, t(`lead.col.${c}`))))), h('tbody', {}, rows)),
      change.runner_up.length > 0 && change.behind > 0 && h('p', { class: 'small' },
        t('lead.instead', { pitches: change.runner_up.map(shown).join(' '), cost: change.behind.toLocaleString(language) }), why.length > 0 && ` ${t('lead.instead-why', { why: why.join(', ') })}`));
  }

  #intervals(from, to) {
    const rows = pairs(this.view.report.voices, from.pitches, to.pitches).map((p) => h('tr', { class: p.again && 'again' },
      h('th', { scope: 'row' }, `${voiceName(p.high)} – ${voiceName(p.low)}`), h('td', {}, p.before), h('td', {}, p.after),
      h('td', {}, p.again && t('lead.same-again'))));
    return h('details', {}, h('summary', {}, t('lead.intervals')),
      h('table', { class: 'intervals' }, h('thead', {}, h('tr', {}, ['pair', 'before', 'after', 'note'].map((c) => h('th', { scope: 'col' }, t(`lead.col.${c}`))))), h('tbody', {}, rows)));
  }

  #drawOptions(root, from, to) {
    const { groups, then } = this.found;
    const choice = h('select', { onchange: (e) => { this.order = e.target.value; this.#drawOptions(root, from, to); } },
      orders.map((o) => h('option', { value: o, selected: o === this.order }, t(`lead.order.${o}`))));
    const card = (o) => this.#card(o, from, to, then);
    replace(root,
      h('div', { class: 'other-ways-head' }, h('h3', {}, t('lead.options')), h('label', {}, t('lead.order'), choice)),
      this.order === 'weighed'
        ? groups.map((g) => this.#group(g, card))
        : h('ul', {}, this.#sorted(groups.flatMap((g) => g.options)).map(card)),
      !groups.length && h('p', {}, t('lead.no-way')));
  }

  // #group shows what breaks no rule; what does lies folded under it.
  #group({ way, options }, card) {
    const fine = options.filter((o) => !broken(o));
    const faulty = options.filter(broken);
    return h('section', { class: 'way-group' }, h('h4', {}, t(`lead.group.${way}`)),
      h('ul', {}, fine.map(card)),
      faulty.length > 0 && h('details', {}, h('summary', {}, `${count('lead.break', faulty.length)} ${[...new Set(faulty.map((o) => t(`rule.${o.findings[0].rule}`)))].join(', ')}`),
        h('ul', {}, faulty.map(card))));
  }

  // #sorted is by what the top voice does, or by how many ways open next.
  #sorted(options) {
    const opens = (o) => o.onward.reduce((a, b) => a + b, 0);
    const top = (o) => tops[o.top_line];
    const grave = (o) => ({ fault: 2, caution: 1 }[o.findings[0]?.severity] ?? 0);
    const by = this.order === 'top' ? [top, grave] : [grave, (o) => -opens(o), top];
    return options.toSorted((a, b) => by.reduce((d, f) => d || f(a) - f(b), 0));
  }

  #card(o, from, to, then) {
    const { view } = this;
    const now = String(o.pitches) === String(to.pitches);
    const voices = view.report.voices;
    const spoken = t('lead.option', { pitches: o.pitches.map(shown).join(' '), top: t(`lead.top.${o.top_line}`) });
    const before = chordNotes([from.pitches, to.pitches], voices);
    const mine = chordNotes([from.pitches, o.pitches], voices);
    return h('li', { class: `option ${o.findings[0]?.severity ?? 'clean'}${now ? ' as-now' : ''}` },
      voicePaths(from.pitches, o.pitches, spoken),
      h('div', { class: 'option-words' },
        h('p', { class: 'top-line' }, t(`lead.top.${o.top_line}`), now && h('strong', {}, ` · ${t('lead.as-now')}`)),
        o.findings.filter((f) => f.severity !== 'remark').map((f) => h('p', { class: `breaks ${f.severity}` }, listSign(f.severity, '!'),
          h('span', {}, h('strong', {}, `${t(`severity.${f.severity}`)}: `), f.message))),
        notes(o).length > 0 && h('p', { class: 'small' }, `${notes(o).join('; ')}.`),
        then.length > 0 && h('p', { class: 'small opens' }, this.#opens(o, then)),
        h('div', { class: 'option-actions' },
          button(t('lead.hear'), () => hearNotes(mine, { tempo: 50 }), { 'aria-label': `${t('lead.hear')}: ${spoken}` }),
          !now && button(t('lead.both'), () => hearInTurn([before, mine], { tempo: 50 }), { 'aria-label': `${t('lead.both')}: ${spoken}` }),
          !now && button(t('lead.choose'), () => view.choose(view.at + 1, o.pitches), { class: 'primary', 'aria-label': `${t('lead.choose')}: ${spoken}` }))));
  }

  #opens(o, then) {
    const open = then.map((c, i) => [c.numeral, o.onward[i]]).filter(([, n]) => n > 0).map(([c, n]) => `${c} (${n})`);
    const closed = o.closed.map((c) => c.numeral);
    return [open.length > 0 && t('lead.opens-to', { chords: open.join(', ') }), closed.length > 0 && t('lead.closed', { chords: closed.join(', ') })].filter(Boolean).join(' ');
  }
}

const broken = (o) => ['fault', 'caution'].includes(o.findings[0]?.severity);

// notes are what breaks no rule and deserves a look, each once.
const notes = (o) => [...new Set([...o.findings.filter((f) => f.severity === 'remark').map((f) => f.message), ...o.awkward.map((a) => a.says)])];

// word is a word of the service in the reader's language, or as it came.
function word(prefix, text) {
  const key = `${prefix}.${text.replaceAll(' ', '-')}`;
  return has(key) ? t(key) : text.replaceAll('-', ' ');
}

// chordNotes are chords of two quarter notes each.
export const chordNotes = (chords, voices) => chords.flatMap((pitches, i) => pitches.map((p, v) => ({
  voice: voices[v], onset: 2 * i, duration: i + 1 < chords.length && chords[i + 1][v] === p ? 2 : i + 1 < chords.length ? 1.95 : 2.5, midi: midi(parsePitch(p)),
})));
