// How the score was read, said before what was found in it.

import { h } from './dom.js';
import { t, voiceName } from './words.js';

export function readingNotes(report) {
  const { score, texture, hand_in: handIn, notices } = report;
  const problems = handIn?.problems ?? [];
  const worth = notices.length > 0 || problems.length > 0 || (score.set_aside ?? []).length > 0;
  return h('details', { class: `reading ${worth ? 'worth' : ''}`, open: problems.length > 0 },
    h('summary', {}, t('reading.title'), ' ', h('span', { class: 'small' }, score.found)),
    problems.map((p) => h('p', { class: 'incomplete' }, `${p.place}: ${p.message}`)),
    handIn?.note && h('p', {}, handIn.note),
    texture && h('p', {}, texture.why),
    h('p', {}, t('reading.voices', { voices: score.voices.map((v) => voiceName(v.name)).join(', ') })),
    notices.length > 0 && h('ul', {}, notices.map((n) => h('li', {}, [n.measure && t('reading.measure', { measure: n.measure }), n.message].filter(Boolean).join(': ')))));
}
