// Plots of a batch, as tables with bars: they read aloud, print, and every bar is a
// button to the scores behind it.

import { h, button, breakable } from './dom.js';
import { t, count } from './words.js';

const most = 12; // rows of a plot

export function plots(scores, only, pick) {
  return h('div', { class: 'plots' }, byRule(scores, only, pick), byMeasure(scores, only, pick));
}

// unseen is for screen readers alone.
const unseen = (words) => h('span', { class: 'unseen' }, words);

const isFault = (f) => f.severity === 'fault';

function byRule(scores, only, pick) {
  const rules = new Map();
  for (const score of scores) for (const f of score.findings.filter(isFault)) rules.set(f.rule, (rules.get(f.rule) ?? 0) + 1);
  const rows = [...rules].sort((a, b) => b[1] - a[1]).slice(0, most);
  const top = rows[0]?.[1] ?? 1;
  return h('section', { class: 'plot' }, h('h2', {}, t('batches.by-rule')),
    rows.length === 0 && h('p', {}, t('batches.no-faults')),
    h('table', {}, h('tbody', {}, rows.map(([rule, n]) => h('tr', {},
      h('th', { scope: 'row' }, t(`rule.${rule}`)),
      h('td', {}, button([h('span', { class: 'bar', vars: { '--n': n / top } }), h('span', { class: 'n' }, String(n)), unseen(` ${count('findings.fault-word', n)}: ${t(`rule.${rule}`)}`)], () => pick({ rule }), {
        class: 'bar-button', 'aria-pressed': String(only.rule === rule), data: { rule },
      })))))));
}

// byMeasure counts by the measure's place, which scores of one exercise share.
function byMeasure(scores, only, pick) {
  const counts = [];
  const labels = [];
  for (const score of scores) {
    for (const f of score.findings.filter(isFault)) {
      counts[f.measure_index] = (counts[f.measure_index] ?? 0) + 1;
      labels[f.measure_index] ??= f.measure;
    }
  }
  const hardest = Object.entries(counts).map(([i, n]) => ({ i: Number(i), n })).sort((a, b) => b.n - a.n).slice(0, 24).sort((a, b) => a.i - b.i);
  const top = Math.max(1, ...hardest.map((m) => m.n));
  return h('section', { class: 'plot' }, h('h2', {}, t('batches.by-measure')),
    h('ol', { class: 'columns' }, hardest.map(({ i, n }) => h('li', {}, button([
      h('span', { class: 'n' }, String(n)), unseen(` ${count('findings.fault-word', n)}, ${t('batches.measure')} `),
      h('span', { class: 'column', vars: { '--n': n / top } }), h('span', { class: 'column-label' }, labels[i]),
    ], () => pick({ measure: i }), { class: 'column-button', 'aria-pressed': String(only.measure === i), data: { measure: i } })))));
}

// scoreTable is what came of each score: faults and cautions as a bar of two parts.
export function scoreTable(scores, only, open, all) {
  const narrowed = only.rule || only.measure !== undefined;
  const top = Math.max(1, ...scores.map((s) => s.summary.faults + s.summary.cautions));
  return h('section', { class: 'plot scores' },
    h('h2', {}, narrowed ? count('batches.behind', scores.length) : t('batches.by-score')),
    narrowed && button(t('batches.show-all'), all),
    h('table', {},
      h('thead', {}, h('tr', {}, h('th', { scope: 'col' }, t('batches.score')), h('th', { scope: 'col' }, t('batches.found')))),
      h('tbody', {}, scores.map((s) => h('tr', {},
        h('th', { scope: 'row' }, s.state === 'done' ? button(breakable(s.file), () => open(s.number), { class: 'link' }) : breakable(s.file)),
        h('td', {}, s.state === 'done' ? outcome(s.summary, top) : s.problem ? h('span', { class: 'bad' }, `${s.problem.title}: ${s.problem.detail}`) : t(`batches.state.${s.state}`)))))));
}

function outcome({ faults, cautions }, top) {
  return h('span', { class: 'outcome' },
    h('span', { class: 'bar fault', vars: { '--n': faults / top } }), h('span', { class: 'bar caution', vars: { '--n': cautions / top } }),
    h('span', { class: 'n' }, `${count('findings.fault', faults)}, ${count('findings.caution', cautions)}`));
}
