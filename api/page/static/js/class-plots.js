// Plots of a class, as tables with bars: they read aloud and print, and every bar is a
// button to the hand-ins behind it. `only.key` names the bar that is picked.

import { h, button } from './dom.js';
import { t, count, beatName } from './words.js';
import { points } from './class-words.js';
import { ExampleScores } from './class-examples.js';

const most = 12; // rows of a plot

const unseen = (words) => h('span', { class: 'unseen' }, words);

function rowButton({ key, n, top, words, pupils, only, pick }) {
  return button([h('span', { class: 'bar', vars: { '--n': n / (top || 1) } }), h('span', { class: 'n' }, String(n)), unseen(` ${words}`)],
    () => pick({ key, pupils, words }), { class: 'bar-button', 'aria-pressed': String(only.key === key), data: { key } });
}

const column = ({ key, n, top, words, label, only, onpick }) => h('li', {}, button([
  h('span', { class: 'n' }, String(n)), unseen(` ${words} `), h('span', { class: 'column', vars: { '--n': n / (top || 1) } }), h('span', { class: 'column-label' }, label),
], onpick, { class: 'column-button', 'aria-pressed': String(only.key === key), disabled: n === 0, data: { key } }));

// byMark counts the marks that hold by tenths of what there is to get.
export function byMark({ marks }, only, pick) {
  const top = Math.max(...marks.tenths);
  const edge = (i) => points(Math.floor((i * marks.available) / 5 + 0.5) / 2);
  return h('section', { class: 'plot marks-plot' }, h('h2', {}, t('class.by-mark')),
    marks.count === 0 && h('p', {}, t('class.no-marks')),
    marks.count > 0 && h('ol', { class: 'columns' }, marks.tenths.map((n, i) => {
      const words = t('class.mark-range', { from: edge(i), to: edge(i + 1) });
      return column({ key: `tenth-${i}`, n, top, words, label: edge(i), only, onpick: () => pick({ key: `tenth-${i}`, tenth: i, words }) });
    })),
    marks.count > 0 && h('p', { class: 'small' }, t('class.by-mark-what', { least: points(marks.least), most: points(marks.most) })));
}

// byRule counts pupils, not findings: a rule that one pupil broke ten times is no lesson
// for all. What the model answer has too lies in the exercise, and is said of the findings.
export function byRule({ rules }, only, pick) {
  const rows = rules.slice(0, most);
  const top = rows[0]?.pupils.length;
  return h('section', { class: 'plot' }, h('h2', {}, t('class.by-rule')),
    rows.length === 0 && h('p', {}, t('batches.no-faults')),
    h('table', {}, h('tbody', {}, rows.map((r) => h('tr', {},
      h('th', { scope: 'row' }, r.name,
        r.in_model > 0 && h('span', { class: 'small in-model' }, count('class.in-model', r.in_model, { all: count('class.findings', r.findings) }))),
      h('td', {}, rowButton({ key: `rule-${r.rule}`, n: r.pupils.length, top, pupils: r.pupils, only, pick, words: `${r.name}: ${count('class.pupils', r.pupils.length)}` })))))));
}

export function byMeasure({ measures }, only, pick) {
  const top = Math.max(0, ...measures.map((m) => m.findings));
  return h('section', { class: 'plot' }, h('h2', {}, t('class.by-measure')),
    measures.length === 0 && h('p', {}, t('batches.no-faults')),
    h('ol', { class: 'columns' }, measures.map((m) => {
      const words = `${t('problem.measure', { value: m.measure })}: ${count('class.findings', m.findings)}, ${count('class.pupils', m.pupils.length)}`;
      const key = `measure-${m.measure_index}`;
      return column({ key, n: m.findings, top, words, label: m.measure, only, onpick: () => pick({ key, pupils: m.pupils, words }) });
    })));
}

export function wrongChords({ wrong_chords: all }, only, pick) {
  if (!all.length) return undefined;
  const top = all[0].pupils.length;
  return h('section', { class: 'plot' }, h('h2', {}, t('class.wrong-chords')),
    h('table', {}, h('tbody', {}, all.map((c) => {
      const words = t('class.wrong-chord', { wanted: c.wanted, written: c.written, place: t('place', { measure: c.measure, beat: beatName(c.beat) }) });
      return h('tr', {},
        h('th', { scope: 'row' }, words),
        h('td', {}, rowButton({ key: `chord-${words}`, n: c.pupils.length, top, pupils: c.pupils, only, pick, words: `${words}: ${count('class.pupils', c.pupils.length)}` })));
    }))));
}

// alikeList is for the teacher alone, and is not printed.
export function alikeList({ alike }, nameOf, addressOf) {
  const percent = (share) => Math.round(100 * share);
  return h('section', { class: 'plot alike not-printed' }, h('h2', {}, t('class.alike')), h('p', { class: 'small' }, t('class.alike-what')),
    h('ul', {}, alike.map((l) => h('li', {},
      l.references.map((r, i) => [i > 0 && ` ${t('class.and')} `, h('a', { href: addressOf(r, l.attempts[i]) }, nameOf(r))]), ': ',
      t('class.alike-how', { alike: percent(l.alike), explained: percent(l.explained) }), ' ',
      l.faults > 0 && count('class.alike-faults', l.faults), ' ',
      l.transposed ? t('class.alike-transposed', { n: l.transposed }) : ''))));
}

// lessons are the rules to teach again, with passages of the class.
export function lessons({ teach_again: all }) {
  return all.length ? new ExampleScores(all) : undefined;
}

