// Who comes from a school's learning system. The launch leaves a secret in the address's
// fragment, which goes to no server; it is taken out of the address at once, lasts as long
// as the tab, and goes along with each request, since a frame of another site has no cookie.

import { h } from './dom.js';
import { actFor, ask, askJSON } from './service.js';

const key = 'partwright.launch';

function secretIn() {
  const [, secret] = /^#lti=(.+)$/.exec(location.hash) ?? [];
  if (secret) history.replaceState(null, '', location.pathname);
  return secret;
}

// Storage may be forbidden inside a frame: then the launch lasts until the page is left.
function stored(secret) {
  try {
    if (secret) sessionStorage.setItem(key, secret);
    return sessionStorage.getItem(key) ?? undefined;
  } catch {
    return secret;
  }
}

export function forgetLaunch() {
  actFor(undefined);
  try {
    sessionStorage.removeItem(key);
  } catch { /* nothing was kept */ }
}

// launched says what was launched, and how that looks as a session; undefined where nobody
// came so.
export async function launched() {
  const fresh = secretIn();
  const secret = stored(fresh) ?? fresh;
  if (!secret) return undefined;
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
export const bind = (id) => ask('/lti/bind', { method: 'POST', body: new URLSearchParams({ session: stored(), assignment: id }) });

// choose goes back to the learning system with the assignment that was chosen there, by a
// form, since the answer is a page that goes on to it.
export function choose(id) {
  const form = h('form', { method: 'post', action: '/lti/deep-link', hidden: true },
    h('input', { name: 'session', value: stored() }), h('input', { name: 'assignment', value: id ?? '' }));
  document.body.append(form);
  form.submit();
}

// members are the names of a course by reference, for the teacher's eyes; they are never
// kept.
export async function members() {
  const { members: all } = await askJSON('/lti/members');
  return new Map(all.filter((m) => m.reference && m.name).map((m) => [m.reference, m.name]));
}

// opening is the address of what a launch is for.
export const opening = ({ view, assignment }) => {
  if (view === 'assignment') return `#hand-in?${new URLSearchParams({ assignment: assignment ?? '' })}`;
  return assignment ? `#assignments?${new URLSearchParams({ assignment })}` : '#assignments';
};
