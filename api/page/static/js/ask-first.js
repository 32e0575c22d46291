// A button whose work cannot be undone, or is seen by others, asks once before it acts.

import { h, button, replace } from './dom.js';
import { t } from './words.js';

// ask shows a question before it acts. Before, if given, promises what else is to be known,
// and is called when the question is opened.
export function ask(words, { question, yes, act, before, disabled, primary, quiet }) {
  const shut = (e) => { e.currentTarget.closest('details').open = false; e.currentTarget.closest('details').querySelector('summary').focus(); };
  const kind = `button ${primary ? 'primary' : ''} ${quiet ? 'quiet' : ''}`;
  if (disabled) return button(words, () => {}, { class: kind, disabled: true });
  const told = before && h('div', { class: 'told', role: 'status' });
  const opened = async (e) => {
    if (before && e.currentTarget.open) replace(told, [await before()]);
  };
  return h('details', { class: 'menu ask-first', name: 'asking', ontoggle: opened, onkeydown: (e) => { if (e.key === 'Escape') shut({ currentTarget: e.currentTarget.firstChild }); } },
    h('summary', { class: kind }, words),
    h('div', { class: 'options' },
      h('p', {}, question), told,
      h('div', { class: 'actions' }, button(yes, act, { class: 'primary' }), button(t('class.not-now'), shut))));
}
