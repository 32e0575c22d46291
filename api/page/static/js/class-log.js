// The log of an assignment: who did what and when. Nothing in it is ever changed.

import { h } from './dom.js';
import { t, beatName, has } from './words.js';
import { points, when } from './class-words.js';

export function logList(entries, nameOf) {
  return h('details', { class: 'log not-printed' },
    h('summary', {}, t('class.log', { n: entries.length })),
    h('p', { class: 'small' }, t('class.log-what')),
    h('ol', {}, [...entries].reverse().map((e) => h('li', {},
      h('span', { class: 'small' }, `${when(e.at)} · ${e.by}`),
      h('span', {}, said(e, nameOf)),
      e.text && h('q', {}, e.text)))));
}

function said(e, nameOf) {
  const whom = e.reference ? [e.reference.startsWith('forgotten-') ? t('class.log.forgotten') : nameOf(e.reference), e.attempt && t('pupil.attempt', { n: e.attempt })] : [t('class.log.everybody')];
  return [
    has(`class.do.${e.do}`) ? t(`class.do.${e.do}`) : e.do, ...whom,
    e.number && t('class.log.finding', { n: e.number }),
    e.measure && t('place', { measure: e.measure, beat: beatName(e.beat || '1') }),
    e.do === 'set-mark' && t('class.log.marks', { mark: points(e.mark), before: points(e.before), proposed: points(e.proposed) }),
    e.until && t('class.log.until', { when: when(e.until) }),
    e.points && t('class.log.costs', { points: points(e.points) }),
  ].filter(Boolean).join(' · ');
}
