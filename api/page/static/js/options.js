// What scores are checked by: rule set and rubric. The language is the page's where nothing
// else is asked for.

import { h, whenIdle } from './dom.js';
import { t } from './words.js';
import { askJSON } from './service.js';

let known;

const ask = () => (known ??= Promise.all([askJSON('/v1/rule-sets'), askJSON('/v1/rubrics')]));

// askSoon asks what there is to choose before it is needed.
export const askSoon = () => whenIdle(() => ask().catch(() => { known = undefined; }));

// rulesAndRubric are the two choices with their labels; set(name, value) is told of each. With
// marked there is always a rubric.
export function rulesAndRubric(options, set, { prefix = '', marked = false } = {}) {
  const choice = (name) => h('select', { id: prefix + name.replace('_', '-'), onchange: (e) => set(name, e.target.value) });
  const [sets, rubrics] = ['rule_set', 'rubric'].map(choice);
  ask().then(([{ rule_sets }, { rubrics: schemes }]) => {
    fill(sets, t('options.by-texture'), rule_sets, options.rule_set);
    fill(rubrics, marked ? undefined : t('options.no-mark'), schemes, options.rubric);
  }, () => { known = undefined; });
  return [[sets, 'options.rule-set'], [rubrics, marked ? 'class.form.rubric' : 'options.rubric']].map(([select, words]) => [h('label', { for: select.id }, t(words)), select]);
}

export function chooser(view) {
  return h('details', { class: 'menu', onkeydown: (e) => { if (e.key === 'Escape') e.currentTarget.open = false; } },
    h('summary', { class: 'button' }, t('options.title')),
    h('div', { class: 'options' }, rulesAndRubric(view.options, (name, value) => view.setOption(name, value))));
}

function fill(select, none, named, chosen) {
  if (none) select.append(h('option', { value: '' }, none));
  select.append(...named.map(({ name }) => h('option', { value: name, selected: name === chosen }, name)));
}
