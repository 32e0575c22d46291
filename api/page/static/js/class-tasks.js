// What a teacher does for an assignment as a whole beside releasing marks: sets it once more,
// and gives a pupil more time, before or after they have handed in.

import { h, replace } from './dom.js';
import { t } from './words.js';
import { announce } from './announce.js';
import * as service from './class-service.js';
import { groupsField, parse } from './class-groups.js';
import { problemBox } from './problem-box.js';

const time = (text) => (text ? new Date(text).toISOString() : undefined);

const field = (words, input) => [h('label', { for: input.id }, t(words)), input];

// asking is a form behind a button; act is given its trouble, to show what is wrong.
function asking(words, fields, submit, act) {
  const trouble = h('div', {});
  const shut = (e) => { e.currentTarget.open = false; e.currentTarget.firstChild.focus(); };
  const send = async (e) => {
    e.preventDefault();
    const details = e.currentTarget.closest('details');
    replace(trouble);
    try {
      await act();
      details.open = false;
    } catch (problem) {
      replace(trouble, problemBox(problem));
    }
  };
  return h('details', { class: 'menu ask-first', name: 'asking', onkeydown: (e) => { if (e.key === 'Escape') shut(e); } },
    h('summary', { class: 'button' }, words),
    h('div', { class: 'options' },
      h('form', { class: 'decision-form', onsubmit: send }, fields, h('button', { type: 'submit', class: 'primary' }, submit), trouble)));
}

// copyForm sets the same exercise once more and goes there.
export function copyForm({ id, assignment, page }) {
  const title = h('input', { id: 'copy-title', type: 'text', required: true, maxlength: 200, autocomplete: 'off', value: assignment.title });
  const opens = h('input', { id: 'copy-opens', type: 'datetime-local' });
  const closes = h('input', { id: 'copy-closes', type: 'datetime-local' });
  const groups = groupsField('copy-groups');
  return asking(t('class.copy'), [
    h('p', { class: 'small' }, t('class.copy-what')), field('class.copy-title', title), field('class.form.opens', opens), field('class.form.closes', closes), groups,
  ], t('class.copy-do'), async () => {
    const made = await service.copy(id, { title: title.value.trim(), opens: time(opens.value), closes: time(closes.value), groups: parse(groups[1].value).groups });
    announce(t('class.copied', { title: made.title }));
    page.go('assignments', `assignment=${encodeURIComponent(made.id)}`);
  });
}

// moreTimeForm names a pupil by reference, since who has not handed in stands in no list.
export function moreTimeForm(view) {
  const whom = h('input', { id: 'time-reference', type: 'text', required: true, maxlength: 200, autocomplete: 'off' });
  const until = h('input', { id: 'time-until', type: 'datetime-local', required: true });
  return asking(t('class.extend'), [
    h('p', { class: 'small' }, t('class.extend-what')), field('class.col.reference', whom), field('class.extend-until', until),
  ], t('class.extend-give'), () => view.decide({ do: 'extend', reference: whom.value.trim(), until: time(until.value) }, t('class.extended')));
}
