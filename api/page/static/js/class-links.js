// Links that a teacher gives out where no learning system knows the pupils: each signs one
// browser in, as the pupil of one reference.

import { h, replace } from './dom.js';
import { t } from './words.js';
import * as service from './class-service.js';
import { linkTo } from './sign-in.js';
import { problemBox } from './problem-box.js';

export function handInLinks({ id }) {
  const field = h('input', { id: 'link-reference', type: 'text', required: true, maxlength: 200, autocomplete: 'off' });
  const made = h('div', { role: 'status' });
  const make = async () => {
    try {
      const link = linkTo(await service.handInLink(id, field.value.trim()), id);
      const shown = h('textarea', { id: 'link-made', readonly: true, rows: 3, value: link, onfocus: (e) => e.target.select() });
      replace(made, h('label', { for: 'link-made' }, t('class.link-made', { who: field.value.trim() })), shown);
    } catch (problem) {
      replace(made, problemBox(problem));
    }
  };
  return h('details', { class: 'menu ask-first', name: 'asking', onkeydown: (e) => { if (e.key === 'Escape') e.currentTarget.open = false; } },
    h('summary', { class: 'button' }, t('class.link')),
    h('div', { class: 'options' },
      h('form', { class: 'decision-form', onsubmit: (e) => { e.preventDefault(); make(); } },
        h('label', { for: field.id }, t('class.col.reference')), field, h('p', { class: 'small' }, t('class.link-what')),
        h('button', { type: 'submit', class: 'primary' }, t('class.link-make'))), made));
}
