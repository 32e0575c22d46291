// Groups: references that hand in for several pupils, typed one a line, as "g1: p01, p02".

import { h } from './dom.js';
import { t } from './words.js';

// parse reads what was typed; wrong is the first line that is no group.
export function parse(text) {
  const groups = {};
  for (const line of text.split('\n').map((l) => l.trim()).filter(Boolean)) {
    const [, name, members = ''] = /^([^:]+):(.+)$/.exec(line) ?? [];
    const of = members.split(/[,;]/).map((m) => m.trim()).filter(Boolean);
    if (!name || !of.length) return { wrong: line };
    groups[name.trim()] = of;
  }
  return { groups: Object.keys(groups).length ? groups : undefined };
}

// groupsField is where they are typed. A line that is no group is said as the field is left,
// and keeps its form from being sent.
export function groupsField(id, value = '', changed = () => {}) {
  const held = (field) => {
    const { wrong } = parse(field.value);
    field.setCustomValidity(wrong ? t('class.groups.wrong', { line: wrong }) : '');
  };
  const field = h('textarea', {
    id, rows: 2, autocomplete: 'off', spellcheck: 'false', autocapitalize: 'off', 'aria-describedby': `${id}-help`, placeholder: 'g1: p01, p02', value,
    oninput: (e) => { held(e.target); changed(e.target.value); },
  });
  held(field);
  return [h('label', { for: id }, t('class.groups')), field, h('p', { class: 'small', id: `${id}-help` }, t('class.groups.what'))];
}
