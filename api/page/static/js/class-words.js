// Small things that all parts about classes say in the same way. Each state has a sign of
// its own, so that its color is not needed.

import { h } from './dom.js';
import { t, language } from './words.js';

export const when = (time) => new Date(time).toLocaleString(language, { dateStyle: 'medium', timeStyle: 'short' });

// chip is a sign with words; kind is well, doubt, bad or plain.
export const chip = (kind, sign, words) => h('span', { class: `chip chip-${kind}` }, h('span', { class: 'chip-sign', 'aria-hidden': 'true' }, sign), h('span', { class: 'chip-words' }, words));

// openness says whether an assignment takes work at this moment.
export function openness({ opens, closes }, now = Date.now()) {
  if (opens && Date.parse(opens) > now) return chip('doubt', '◔', t('class.opens-at', { when: when(opens) }));
  if (closes && Date.parse(closes) <= now) return chip('plain', '■', t('class.closed'));
  return chip('well', '▶', t('class.open'));
}

// stateChip is what a hand-in turned out to be.
export const stateChip = (state) => (state === 'whole' ? chip('well', '✓', t('class.state.whole'))
  : chip(state === 'unfinished' || state === 'given-changed' ? 'doubt' : 'bad', '!', t(`class.state.${state}`)));

// finality is whether a mark is released; where none is proposed, the teacher has to set one.
export function finality({ released, mark }) {
  if (released) return chip('well', '✓', t('class.released'));
  return mark === undefined || mark === null ? chip('doubt', '?', t('class.no-mark-yet')) : chip('doubt', '…', t('class.proposed-only'));
}

// writable tells whether there are notes of the pupil's own to go on with.
export const writable = (state) => ['whole', 'unfinished', 'given-changed', 'transposed'].includes(state);

export const points = (n) => (n === undefined || n === null ? '–' : n.toLocaleString(language));

export const markOf = (mark, available) => (mark === undefined || mark === null ? t('class.no-mark') : available ? t('class.mark-of', { mark: points(mark), available: points(available) }) : points(mark));

export const notFinal = () => h('p', { class: 'not-final' }, h('strong', {}, t('class.not-final')), ' ', t('class.not-final-what'));
