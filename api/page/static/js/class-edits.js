// What a pupil has changed in an attempt and not handed in yet, above the score.

import { h, button, replace } from './dom.js';
import { t, count } from './words.js';
import { announce } from './announce.js';
import { ask } from './ask-first.js';
import { problemBox } from './problem-box.js';

export function ownEdits(desk) {
  const { session, view } = desk;
  if (!view.writes || !session.report) return undefined;
  const n = session.edited;
  if (!n) return h('p', { class: 'small' }, t('pupil.write'));
  const trouble = h('div', {});
  const send = async (e) => {
    const pressed = e.currentTarget;
    pressed.disabled = true;
    announce(t('pupil.sending'));
    try {
      await view.handIn();
    } catch (problem) {
      pressed.disabled = false;
      replace(trouble, problemBox(problem));
    }
  };
  return h('div', { class: 'own-edits' },
    h('p', {}, h('strong', {}, count('pupil.changed', n)), ' ', session.report.unseen ? '' : t('pupil.findings-of', { n: session.attempt })),
    ask(t('pupil.hand-in'), { question: left(view.task), yes: t('pupil.hand-in-yes'), primary: true, act: send }), trouble);
}

const left = ({ left: n, takes }) => [takes === 'late' ? t('pupil.is-late') : '', n === undefined ? t('pupil.hand-in-ask') : count('pupil.attempts-left', n)].filter(Boolean).join(' ');
