// Who is signed in, and the view that signs in: with a key, or by a link that an operator
// made. What stands in a link is used at once and leaves the address.

import { h, replace } from './dom.js';
import { t } from './words.js';
import { actAs, ask, askJSON } from './service.js';
import { problemBox } from './problem-box.js';

export const name = 'sign-in';

// linkTo is the address at which a link signs a pupil in and leads to an assignment.
export const linkTo = (link, assignment) => `${location.origin}${location.pathname}#${name}?${new URLSearchParams({ link, assignment })}`;

const path = '/v1/session';

// who asks whether there are accounts here, and who is signed in.
export async function who() {
  const session = await askJSON(path);
  actAs(session.signed_in?.token);
  return session;
}

async function signIn(given) {
  const body = JSON.stringify(given);
  const session = await askJSON(path, { method: 'POST', body, headers: { 'Content-Type': 'application/json' } });
  actAs(session.signed_in.token);
  return session;
}

export async function signOut() {
  await ask(path, { method: 'DELETE' });
  actAs(undefined);
}

// linkIn takes what a link holds out of the address, so that it is not kept there; what the
// link leads to stays.
export function linkIn() {
  const [view, query = ''] = location.hash.slice(1).split('?');
  const params = new URLSearchParams(query);
  const link = view === name && params.get('link');
  const assignment = params.get('assignment');
  if (view === name) history.replaceState(null, '', location.pathname + (assignment ? `#hand-in?${new URLSearchParams({ assignment })}` : ''));
  return link || undefined;
}

// signInView is shown in place of the views until somebody has signed in. An own link is
// tried at once.
export function signInView(root, { link, problem, done }) {
  let working = false;
  const draw = () => {
    const field = h('input', {
      id: 'key', type: 'password', name: 'key', autocomplete: 'current-password', required: true,
      spellcheck: 'false', autocapitalize: 'off', 'aria-describedby': 'key-what',
    });
    replace(root, h('div', { class: 'sign-in' },
      h('h1', {}, t('sign-in.title')),
      h('p', { class: 'lead' }, t('sign-in.what')),
      problem && problemBox(problem),
      h('form', { method: 'post', action: '/', onsubmit: (e) => { e.preventDefault(); attempt({ key: field.value.trim() }); } },
        h('label', { for: 'key' }, t('sign-in.key')),
        field,
        h('p', { id: 'key-what', class: 'small' }, t('sign-in.key-what')),
        h('button', { type: 'submit', class: 'primary', disabled: working }, t(working ? 'sign-in.working' : 'sign-in.do'))),
      h('p', { class: 'small' }, t('sign-in.shared'))));
    if (!working) field.focus({ preventScroll: true });
  };
  const attempt = async (given) => {
    working = true;
    problem = undefined;
    draw();
    try {
      const session = await signIn(given);
      root.remove();
      done(session);
    } catch (wrong) {
      problem = wrong;
      working = false;
      draw();
    }
  };
  if (link) attempt({ link });
  else draw();
}
