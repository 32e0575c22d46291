// A button whose work cannot be undone, or is seen by others, asks once before it acts.

import { h, button } from './dom.js';
import { t } from './words.js';

export function ask(words, { question, yes, act, disabled, primary, quiet }) {
  const shut = (e) => { e.currentTarget.closest('details').open = false; e.currentTarget.closest('details').querySelector('summary').focus(); };
  const kind = `button ${primary ? 'primary' : ''} ${quiet ? 'quiet' : ''}`;
  if (disabled) return button(words, () => {}, { class: kind, disabled: true });
  return h('details', { class: 'menu ask-first', onkeydown: (e) => { if (e.key === 'Escape') shut({ currentTarget: e.currentTarget.firstChild }); } },
    h('summary', { class: kind }, words),
    h('div', { class: 'options' },
      h('p', {}, question),
      h('div', { class: 'actions' }, button(yes, act, { class: 'primary' }), button(t('class.not-now'), shut))));
}
