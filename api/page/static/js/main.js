// The page: its head, its views, the language and the light.
//
// A view is a module with `name`, `scopes` and `open(root, page)`; scopes are what somebody
// who is signed in must be allowed to see it, open returns an object with
// `show(params)`, called whenever the view comes to the front, and `hide()`. The
// fragment of the address names the view and what it shows: #lead-voices?row=I+V+I.

import { h, button, replace, whenIdle } from './dom.js';
import { t, speak, preferred, languages, language } from './words.js';
import { keep, kept, clear } from './draft.js';
import { engraver } from './engraver.js';
import { hush } from './listen.js';
import * as lookOver from './look-over.js';
import * as leadVoices from './lead-voices.js';
import * as batches from './batches.js';
import * as assignments from './assignments.js';
import * as handIn from './hand-in.js';
import { who, linkIn, signInView, signOut } from './sign-in.js';
import { endLaunch, framed, launched, openAgain, opening } from './launch.js';
import { problemBox } from './problem-box.js';
import { actAs, Problem } from './service.js';
import { announce } from './announce.js';

const views = [lookOver, leadVoices, batches, assignments, handIn];

const opened = new Map();
const main = h('main', { id: 'main', tabindex: '-1' });
const head = h('header', { class: 'head' });

function current() {
  const [name, query = ''] = location.hash.slice(1).split('?');
  const mine = views.filter(allowed);
  const first = isPupil() ? handIn : mine[0] ?? views[0];
  const view = mine.find((v) => v.name === name) ?? first;
  return { view, params: new URLSearchParams(query) };
}

// allowed tells whether whoever is signed in may see a view; without accounts all may.
const allowed = (view) => !session?.signed_in || view.scopes.every((s) => session.signed_in.scopes.includes(s));

const isPupil = () => session?.signed_in?.role === 'pupil';

// A teacher comes to what pupils see from the assignment, not from the head of the page.
const inHead = (view) => allowed(view) && (view !== handIn || !allowed(assignments));

let front;
let session;
let signingIn;

function show() {
  if (signingIn) return;
  page.accounts = Boolean(session?.accounts && !page.launched);
  if (isPupil() && !page.launched) page.pupil = { reference: session.signed_in.subject };
  const { view, params } = current();
  hush();
  if (!opened.has(view)) {
    const root = h('section', { class: `view ${view.name}`, 'aria-label': t(`view.${view.name}`) });
    main.append(root);
    opened.set(view, { root, ...handle(view.open(root, page)) });
  }
  for (const [other, { root, hide }] of opened) {
    if (other !== view && !root.hidden) hide();
    root.hidden = other !== view;
  }
  front = view;
  document.title = `${t(`view.${view.name}`)} – Partwright`;
  drawHead();
  opened.get(view).show(params);
}

const handle = (made) => ({ show: (params) => made.show?.(params), hide: () => made.hide?.() });

// page is what views are given.
const page = {
  go(view, params = '') { location.hash = `${view}${params && `?${params}`}`; },
  // pupil is whom the page is for, where it is for one pupil alone; launched is what a
  // learning system says, where it led here.
  pupil: undefined,
  launched: undefined,
  accounts: false,
};

function drawHead() {
  const tab = (view) => h('a', {
    href: `#${view.name}`, class: 'tab', 'aria-current': view === front && 'page',
  }, t(`view.${view.name}`));
  const choice = h('select', { 'aria-label': t('head.language'), onchange: (e) => choose(e.target.value) },
    languages.map((tag) => h('option', { value: tag, selected: tag === language, lang: tag }, t(`language.${tag}`))));
  replace(head,
    h('a', { class: 'skip', href: '#main', onclick: (e) => { e.preventDefault(); main.focus(); } }, t('head.skip')),
    h('a', { class: 'mark', href: '#look-over' }, h('span', { class: 'mark-sign', 'aria-hidden': 'true' }), 'Partwright'),
    !signingIn && h('nav', { 'aria-label': t('head.views') }, views.filter(inHead).map(tab)),
    h('div', { class: 'head-end' },
      session?.signed_in && h('span', { class: 'signed-in', title: t('sign-in.as', { name: session.signed_in.organization }) }, session.signed_in.organization),
      session?.signed_in && button(t('sign-in.out'), out, { class: 'quiet', title: t('sign-in.out-why') }),
      choice,
      button(t('head.light'), turnLight, { class: 'quiet' }),
      button(t('head.clear'), forget, { class: 'quiet', title: t('head.clear-why') })));
}

async function choose(tag) {
  keep('language', tag);
  await speak(tag);
  if (signingIn) askIn();
  else anew();
}

function closeViews() {
  for (const { root, hide } of opened.values()) { hide(); root.remove(); }
  opened.clear();
}

function anew() {
  closeViews();
  show();
}

// askIn shows the view that signs in, in place of all others. What was worked on stays in
// this browser, and is there again for whoever signs in with it.
function askIn({ link, problem } = {}) {
  hush();
  closeViews();
  signingIn?.remove();
  session = { accounts: true };
  signingIn = h('section', { class: 'view', 'aria-label': t('sign-in.title') });
  main.append(signingIn);
  document.title = `${t('sign-in.title')} – Partwright`;
  drawHead();
  if ((framed() || page.launched) && !link) {
    replace(signingIn, openAgain());
    return;
  }
  signInView(signingIn, {
    link, problem,
    done: (begun) => {
      session = begun;
      signingIn = undefined;
      announce(t('sign-in.done', { name: begun.signed_in.organization }));
      anew();
    },
  });
}

// out leaves nothing behind for whoever uses the computer next.
async function out() {
  try {
    if (page.launched) await endLaunch();
    else await signOut();
  } catch (problem) {
    announce(problem instanceof Problem ? problem.message : t('problem.title'));
    return;
  }
  forget();
}

function turnLight() {
  const dark = document.documentElement.dataset.light
    ? document.documentElement.dataset.light === 'dark'
    : matchMedia('(prefers-color-scheme: dark)').matches;
  light(dark ? 'light' : 'dark');
  keep('light', document.documentElement.dataset.light);
}

function light(which) { if (which) document.documentElement.dataset.light = which; }

function forget() {
  clear();
  location.hash = '';
  location.reload();
}

// launch opens what a learning system has launched; false where that cannot be.
async function launch() {
  try {
    const what = await launched();
    if (!what) return true;
    session = what.session;
    page.launched = what;
    if (isPupil()) page.pupil = { assignment: what.assignment, reference: what.reference };
    if (!/^#(assignments|hand-in)/.test(location.hash)) history.replaceState(history.state, '', opening(what));
  } catch (problem) {
    drawHead();
    main.append(h('section', { class: 'view' }, problemBox(problem)));
    return false;
  }
  return true;
}

async function begin() {
  light(kept('light'));
  const wish = kept('language');
  await speak(languages.includes(wish) ? wish : preferred());
  document.body.prepend(head, main);
  const link = linkIn();
  addEventListener('hashchange', show);
  if (!(await launch())) return;
  try {
    session ??= await who();
  } catch { /* the views say what is wrong */ }
  actAs(session?.signed_in?.token, (document) => session?.accounts && !signingIn && askIn({ problem: new Problem(document) }));
  if (session?.accounts && (link || !session.signed_in)) askIn({ link });
  else show();
  // The engraver is large: it comes while the reader looks for a score.
  whenIdle(() => engraver.ready().catch(() => {}));
}

begin();
