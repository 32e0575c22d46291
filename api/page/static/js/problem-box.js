// A problem in its own words: what, where, and what to do.

import { h, button, breakable } from './dom.js';
import { t } from './words.js';

export function problemBox(problem, { name, again, undo } = {}) {
  const d = problem.document ?? { title: t('problem.title'), detail: problem.message };
  const where = ['part', 'measure', 'line', 'column'].filter((k) => d[k]).map((k) => t(`problem.${k}`, { value: d[k] }));
  const offline = problem.offline;
  // The same again is of use only where the service, not what was sent, is to blame.
  const passing = offline || !(d.status >= 400 && d.status < 500 && d.status !== 408 && d.status !== 429);
  return h('div', { class: `problem ${offline ? 'offline' : ''}`, role: 'alert' },
    h('h2', {}, offline ? t('problem.offline') : d.title),
    name && h('p', { class: 'problem-file' }, breakable(name)),
    h('p', {}, offline ? t('problem.offline-what') : d.detail),
    where.length > 0 && h('p', { class: 'problem-place' }, where.join(', ')),
    d.advice && h('p', { class: 'problem-advice' }, d.advice),
    again && passing && button(t('problem.again'), again),
    undo && button(t('desk.undo'), undo));
}
