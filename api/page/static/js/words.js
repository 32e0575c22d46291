// Words of the page in the language that is chosen. Sentences about the music come from
// the service, which knows them in the same languages.

import { address } from './address.js';

export const languages = document.documentElement.dataset.languages.split(' ');

let words = {};
export let language = 'en';

// preferred is the first language that the browser asks for and the page has.
export function preferred() {
  for (const wish of navigator.languages ?? []) {
    const primary = wish.toLowerCase().split('-')[0];
    if (languages.includes(primary)) return primary;
  }
  return 'en';
}

export async function speak(wish) {
  const answer = await fetch(address(`words/${wish}.json`));
  words = await answer.json();
  language = wish;
  document.documentElement.lang = wish;
}

// t is a sentence by its key, its placeholders filled in.
export function t(key, given = {}) {
  const sentence = words[key];
  if (sentence === undefined) return key;
  return sentence.replace(/\{(\w+)\}/g, (all, name) => given[name] ?? all);
}

export const has = (key) => key in words;

// count picks the sentence for one or for many: `key.one`, `key.many`.
export const count = (key, n, given = {}) => t(n === 1 ? `${key}.one` : `${key}.many`, { n, ...given });

// voiceName is "soprano" for S, and "voice 5" for V5.
export function voiceName(name) {
  if (has(`voice.${name}`) && name !== 'V') return t(`voice.${name}`);
  if (/^V\d+$/.test(name)) return `${t('voice.V')} ${name.slice(1)}`;
  return name;
}

const fractions = { 25: '¼', 33: '⅓', 5: '½', 66: '⅔', 67: '⅔', 75: '¾' };

// beatName writes a beat as a musician does: 2½ rather than 2.5.
export function beatName(beat) {
  const [whole, part = ''] = String(beat).split('.');
  if (!part) return whole;
  const sign = fractions[part.slice(0, 2).replace(/0$/, '')];
  return sign ? whole + sign : whole + t('decimal-mark') + part.slice(0, 2);
}

export function place(finding) {
  return t('place', { measure: finding.measure, beat: beatName(finding.beat) });
}
