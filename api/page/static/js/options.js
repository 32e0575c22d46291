// What a score is checked by: rule set and rubric. The language is the page's.

import { h } from './dom.js';
import { t } from './words.js';
import { askJSON } from './service.js';

let known;

const ask = () => (known ??= Promise.all([askJSON('/v1/rule-sets'), askJSON('/v1/rubrics')]));

export function chooser(view) {
  const sets = h('select', { id: 'rule-set', onchange: (e) => view.setOption('rule_set', e.target.value) });
  const rubrics = h('select', { id: 'rubric', onchange: (e) => view.setOption('rubric', e.target.value) });
  ask().then(([{ rule_sets }, { rubrics: schemes }]) => {
    fill(sets, t('options.by-texture'), rule_sets, view.options.rule_set);
    fill(rubrics, t('options.no-mark'), schemes, view.options.rubric);
  }, () => { known = undefined; });
  return h('details', { class: 'menu', onkeydown: (e) => { if (e.key === 'Escape') e.currentTarget.open = false; } },
    h('summary', { class: 'button' }, t('options.title')),
    h('div', { class: 'options' },
      h('label', { for: 'rule-set' }, t('options.rule-set')), sets,
      h('label', { for: 'rubric' }, t('options.rubric')), rubrics));
}

function fill(select, none, named, chosen) {
  select.append(h('option', { value: '' }, none),
    ...named.map(({ name }) => h('option', { value: name, selected: name === chosen }, name)));
}
