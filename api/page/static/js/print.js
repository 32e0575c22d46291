// Prints what is seen: the score is laid out anew for the width of the paper, and the
// findings follow it in words.

import { h } from './dom.js';
import { t, place } from './words.js';
import { listSign } from './marks.js';

const papers = { A4: { width: 680 }, Letter: { width: 700 } }; // pixels between the margins at 96 an inch

export async function printed(desk, paper = /^(en-US|en-CA)/.test(navigator.language) ? 'Letter' : 'A4') {
  const undo = await prepare(desk, paper);
  addEventListener('afterprint', undo, { once: true });
  print();
}

// prepare lays the score out for paper and returns what puts it back.
export async function prepare(desk, paper) {
  const { score, session } = desk;
  const scale = score.scale;
  document.documentElement.dataset.printing = paper;
  desk.element.dataset.printing = paper;
  const key = printedFindings(session.report);
  desk.element.append(key);
  score.scale = 36;
  score.element.style.width = `${papers[paper].width}px`;
  score.pageHeight = 940;
  await score.show(desk.xml);
  await score.drawAll();
  return () => {
    delete document.documentElement.dataset.printing;
    delete desk.element.dataset.printing;
    key.remove();
    score.element.style.width = '';
    Object.assign(score, { scale, pageHeight: 900 });
    score.show(desk.xml);
  };
}

function printedFindings(report) {
  return h('section', { class: 'printed-findings' },
    h('h2', {}, t('findings.title')),
    h('ol', {}, report.findings.map((f) => h('li', {},
      listSign(f.severity, f.number),
      h('div', {}, h('p', {}, h('strong', {}, place(f)), `: ${f.message}`), h('p', { class: 'small' }, f.why))))),
    h('p', { class: 'small' }, t('findings.teacher')));
}
