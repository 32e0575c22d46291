// What can be taken along: the marked score, the score as it is now, findings, MIDI.

import { h, button } from './dom.js';
import { t } from './words.js';
import { form, post, Problem } from './service.js';
import { announce } from './announce.js';
import { offer, saveButton } from './save-file.js';
import { midiFile } from './midi-file.js';
import { notesOf } from './listen.js';
import { markedPath, scorePath } from './class-work.js';

const musicXML = 'application/vnd.recordare.musicxml+xml';

export function downloads(desk) {
  const { session } = desk;
  const item = (name, make, extension) => h('li', {}, button(t(`download.${name}`), async () => {
    try {
      offer(await make(), session.name.split('/').pop().replace(/\.[^.]*$/, '') + extension);
    } catch (problem) {
      announce(problem instanceof Problem ? problem.message : t('problem.title'));
    }
  }));
  return h('details', { class: 'menu', onfocusout: closeWhenLeft, onkeydown: (e) => { if (e.key === 'Escape') e.currentTarget.open = false; } },
    h('summary', { class: 'button' }, t('download.title')),
    h('ul', {},
      item('marked', () => marked(session), '.marked.musicxml'),
      item('score', () => current(session), '.musicxml'),
      item('findings', async () => new Blob([JSON.stringify(session.report, null, 1)], { type: 'application/json' }), '.findings.json'),
      item('midi', async () => new Blob([midiFile(notesOf(desk.report))], { type: 'audio/midi' }), '.mid'),
      session.accepted.length > 0 && item('accepted', async () => new Blob([session.acceptedText()], { type: 'text/plain' }), '.accepted.yaml')));
}

// workDownloads are those of what was handed in for an assignment.
export function workDownloads(work) {
  const item = (name, path, ending) => h('li', {}, saveButton(t(`download.${name}`), path, `${work.reference}-${work.attempt}${ending}`, (problem) => announce(problem.message || t('problem.title'))));
  return h('details', { class: 'menu', onfocusout: closeWhenLeft, onkeydown: (e) => { if (e.key === 'Escape') e.currentTarget.open = false; } },
    h('summary', { class: 'button' }, t('download.title')),
    h('ul', {}, work.report && item('marked', markedPath(work), '.marked.musicxml'), item('handed-in', scorePath(work), '.musicxml')));
}

function closeWhenLeft(event) {
  if (!event.currentTarget.contains(event.relatedTarget)) event.currentTarget.open = false;
}

// current is the score with its edits and without ids: byte for byte as it came, where
// nothing was changed.
async function current(session) {
  const body = form(session, { edits: JSON.stringify(session.history.edits) });
  return (await post('/v1/revisions', body, musicXML)).blob();
}

async function marked(session) {
  const { rule_set, rubric, language } = session.options();
  const score = { name: session.name, bytes: await (await current(session)).arrayBuffer() };
  return (await post('/v1/checks', form(score, { rule_set, rubric, language, accepted: session.acceptedText() }), musicXML)).blob();
}
