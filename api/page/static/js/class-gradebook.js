// What learning systems have of a class, asked before a release: a mark that somebody entered
// there by hand would be overwritten, and cannot be had back from here.

import { h } from './dom.js';
import { t } from './words.js';
import { gradebook } from './class-service.js';
import { points } from './class-words.js';

// overwritten says what a release would overwrite, of all or of one reference; nothing where
// no learning system is told.
export async function overwritten(id, nameOf, reference) {
  let entries;
  try {
    entries = await gradebook(id);
  } catch {
    return h('p', { class: 'refused' }, t('class.gradebook-unread'));
  }
  entries = entries.filter((e) => !reference || e.reference === reference);
  const over = entries.filter((e) => e.overwrites);
  return [
    over.length > 0 && h('p', { class: 'refused' }, t('class.overwrites', { who: over.map((e) => t('class.overwrites-one', { who: nameOf(e.reference), mark: points(e.stands) })).join(', ') })),
    entries.some((e) => !e.known) && h('p', { class: 'refused' }, t('class.gradebook-unread')),
    entries.some((e) => e.state === 'failed') && h('p', {}, t('class.gradebook-failed')),
  ];
}
