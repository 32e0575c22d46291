// The service's routes, as the page uses them. Errors are problem documents (RFC 9457).

import { language } from './words.js';
import { plainText } from './plain-text.js';

// Problem is an answer that says what went wrong; offline is set where none came.
export class Problem extends Error {
  constructor(document, offline = false) {
    super(document.detail ?? document.title ?? '');
    Object.assign(this, { document, offline });
  }
}

// Where somebody is signed in, what changes something carries the token of the session. The
// page is told when a session has ended.
let token;
let ended = () => {};

export function actAs(newToken, whenEnded) {
  token = newToken;
  ended = whenEnded ?? ended;
}

// Who came by a launch shows its secret with each request.
let secret;

export function actFor(newSecret) { secret = newSecret; }

export async function ask(path, options = {}) {
  let answer;
  try {
    answer = await fetch(path, { ...options, headers: { 'Accept-Language': language, ...(token && { 'X-CSRF-Token': token }), ...(secret && { Authorization: `Bearer ${secret}` }), ...options.headers } });
  } catch (error) {
    if (error.name === 'AbortError') throw error;
    throw new Problem({ code: 'offline' }, true);
  }
  if (answer.ok) return answer;
  let document = { title: `${answer.status} ${answer.statusText}`, status: answer.status };
  try {
    document = await answer.json();
  } catch { /* something before the service answered */ }
  if (['session-ended', 'missing-key'].includes(document.code)) ended(document);
  throw new Problem(document);
}

export const askJSON = async (path, options) => (await ask(path, options)).json();

// form is the body of a job: a score and what is asked of it. Undefined is not said.
export function form(score, fields) {
  const body = new FormData();
  if (score) body.append('score', new Blob([score.bytes]), score.name);
  for (const [name, value] of Object.entries(fields)) {
    if (value !== undefined && value !== '') body.append(name, value);
  }
  return body;
}

export const post = (path, body, accept = 'application/json', signal = undefined) =>
  ask(path, { method: 'POST', body, signal, headers: { Accept: accept } });

// revise checks a score with other pitches for some of its notes: its report, and its
// document with ids.
export async function revise(score, fields, edits, signal) {
  const body = form(score, { ...fields, ids: true, notes: true, edits: JSON.stringify(edits) });
  const [report, document] = await partsOf(await post('/v1/revisions', body, 'multipart/mixed', signal));
  return { report: JSON.parse(report), xml: document };
}

// fixes are the ways to mend one finding, by its number.
export async function fixes(score, fields, edits, number, signal) {
  const body = form(score, { ...fields, ids: true, fixes: 5, fixes_for: number, edits: JSON.stringify(edits) });
  const report = await (await post('/v1/revisions', body, 'application/json', signal)).json();
  return report.findings.find((f) => f.number === number)?.fixes ?? [];
}

// partsOf are the parts of a multipart answer (RFC 2046, 5.1) as text: the report, then the
// documents, which may have come packed.
export async function partsOf(answer) {
  const boundary = /boundary="?([^";]+)"?/.exec(answer.headers.get('Content-Type'))[1];
  const bytes = new Uint8Array(await answer.arrayBuffer());
  const end = new TextEncoder().encode(`\r\n--${boundary}`);
  const gap = new TextEncoder().encode('\r\n\r\n');
  const bodies = [];
  for (let from = end.length; ; ) {
    const to = indexOf(bytes, end, from);
    if (to < 0) break;
    bodies.push(bytes.subarray(indexOf(bytes, gap, from) + gap.length, to));
    from = to + end.length;
  }
  return Promise.all(bodies.map(plainText));
}

// indexOf is where some bytes come first among others, -1 for nowhere.
function indexOf(bytes, some, from) {
  for (let at = from; (at = bytes.indexOf(some[0], at)) >= 0; at++) if (some.every((byte, i) => bytes[at + i] === byte)) return at;
  return -1;
}
