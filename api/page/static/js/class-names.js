// Who a reference is, for a teacher's eyes: the name that a learning system tells, a number
// where references are hidden, or the reference itself. Names are never kept.

import { t } from './words.js';
import { keep, kept } from './draft.js';

let told = new Map();
let arrived = [];
let listed = {};

// hidden tells whether work is marked without knowing whose it is.
export const hidden = () => Boolean(kept('hide-references'));

export const hide = (yes) => keep('hide-references', yes);

export const tell = (names) => { told = names; };

export const areTold = () => told.size > 0;

// arrive says in which order hand-ins came: numbers follow it, so that they tell nothing.
export function arrive(handIns) {
  arrived = [...new Set([...handIns].sort((a, b) => String(a.received).localeCompare(String(b.received))).map((o) => o.reference))];
}

export const numberOf = (reference) => arrived.indexOf(reference) + 1;

export function nameOf(reference) {
  if (!hidden()) return told.get(reference) ?? reference;
  return numberOf(reference) ? t('class.pupil-number', { n: numberOf(reference) }) : t('class.pupil-hidden');
}

// list says which hand-ins of an assignment the teacher goes through, in which order; beside
// are those before and after one.
export const list = (assignment, references) => { listed = { assignment, references }; };

export function beside(assignment, reference) {
  const { references } = listed;
  const at = listed.assignment === assignment ? references.indexOf(reference) : -1;
  return at < 0 ? {} : { before: references[at - 1], after: references[at + 1] };
}
