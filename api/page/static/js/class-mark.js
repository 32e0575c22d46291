// The mark of one attempt beside its score: what is proposed and why, what holds, and what
// the teacher decides about it.

import { h, button, replace } from './dom.js';
import { t, count, place } from './words.js';
import { announce } from './announce.js';
import { problemBox } from './problem-box.js';
import { chip, finality, markOf, points, stateChip, when } from './class-words.js';
import { ask } from './ask-first.js';
import { nameOf } from './class-names.js';
import { overwritten } from './class-gradebook.js';
import { keyOf } from './class-work.js';
import { exported } from './class-export.js';

// markPanel stands above the list of findings.
export function markPanel(desk) {
  const { session, view } = desk;
  const { work } = session;
  const { outcome: o } = work;
  if (!o) return seenPanel(work);
  const trouble = h('div', {});
  const decide = (decision, said) => decided(session, decision, said, trouble);
  return h('section', { class: 'mark-panel', 'aria-label': t('class.col.mark') },
    h('p', { class: 'glance' }, stateChip(o.state), o.late > 0 && chip('doubt', '!', count('class.late', o.late)), finality(o)),
    o.message && h('p', {}, o.message),
    o.refused && h('p', { class: 'refused' }, o.refused),
    h('p', { class: 'mark-holds' }, t('class.mark-holds', { mark: markOf(o.mark, o.available) })),
    h('p', { class: 'small' }, o.released ? o.note : t('class.not-final')),
    o.changed_by && h('p', {}, t('class.set-by', { who: o.changed_by, when: when(o.changed_at), proposed: points(o.proposed) }), o.why && h('q', {}, o.why)),
    breakdown(work),
    (work.unmet ?? []).length > 0 && h('ul', { class: 'unmet' }, work.unmet.map((u) => h('li', {}, u.message))),
    added(o.added),
    work.since && changes(work.since),
    trouble,
    h('div', { class: 'actions' },
      o.released
        ? ask(t('class.take-back'), { question: t('class.take-back-ask'), yes: t('class.take-back'), act: () => decide({ do: 'take-back', attempt: undefined }, t('class.taken-back')) })
        : ask(t('class.release-one'), { question: t('class.release-one-ask'), yes: t('class.release'), primary: true, before: () => overwritten(session.id, nameOf, session.reference), act: () => decide({ do: 'release', attempt: undefined }, t('class.released-done')) })),
    setMark(o, decide), addFinding(desk, decide), moreTime(o, decide), personal(desk, view, trouble));
}

// added are the teacher's own remarks.
const added = (all = []) => all.length > 0 && h('ul', { class: 'added' }, all.map((a) => h('li', {}, h('strong', {}, t('class.added', { place: place({ measure: a.measure, beat: a.beat || 1 }) })), ' ', a.text, a.points > 0 && ` (−${points(a.points)})`)));

// seenPanel is what the pupil is told of it.
function seenPanel(work) {
  const released = work.mark !== undefined;
  return h('section', { class: 'mark-panel', 'aria-label': t('class.col.mark') },
    h('p', {}, stateChip(work.state)),
    work.message && h('p', {}, work.message),
    work.refused && h('p', { class: 'refused' }, work.refused),
    h('p', { class: released ? 'mark-holds' : '' }, released ? t('class.mark-holds', { mark: markOf(work.mark, work.available) }) : chip('doubt', '…', t('pupil.not-released'))),
    released && work.proposed && breakdown({ ...work, outcome: {} }),
    (work.unmet ?? []).length > 0 && h('ul', { class: 'unmet' }, work.unmet.map((u) => h('li', {}, u.message))),
    added(work.added),
    work.since && changes(work.since),
    h('p', { class: 'small' }, work.note));
}

async function decided(session, decision, said, trouble) {
  try {
    await session.decide(decision);
    announce(said);
  } catch (problem) {
    replace(trouble, problemBox(problem));
  }
}

function breakdown({ proposed, outcome: o }) {
  if (!proposed) return h('p', {}, t('class.none-proposed'));
  const lines = proposed.lines.map((l) => [`${l.name}${l.count > 1 ? ` ×${l.count}` : ''}`, l.lost]);
  if (o.lost_added) lines.push([t('class.lost-added'), o.lost_added]);
  if (o.lost_late) lines.push([t('class.lost-late'), o.lost_late]);
  const scaled = proposed.counted_of !== proposed.available;
  return h('details', { class: 'grade', open: true },
    h('summary', {}, t('grade.earned', { earned: points(proposed.earned), available: points(proposed.available) })),
    lines.length === 0 && h('p', {}, t('class.nothing-lost')),
    lines.length > 0 && h('table', {}, h('tbody', {}, lines.map(([words, lost]) => h('tr', {}, h('th', { scope: 'row' }, words), h('td', {}, `−${points(lost)}`))))),
    scaled && h('p', { class: 'small' }, t('class.scaled', { counted: points(proposed.counted), of: points(proposed.counted_of) })));
}

// changes are what became of the findings of the attempt before.
export function changes({ mended, new: fresh, stays }) {
  const list = (sign, words, all) => all.length > 0 && h('li', {}, h('strong', {}, `${sign} ${t(words, { n: all.length })}`),
    h('ul', {}, all.map((k) => h('li', {}, `${place({ measure: k.measure, beat: beatOf(k.beat) })}: ${k.message}`))));
  return h('details', { class: 'since' }, h('summary', {}, t('class.since', { mended: mended.length, fresh: fresh.length })),
    h('ul', {}, list('✓', 'class.since.mended', mended), list('!', 'class.since.new', fresh), list('=', 'class.since.stays', stays)));
}

// beatOf reads an exact beat, such as 5/2.
const beatOf = (text) => {
  const [over, under = 1] = String(text || '1').split('/').map(Number);
  return over / under;
};

const field = (words, input) => h('div', { class: 'field' }, h('label', { for: input.id }, t(words)), input);

function form(title, fields, submit, send, more) {
  return h('details', { class: 'decision' }, h('summary', {}, t(title)),
    h('form', { onsubmit: (e) => { e.preventDefault(); send(); } }, fields, h('div', { class: 'actions' }, h('button', { type: 'submit' }, t(submit)), more)));
}

function setMark(o, decide) {
  const mark = h('input', { id: 'set-mark', type: 'number', min: 0, max: 1000, step: 0.5, required: true, value: o.mark ?? '' });
  const why = h('input', { id: 'set-why', type: 'text', maxlength: 2000, required: true, autocomplete: 'off', value: '' });
  return form('class.change-mark', [field('class.new-mark', mark), field('class.why', why)], 'class.set-mark',
    () => decide({ do: 'set-mark', mark: Number(mark.value), text: why.value.trim() }, t('class.mark-set')),
    o.changed_by && button(t('class.clear-mark'), () => decide({ do: 'clear-mark' }, t('class.mark-cleared'))));
}

function addFinding(desk, decide) {
  const chosen = desk.placeChosen;
  const measure = h('input', { id: 'add-measure', type: 'text', maxlength: 32, required: true, autocomplete: 'off', value: chosen?.measure ?? '' });
  const beat = h('input', { id: 'add-beat', type: 'text', maxlength: 16, autocomplete: 'off', value: chosen?.beat ?? '1' });
  const text = h('textarea', { id: 'add-text', maxlength: 2000, required: true, rows: 2 });
  const costs = h('input', { id: 'add-points', type: 'number', min: 0, max: 1000, step: 0.5, value: '0' });
  return form('class.add-finding', [h('p', { class: 'small' }, t('class.add-what')), field('class.measure', measure), field('class.beat', beat), field('class.text', text), field('class.costs', costs)], 'class.add',
    () => decide({ do: 'add', measure: measure.value.trim(), beat: beat.value.trim() || undefined, text: text.value.trim(), points: Number(costs.value) || undefined }, t('class.finding-added')));
}

function moreTime(o, decide) {
  const until = h('input', { id: 'extend-until', type: 'datetime-local', required: true });
  return form('class.extend', [field('class.extend-until', until)], 'class.extend-give',
    () => decide({ do: 'extend', attempt: undefined, until: new Date(until.value).toISOString() }, t('class.extended')));
}

function personal(desk, view, trouble) {
  const failing = (work) => async () => {
    try {
      await work();
    } catch (problem) {
      replace(trouble, problemBox(problem));
    }
  };
  return h('details', { class: 'decision' }, h('summary', {}, t('class.personal')),
    h('p', { class: 'small' }, t('class.personal-what')),
    h('div', { class: 'actions' },
      button(t('class.export'), failing(() => exported(view))),
      ask(t('class.forget'), { question: t('class.forget-ask'), yes: t('class.forget-yes'), act: failing(() => view.forget()) })));
}

// findingDecisions stand with a finding: let it cost nothing, accept it as good, count it.
export function findingDecisions(desk, finding) {
  const { session } = desk;
  const done = session.work.outcome.let_stand?.[keyOf(finding)];
  const trouble = h('div', {});
  const act = (what, words) => button(t(words), () => decided(session, { do: what, number: finding.number }, t(`class.do.${what}`), trouble), { title: t(`${words}-why`) });
  if (!done && finding.severity === 'remark') return undefined;
  return h('div', { class: 'finding-decisions' },
    done && h('p', {}, chip('well', '✓', t(`class.do.${done}`))),
    h('div', { class: 'actions' }, done ? act('restore', 'class.restore') : [act('waive', 'class.waive'), act('accept', 'class.accept')]),
    trouble);
}

