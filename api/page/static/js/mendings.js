// The ways to mend one finding: each seen in the score, heard before and after, applied.

import { h, button, replace } from './dom.js';
import { t, voiceName } from './words.js';
import { shown } from './pitch.js';
import { hearBoth } from './listen.js';

const found = new WeakMap(); // by report, then by number: asking costs a search

export function mendings(desk, finding) {
  const box = h('section', { class: 'mendings', 'aria-label': t('mend.title') }, h('h3', {}, t('mend.title')), h('p', { class: 'waiting', 'aria-busy': 'true' }, t('mend.looking')));
  ways(desk.session, finding).then(
    (fixes) => replace(box, h('h3', {}, t('mend.title')), fixes.length ? h('ol', {}, fixes.map((fix) => way(desk, finding, fix))) : h('p', {}, t('mend.none'))),
    (problem) => replace(box, h('h3', {}, t('mend.title')), h('p', {}, problem.message || t('problem.offline-what'))),
  );
  return box;
}

function ways(session, finding) {
  const { report } = session;
  if (!found.has(report)) found.set(report, new Map());
  const known = found.get(report);
  if (!known.has(finding.number)) {
    const asked = session.fixesFor(finding.number);
    asked.catch(() => known.delete(finding.number));
    known.set(finding.number, asked);
  }
  return known.get(finding.number);
}

const editsOf = (fix) => fix.edits.map(({ note, to }) => ({ note: note.id, pitch: to }));

// told names every note that changes, and where, if it is not at the finding's place.
function told(fix, finding) {
  return fix.edits.map(({ note, to }) => {
    const change = t('mend.change', { voice: voiceName(note.voice), to: shown(to), was: shown(note.pitch) });
    return note.onset === finding.onset ? change : t('mend.before', { change });
  }).join('; ');
}

function way(desk, finding, fix) {
  const edits = editsOf(fix);
  const isTried = () => desk.session.trying?.edits && JSON.stringify(desk.session.trying.edits) === JSON.stringify(edits);
  return h('li', { class: 'way' },
    h('p', {}, told(fix, finding)),
    h('div', { class: 'actions' },
      button(t('mend.try'), async () => { if (isTried()) desk.putBack(); else await desk.attempt(edits); }),
      button(t('mend.hear'), async () => {
        const before = desk.session.report;
        if (!isTried()) await desk.attempt(edits);
        if (desk.session.trying) hearBoth(before, desk.session.trying.report, finding);
      }),
      button(t('mend.apply'), () => desk.apply(edits), { class: 'primary' })));
}

