// Who comes from a school's learning system. The launch leaves a secret in the address's
// fragment, which goes to no server; it is taken out of the address at once, lasts as long
// as the tab, and goes along with each request, since a frame of another site has no cookie.
//
// A frame that is loaded anew finds the secret in the tab's storage. Where a browser keeps no
// storage for a frame, it stands beside each entry of the frame's history (history.state),
// which no other site reads and which ends with the tab as well.

import { h } from './dom.js';
import { t } from './words.js';
import { actFor, ask, askJSON } from './service.js';

const key = 'partwright.launch';

let secret;

// framed tells whether the page stands in a page of somebody else.
export const framed = () => window.parent !== window;

function secretIn() {
  const [, found] = /^#lti=(.+)$/.exec(location.hash) ?? [];
  if (found) history.replaceState(history.state, '', location.pathname);
  return found;
}

// kept is what was kept of a launch.
function kept() {
  try {
    return sessionStorage.getItem(key) ?? undefined;
  } catch {
    return history.state?.launch;
  }
}

function keep() {
  try {
    sessionStorage.setItem(key, secret);
  } catch {
    beside();
    addEventListener('hashchange', beside);
  }
}

const beside = () => { if (secret) history.replaceState({ ...history.state, launch: secret }, ''); };

function forgetLaunch() {
  secret = undefined;
  actFor(undefined);
  try {
    sessionStorage.removeItem(key);
  } catch {
    history.replaceState(null, '');
  }
}

// endLaunch ends it at the service too: what an older entry of the history still holds then
// opens nothing.
export async function endLaunch() {
  if (secret) await ask('/lti/launched', { method: 'DELETE' });
  forgetLaunch();
}

// launched says what was launched, and how that looks as a session; undefined where nobody
// came so.
export async function launched() {
  const fresh = secretIn();
  secret = fresh ?? kept();
  if (!secret) return undefined;
  keep();
  actFor(secret);
  let what;
  try {
    what = await askJSON('/lti/launched');
  } catch (problem) {
    forgetLaunch();
    if (fresh) throw problem;
    return undefined; // it ended while the tab was open
  }
  const scopes = what.teacher ? ['classes', 'hand-ins'] : what.pupil ? ['hand-ins'] : [];
  return { ...what, session: { accounts: true, signed_in: { organization: what.title ?? '', role: what.teacher ? 'teacher' : 'pupil', scopes } } };
}

// bind says which assignment a link of the learning system is for.
export const bind = (id) => ask('/lti/bind', { method: 'POST', body: new URLSearchParams({ session: secret, assignment: id }) });

// choose goes back to the learning system with the assignment that was chosen there, by a
// form, since the answer is a page that goes on to it.
export function choose(id) {
  const form = h('form', { method: 'post', action: '/lti/deep-link', hidden: true },
    h('input', { name: 'session', value: secret }), h('input', { name: 'assignment', value: id ?? '' }));
  document.body.append(form);
  form.submit();
}

// members are the names of a course by reference, for the teacher's eyes; they are never
// kept.
export async function members() {
  const { members: all } = await askJSON('/lti/members');
  return new Map(all.filter((m) => m.reference && m.name).map((m) => [m.reference, m.name]));
}

// openAgain is what is shown where a frame is not known to come from a launch, or not any more:
// whoever sits there has no key, and only the course can open it again.
export const openAgain = () => h('div', { class: 'sign-in open-again' },
  h('h1', {}, t('launch.again')), h('p', { class: 'lead' }, t('launch.again-what')), h('p', { class: 'small' }, t('launch.again-why')));

// opening is the address of what a launch is for.
export const opening = ({ view, assignment }) => {
  if (view === 'assignment') return `#hand-in?${new URLSearchParams({ assignment: assignment ?? '' })}`;
  return assignment ? `#assignments?${new URLSearchParams({ assignment })}` : '#assignments';
};
